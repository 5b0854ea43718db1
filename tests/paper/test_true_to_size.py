"""1:1 means 1:1: measured in the PDF by pdfplumber, which knows nothing of our drawings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from once import sheet_pdf, template_pdf

from lodestring.assess.report import Assessment
from lodestring.drawing.coil_views import top_view
from lodestring.paper.sizes import PAPERS, paper_named

Assessed = Callable[..., Assessment]
CLOSE = 0.1
"""mm. What a maker can see on a rule; the files are some micrometres off, a printer some tenths."""
# Paper sizes: ISO 216 (A4 210 x 297 mm) and 8.5 x 11 inches for letter.
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@pytest.mark.parametrize("paper", SIZES)
def test_each_page_has_the_size_of_its_paper(paper: str, assessed: Assessed, opened: Any) -> None:
    for printed in (sheet_pdf(assessed("heron"), paper), template_pdf(assessed("heron"), paper)):
        found = opened(printed.pdf)
        assert len(found.pages) == printed.pages
        for page in found.pages:
            size = (float(page.width) * 25.4 / 72, float(page.height) * 25.4 / 72)
            assert size == pytest.approx(SIZES[paper], abs=CLOSE)


@pytest.mark.parametrize("paper", SIZES)
def test_the_check_bar_of_page_1_is_100_mm_long(paper: str, assessed: Assessed, opened: Any, drawn_on: Any) -> None:
    page = opened(sheet_pdf(assessed("heron"), paper).pdf).pages[0]
    assert any(abs(b.width - 100.0) < CLOSE and b.height < 0.01 for b in drawn_on(page))


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize(
    ("name", "page", "path"),
    [
        pytest.param("heron", 1, "pickup.bridge.coil.main", id="heron-bridge"),
        pytest.param("heron", 2, "pickup.neck.coil.main", id="heron-neck"),
        pytest.param("plover", 1, "pickup.main.coil.front", id="plover-front"),
        pytest.param("plover", 2, "pickup.main.coil.rear", id="plover-rear"),
    ],
)
def test_outer_pole_pieces_on_the_coil_page_stand_as_far_apart_as_the_coil_is_straight(
    name: str, page: int, path: str, paper: str, assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    """One row of like rods: the straight length is the distance of the outer centres (Obround hull, exact)."""
    found = assessed(name)
    rods = round_ones(drawn_on(opened(sheet_pdf(found, paper).pdf).pages[page]), 4.8)
    xs = [rod.middle[0] for rod in rods]
    assert max(xs) - min(xs) == pytest.approx(1e3 * found.number(f"{path}.straight_length"), abs=CLOSE)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize(
    ("name", "plate", "rod", "count"),
    [
        # sizes as they stand in the example files; each rod is drawn in both drawings of a template
        pytest.param("heron", (80.0, 16.0), 4.8, 12, id="heron"),
        pytest.param("plover", (92.0, 16.0), 4.8, 32, id="plover"),
        pytest.param("wren", (58.0, 18.0), 4.0, 16, id="wren"),
    ],
)
def test_template_holes_plates_and_both_check_bars_are_true(
    name: str,
    plate: tuple[float, float],
    rod: float,
    count: int,
    paper: str,
    assessed: Assessed,
    opened: Any,
    drawn_on: Any,
) -> None:
    drawn = drawn_on(opened(template_pdf(assessed(name), paper).pdf).pages[0])
    assert len(round_ones(drawn, rod)) == count
    assert sum(abs(b.width - plate[0]) < CLOSE and abs(b.height - plate[1]) < CLOSE for b in drawn) >= 2
    assert any(abs(b.width - 100.0) < CLOSE and b.height < 0.01 for b in drawn)
    assert any(abs(b.height - 100.0) < CLOSE and b.width < 0.01 for b in drawn)


def test_a_twelve_string_pickup_wider_than_the_room_beside_its_section_stays_at_full_size(
    assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    found = wide(assessed, 12)
    drawn = drawn_on(opened(sheet_pdf(found, "a4").pdf).pages[1])
    xs = [rod.middle[0] for rod in round_ones(drawn, 4.8)]
    assert max(xs) - min(xs) == pytest.approx(110.0, abs=CLOSE)  # twelve strings, eleven gaps of 10 mm


def test_a_pickup_longer_than_the_paper_is_wide_gets_a_page_across_at_full_size(
    assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    pages = opened(sheet_pdf(wide(assessed, 18), "letter").pdf).pages
    across = [p for p in pages if p.width > p.height]
    assert across
    xs = [rod.middle[0] for rod in round_ones(drawn_on(across[0]), 4.8)]
    assert max(xs) - min(xs) == pytest.approx(170.0, abs=CLOSE)


def test_a_template_too_tall_for_the_turned_paper_gets_a_page_for_each_plate(
    assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    pages = opened(template_pdf(wide(assessed, 18), "letter").pdf).pages
    assert len(pages) == 3  # the pickup, and the plates of its two coils
    for page in pages:
        drawn = drawn_on(page)
        xs = [rod.middle[0] for rod in round_ones(drawn, 4.8)]
        assert max(xs) - min(xs) == pytest.approx(170.0, abs=CLOSE)
        assert any(abs(b.height - 100.0) < CLOSE and b.width < 0.01 for b in drawn)


def test_a_pickup_too_long_for_any_way_is_said_so_and_never_scaled(
    assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    found = wide(assessed, 24)
    assert top_view(found, "main").size_mm[0] > PAPERS["letter"].height - 24.0
    sheet, template = opened(sheet_pdf(found, "letter").pdf), opened(template_pdf(found, "letter").pdf)
    assert "does not go on Letter at 1:1" in sheet.text(1)
    assert "does not go on Letter at 1:1" in template.text()
    plates = [b for p in template.pages for b in drawn_on(p) if abs(b.width / b.height - 262 / 16) < 0.1]
    assert plates == []


def test_a_left_handed_set_prints_string_1_on_the_left(assessed: Assessed, opened: Any) -> None:
    changes = ('handed = "right"', 'handed = "left"')
    right = opened(template_pdf(assessed("heron"), "a4").pdf).pages[0]
    left = opened(template_pdf(assessed("heron", changes), "a4").pdf).pages[0]
    assert note_x(right, "B1") < note_x(right, "B3")
    assert note_x(left, "B1") > note_x(left, "B3")


def test_a_slanted_pickup_says_its_angle_and_spreads_its_pole_pieces(
    assessed: Assessed, opened: Any, drawn_on: Any
) -> None:
    """The strings cross a slanted axis farther apart: by 1/cos at least (plane geometry)."""
    found = assessed("heron", ('place = "45 mm"', 'place = { first = "38 mm", last = "52 mm" }'))
    printed = opened(template_pdf(found, "a4").pdf)
    assert "slanted by 15" in printed.text(0)
    xs = [rod.middle[0] for rod in round_ones(drawn_on(printed.pages[0]), 4.8)]
    assert max(xs) - min(xs) > 51.42 / 0.97  # cos 15 degrees = 0.966


def test_a_paper_that_is_not_there_is_refused_with_those_that_are() -> None:
    from lodestring.errors import LodestringError

    with pytest.raises(LodestringError, match="a4 or letter"):
        paper_named("a5")


def round_ones(drawn: list[Any], diameter: float) -> list[Any]:
    """Circles of a diameter, each once, however many strokes draw it."""
    found = [b for b in drawn if b.curved and abs(b.width - diameter) < 0.02 and abs(b.height - diameter) < 0.02]
    return list({(round(b.middle[0], 2), round(b.middle[1], 2)): b for b in found}.values())


def note_x(page: Any, note: str) -> float:
    return float(next(w["x0"] for w in page.extract_words() if w["text"] == note))


def wide(assessed: Assessed, strings: int) -> Assessment:
    """Plover with `strings` strings 10 mm apart and plates to match (invented)."""
    from lodestring.folder.examples import example_text

    text = example_text("plover")
    old = text[text.index("strings = [") : text.index("]\n\n[pickup.main]") + 1]
    new = ", ".join('{ note = "E3", diameter = "0.014 in" }' for _ in range(strings))
    length = 10 * strings + 22
    return assessed(
        "plover",
        (old, f"strings = [{new}]"),
        ('pitch = "9 mm"', 'pitch = "10 mm"'),
        ('pitch = "9.5 mm"', 'pitch = "10 mm"'),
        ('length = "92 mm"', f'length = "{length} mm"'),
        ('length = "96 mm"', f'length = "{length + 6} mm"'),
    )
