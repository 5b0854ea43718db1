"""Contract 4: what stands in the SVG, read back with the standard library's XML parser."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
import typst

from lodestring.drawing.look import Role, css_classes
from lodestring.drawing.picture import Circle, Group, Line, Polyline, Sheet1to1
from lodestring.drawing.plot import Axes, Axis, Plot, Series
from lodestring.drawing.svg import mm_from_px, svg
from lodestring.drawing.text import FAMILIES
from lodestring.errors import DomainError, LodestringError

NS = "{http://www.w3.org/2000/svg}"
PICTURES = ["sheet", "plot"]
# Everything a picture may be made of. No style, script, link, image, clip path or animation.
TAGS = {"svg", "title", "desc", "g", "path", "line", "circle", "text"}
ATTRIBUTES = {
    *("id", "class", "role", "aria-labelledby", "width", "height", "viewBox", "d", "x", "y", "x1", "y1", "x2", "y2"),
    *("cx", "cy", "r", "fill", "fill-rule", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray"),
    *("stroke-dashoffset", "stroke-linejoin", "font-family", "font-size", "font-weight", "text-anchor", "transform"),
}


def elements(text: str) -> list[ET.Element]:
    return list(ET.fromstring(text).iter())


@pytest.mark.parametrize("name", PICTURES)
def test_only_plain_elements_and_presentation_attributes_occur(both: dict[str, str], name: str) -> None:
    for element in elements(both[name]):
        assert element.tag.removeprefix(NS) in TAGS
        assert set(element.attrib) <= ATTRIBUTES


@pytest.mark.parametrize("name", PICTURES)
def test_nothing_in_the_picture_points_outside_it(both: dict[str, str], name: str) -> None:
    body = both[name].replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"style|script|href|url\(|var\(|https?:|@import|<!|&#x?0", body)


@pytest.mark.parametrize("name", PICTURES)
def test_every_drawn_element_has_its_class_and_its_print_look(both: dict[str, str], name: str) -> None:
    known = set(css_classes())
    colour = re.compile(r"none|#[0-9a-f]{6}")
    for element in elements(both[name]):
        tag = element.tag.removeprefix(NS)
        if tag in ("svg", "title", "desc", "g"):
            continue
        assert set(element.get("class", "?").split()) <= known
        assert colour.fullmatch(element.get("fill", "?"))
        assert colour.fullmatch(element.get("stroke", "?"))
        assert element.get("stroke") == "none" or float(element.get("stroke-width", "nan")) > 0
        assert {element.get("fill"), element.get("stroke")} != {"none"}, "drawn, but not to be seen"


@pytest.mark.parametrize("name", PICTURES)
def test_ids_are_unique_and_begin_with_the_prefix(both: dict[str, str], name: str) -> None:
    root = ET.fromstring(both[name])
    ids = [i for e in root.iter() if (i := e.get("id"))]
    assert len(ids) == len(set(ids))
    prefix = root.get("id")
    assert all(i == prefix or i.startswith(f"{prefix}-") for i in ids)
    assert set(root.get("aria-labelledby", "").split()) <= set(ids)


@pytest.mark.parametrize("name", PICTURES)
def test_title_and_description_come_first(both: dict[str, str], name: str) -> None:
    assert [e.tag for e in ET.fromstring(both[name])][:2] == [f"{NS}title", f"{NS}desc"]


@pytest.mark.parametrize("name", PICTURES)
def test_numbers_have_at_most_four_decimals_and_no_minus_zero(both: dict[str, str], name: str) -> None:
    for element in elements(both[name]):
        for key in (
            "d",
            "x",
            "y",
            "x1",
            "y1",
            "x2",
            "y2",
            "cx",
            "cy",
            "r",
            "width",
            "height",
            "viewBox",
            "stroke-width",
        ):
            for number in re.findall(r"-?[\d.]+(?:e-?\d+)?", element.get(key, "")):
                assert re.fullmatch(r"-?(0|[1-9]\d*)(\.\d{0,3}[1-9])?", number), (key, number)
                assert number != "-0"


def test_a_sheet_says_its_millimetres_twice(coil_sheet: Sheet1to1) -> None:
    root = ET.fromstring(svg(coil_sheet, ids="a"))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("120mm", "75mm", "0 0 120 75")


def test_a_sheet_asked_for_wider_keeps_its_drawing_and_its_shape(coil_sheet: Sheet1to1) -> None:
    root = ET.fromstring(svg(coil_sheet, mm_from_px(960), ids="a"))
    # CSS: 1in = 25.4mm = 96px (CSS Values and Units 4, section 6.2), so 960 px are 254 mm.
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("254mm", "158.75mm", "0 0 120 75")


def test_a_plot_is_laid_out_for_the_width_it_is_asked_at(response_plot: Plot) -> None:
    narrow, wide = (ET.fromstring(svg(response_plot, w, ids="a")) for w in (90, 180))
    assert (narrow.get("width"), wide.get("width")) == ("90mm", "180mm")
    sizes = [{t.get("font-size") for t in root.iter(f"{NS}text")} for root in (narrow, wide)]
    assert sizes[0] == sizes[1] == {"3"}, "text keeps its size"
    assert len(list(narrow.iter(f"{NS}text"))) < len(list(wide.iter(f"{NS}text"))), (
        "fewer ticks where there is less room"
    )


def test_the_same_picture_gives_the_same_text(coil_sheet: Sheet1to1, response_plot: Plot) -> None:
    for picture in (coil_sheet, response_plot):
        assert svg(picture, ids="a") == svg(picture, ids="a")


def test_the_first_family_is_one_that_typst_carries_inside() -> None:
    assert FAMILIES.split(",")[0] in typst.Fonts(include_system_fonts=False).families()


@pytest.mark.parametrize("ids", ["", "1a", 'a" onload="x', "a b", "a.b", "ä"])
def test_a_prefix_that_could_not_be_an_id_is_refused(ids: str, coil_sheet: Sheet1to1) -> None:
    with pytest.raises(DomainError, match="prefix"):
        svg(coil_sheet, ids=ids)


@pytest.mark.parametrize("name", ["1a", 'a"b', "a b", "<a>", "-"])
def test_a_name_that_could_not_be_an_id_is_refused(name: str) -> None:
    with pytest.raises(DomainError, match="name of a Circle"):
        Circle((0, 0), 1, name=name)


def test_a_name_used_twice_is_refused() -> None:
    twice = (Circle((0, 0), 1, name="rod"), Group((Circle((5, 0), 1, name="rod"),)))
    with pytest.raises(DomainError, match="'rod' twice"):
        svg(Sheet1to1((10, 10), twice, "t", "d"), ids="a")


@pytest.mark.parametrize("taken", ["title", "desc"])
def test_a_name_cannot_take_the_place_of_title_or_description(taken: str) -> None:
    with pytest.raises(DomainError, match="once"):
        svg(Sheet1to1((10, 10), (Circle((0, 0), 1, name=taken),), "t", "d"), ids="a")


@pytest.mark.parametrize("width", [0, -1, float("nan"), float("inf"), 1e6])
def test_a_width_that_cannot_be_is_refused(width: float, coil_sheet: Sheet1to1) -> None:
    with pytest.raises(DomainError, match="wide"):
        svg(coil_sheet, width, ids="a")


@pytest.mark.parametrize("empty", ["", "  ", "\n\t"])
def test_a_picture_without_words_for_it_is_refused(empty: str) -> None:
    axes, line = Axes(Axis("a"), Axis("b")), (Series("s", "s", (0.0, 1.0), (0.0, 1.0)),)
    with pytest.raises(LodestringError, match="title"):
        Sheet1to1((10, 10), (), empty, "d")
    with pytest.raises(LodestringError, match="description"):
        Sheet1to1((10, 10), (), "t", empty)
    with pytest.raises(LodestringError, match="title"):
        Plot(axes, line, title=empty, desc="d")
    with pytest.raises(LodestringError, match="description"):
        Plot(axes, line, title="t", desc=empty)


def test_open_lines_are_never_filled() -> None:
    items = (Polyline(((0, 0), (5, 0), (5, 5)), Role.COPPER), Line((0, 0), (1, 1), Role.COPPER))
    root = ET.fromstring(svg(Sheet1to1((10, 10), items, "t", "d"), ids="a"))
    assert {e.get("fill") for e in root if e.tag in (f"{NS}path", f"{NS}line")} == {"none"}
