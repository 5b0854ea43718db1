"""The pictures of a coil: true to the assessment, told in words, no text on another."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.coil_shapes import bellied, coil_shape, string_paths
from lodestring.drawing.coil_views import (
    check_bar,
    mounting_view,
    place_view,
    polarity_view,
    section,
    size_plot,
    template_view,
    top_view,
)
from lodestring.drawing.geometry import bounds, extreme_points
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Arrow, Dimension, Group, Item, Sheet1to1, Text
from lodestring.drawing.plot import Band
from lodestring.drawing.shapes import Circle, Line, Rect
from lodestring.drawing.shapes import Path as PathItem
from lodestring.drawing.svg import overlapping_texts, svg
from lodestring.errors import LodestringError
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here
from lodestring.making.winding_plan import mountings, winding_plan

EXAMPLES = ("heron", "plover", "wren", "heron-neck-kept")
Assessed = Callable[..., Assessment]


@pytest.fixture
def assessed(tmp_path: Path) -> Assessed:
    """An example with pieces of its text replaced."""

    def make(name: str, *changes: tuple[str, str]) -> Assessment:
        text = example_text(name)
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "set.toml"
        path.write_text(text, encoding="utf-8")
        return assess_here(path)

    return make


def every(items: tuple[Item, ...]) -> Iterator[Item]:
    for item in items:
        yield item
        if isinstance(item, Group):
            yield from every(item.items)


def named(picture: Sheet1to1, name: str) -> Item:
    return next(i for i in every(picture.items) if i.name == name)


def all_pictures(found: Assessment) -> list[Sheet1to1]:
    out: list[Sheet1to1] = [check_bar(), check_bar(upright=True), place_view(found, 180.0)[0]]
    for pickup, record in found.model.inputs.design.pickup.items():
        if record.coil:
            out += [template_view(found, pickup), top_view(found, pickup)]
        for coil in record.coil or {}:
            out += [
                top_view(found, pickup, coil),
                section(found, pickup, coil),
                section(found, pickup, coil, whole=True),
            ]
            out += [mounting_view(m) for m in winding_plan(found, pickup, coil).mountings]
    return out


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_text_lies_on_another_in_any_picture_of_the_examples(name: str, assessed: Assessed) -> None:
    for picture in all_pictures(assessed(name)):
        assert overlapping_texts(picture) == (), picture.title


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_same_picture_twice_is_the_same_text(name: str, assessed: Assessed) -> None:
    one, two = all_pictures(assessed(name)), all_pictures(assessed(name))
    assert [svg(p, ids="a") for p in one] == [svg(p, ids="a") for p in two]


@pytest.mark.parametrize("name", ["heron", "plover", "wren"])
def test_pole_pieces_stand_where_the_layout_puts_them(name: str, assessed: Assessed) -> None:
    found = assessed(name)
    for pickup, coil in blocks.every_coil(found.model):
        picture = top_view(found, pickup, coil)
        for number, (x, y) in enumerate(blocks.row(found.model, pickup, coil).centres, 1):
            rod = named(picture, f"pole.{coil}.{number}")
            assert isinstance(rod, Circle)
            assert rod.centre == pytest.approx((1e3 * x, 1e3 * y))


@pytest.mark.parametrize("name", ["heron", "plover", "wren"])
def test_the_drawn_coil_is_as_long_and_wide_as_the_figures_say(name: str, assessed: Assessed) -> None:
    found = assessed(name)
    for pickup, coil in blocks.every_coil(found.model):
        shape = coil_shape(found, pickup, coil)
        for loose in (False, True):
            left, bottom, right, top = bounds(extreme_points(shape.winding(loose).chain()))
            facts = [found.facts[f"pickup.{pickup}.coil.{coil}.{k}"] for k in ("outer_length", "outer_width")]
            wanted = [1e3 * ((f.high or 0.0) if loose else f.number) for f in facts]
            assert [right - left, top - bottom] == pytest.approx(wanted, abs=1e-6)


def test_a_belly_bulges_at_mid_side_only() -> None:
    flat, fat = bellied((0, 0), 50, 7, 7, Role.WIRE), bellied((0, 0), 50, 7, 8, Role.WIRE)
    assert bounds(extreme_points(flat.chain())) == pytest.approx((-32, -7, 32, 7))
    assert bounds(extreme_points(fat.chain())) == pytest.approx((-32, -8, 32, 8))
    assert isinstance(fat, PathItem)  # arcs whose ends lie on one circle, checked when the record is made


@pytest.mark.parametrize("straight", [0.0, 0.01, 3.0])
def test_a_nearly_round_coil_is_drawn_too(straight: float) -> None:
    left, bottom, right, top = bounds(extreme_points(bellied((0, 0), straight, 7, 8, Role.WIRE).chain()))
    assert top - bottom == pytest.approx(16.0)
    assert right - left >= straight + 14.0 - 1e-9


@pytest.mark.parametrize(
    ("wound", "down"),
    [pytest.param("clockwise", True, id="clockwise"), pytest.param("anticlockwise", False, id="anti")],
)
def test_the_arrow_at_the_right_end_runs_down_for_clockwise(wound: str, down: bool, assessed: Assessed) -> None:
    """A clock's hand goes down on the right side."""
    found = assessed("heron", ('wound = "clockwise"', f'wound = "{wound}"'))
    picture = top_view(found, "bridge")
    arrow = next(i for i in picture.items if isinstance(i, PathItem) and i.role is Role.COPPER)
    tip = arrow.segments[2].to  # the outer arc, the barb, the tip
    assert (tip[1] < arrow.start[1]) is down
    words = [i.lines() for i in picture.items if isinstance(i, Text)]
    assert (f"wound {wound}", "start: ground", "finish: hot") in words


@pytest.mark.parametrize("wound", ["clockwise", "anticlockwise"])
def test_the_arrows_at_the_winder_run_the_way_their_words_say(wound: str) -> None:
    """Clockwise is down on the right and up on the left, as a clock's hand goes."""
    for mounting in mountings(wound, None):
        arrows = [i for i in mounting_view(mounting).items if isinstance(i, PathItem)]
        assert len(arrows) == 2
        for arrow in arrows:
            falls, right = arrow.segments[2].to[1] < arrow.start[1], arrow.start[0] > 0
            assert (falls is right) is (mounting.bobbin_turns == "clockwise")


def test_both_mountings_turn_opposite_ways_and_say_which_plate_faces_you() -> None:
    first, second = (mounting_view(m) for m in mountings("clockwise", None))
    assert "turns anticlockwise" in first.title
    assert "turns clockwise" in second.title
    assert next(t.text for t in first.items if isinstance(t, Text)) == "TOP"
    assert next(t.text for t in second.items if isinstance(t, Text)) == "BOTTOM"


def test_ends_differ_by_letter_and_shape_not_by_colour_alone(assessed: Assessed) -> None:
    found = assessed("heron", ('up = "south"', 'up = ["south", "north", "south", "north", "south", "north"]'))
    top = svg(top_view(found, "bridge"), ids="a")
    assert top.count(">S<") == 3
    assert top.count(">N<") == 3
    from lodestring.making.polarity_map import polarity_map

    row = polarity_view(polarity_map(found).coils[0].ends, "row")
    assert sum(isinstance(i, Circle) for i in row.items) == 3
    assert sum(isinstance(i, Rect) for i in row.items) == 3
    assert "1 south, 2 north" in row.desc


def test_steel_pole_pieces_carry_the_letter_that_their_bar_gives_them(assessed: Assessed) -> None:
    found = assessed("plover")
    whole = svg(top_view(found, "main"), ids="a")
    assert (whole.count(">N<"), whole.count(">S<")) == (8, 8)


def test_left_handed_mirrors_the_strings(assessed: Assessed) -> None:
    right = string_paths(assessed("heron"), "bridge", -5.0, 5.0)
    left = string_paths(assessed("heron", ('handed = "right"', 'handed = "left"')), "bridge", -5.0, 5.0)
    assert right[0][0][0] > 0 > right[-1][0][0]
    for one, other in zip(right, left, strict=True):
        assert other[0][0] == pytest.approx(-one[0][0])


def test_strings_draw_together_toward_the_nut_and_lean_on_a_slanted_pickup(assessed: Assessed) -> None:
    straight = string_paths(assessed("heron"), "bridge", -5.0, 5.0)
    assert straight[0][1][0] < straight[0][0][0]
    found = assessed("heron", ('place = "45 mm"', 'place = { first = "38 mm", last = "52 mm" }'))
    (x0, y0), (x1, y1) = string_paths(found, "bridge", -5.0, 5.0)[2]
    lean = math.degrees(math.atan2(x1 - x0, y1 - y0))
    # 14 mm over about 51 mm of span is 15 degrees; turned by that much the string leans the other way in its frame
    assert abs(lean) == pytest.approx(15.3, abs=1.0)
    assert "slanted by" in top_view(found, "bridge").desc


def test_the_section_shows_height_window_and_length_as_given(assessed: Assessed) -> None:
    picture = section(assessed("heron"), "bridge", "main")
    lengths = {i.name: i.length() for i in picture.items if isinstance(i, Dimension) and i.name}
    assert lengths["window"] == pytest.approx(10.5)
    assert lengths["plate-thickness"] == pytest.approx(2.4)
    assert lengths["pole-length"] == pytest.approx(17.0)
    assert lengths["pole-height"] == pytest.approx(1.5)  # pole piece 3 or 4 stands in the middle
    assert lengths["plate-width"] == pytest.approx(16.0)


@pytest.mark.parametrize("height", ["0 mm", "-0.4 mm", "3 mm"])
def test_flush_sunk_and_tall_pole_pieces_have_a_section(height: str, assessed: Assessed) -> None:
    lower = ('"-19.5 mm"', '"-22 mm"')  # the bars stay under the feet
    found = assessed("plover", ('height = "0.5 mm"', f'height = "{height}"'), lower)
    assert svg(section(found, "main", "front"), ids="a")


def test_the_template_has_a_bar_of_100_mm_each_way(assessed: Assessed) -> None:
    picture = template_view(assessed("heron"), "bridge")
    across, up = named(picture, "bar-across"), named(picture, "bar-up")
    assert isinstance(across, Line)
    assert isinstance(up, Line)
    assert math.dist(across.a, across.b) == pytest.approx(100.0)
    assert math.dist(up.a, up.b) == pytest.approx(100.0)
    assert across.a[1] == across.b[1]
    assert up.a[0] == up.b[0]


def test_the_overview_is_never_at_full_size_and_says_its_scale(assessed: Assessed) -> None:
    picture, scale = place_view(assessed("heron-neck-kept"), 180.0)
    assert scale >= 2
    assert f"1:{scale}" in picture.title
    assert any(isinstance(i, Dimension) and i.text == "neck, kept 160" for i in picture.items)


def test_the_width_plot_ends_at_the_figure_of_the_assessment(assessed: Assessed) -> None:
    found = assessed("heron")
    plot, fact = size_plot(found, "bridge", "main"), found.facts["pickup.bridge.coil.main.outer_width"]
    band = next(b for b in plot.bands if isinstance(b, Band))
    assert plot.series[0].x[-1] == 7800
    assert plot.series[0].y[-1] == pytest.approx(fact.number)
    assert (band.low[-1], band.high[-1]) == pytest.approx((fact.low, fact.high))
    assert list(plot.series[0].y) == sorted(plot.series[0].y)


@pytest.mark.parametrize("pickup", ["neck", "middle"])
def test_a_kept_or_missing_pickup_is_refused_with_those_that_can_be_drawn(pickup: str, assessed: Assessed) -> None:
    with pytest.raises(LodestringError, match="bridge"):
        top_view(assessed("heron-neck-kept"), pickup)


def test_a_coil_that_is_not_there_is_refused_with_those_that_are(assessed: Assessed) -> None:
    with pytest.raises(LodestringError, match="front or rear"):
        section(assessed("plover"), "main", "middle")


def test_every_direction_has_words_beside_its_arrow(assessed: Assessed) -> None:
    picture = top_view(assessed("plover"), "main")
    assert not any(isinstance(i, Arrow) for i in picture.items)  # block arrows only: told by shape
    words = " ".join(" ".join(i.lines()) for i in picture.items if isinstance(i, Text))
    assert "wound clockwise" in words
    assert "wound anticlockwise" in words
    assert "↑ nut" in words
