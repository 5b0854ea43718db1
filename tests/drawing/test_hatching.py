"""Hatching: lines that fill exactly their region, whatever its arcs and holes."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.drawing.geometry import MOST_HATCH_LINES, ArcTo, Chain, LineTo, circle, hatching, obround, rectangle
from lodestring.drawing.look import Role
from lodestring.drawing.picture import Circle, Group, Hatch, Obround, Path, Rect, Region, Sheet1to1
from lodestring.drawing.svg import svg
from lodestring.errors import DomainError

# Areas in closed form (plane geometry).
REGIONS: dict[str, tuple[list[Chain], float]] = {
    "rectangle": ([rectangle((3, 1), 20, 8, 0)], 160),
    "rounded rectangle": ([rectangle((3, 1), 20, 8, 3)], 160 - (4 - math.pi) * 9),
    "circle": ([circle((-4, 2), 6)], math.pi * 36),
    "obround": ([obround((0, 0), 50, 6.4)], 50 * 12.8 + math.pi * 6.4**2),
    "winding: an obround less an obround": (
        [obround((0, 0), 50, 6.4), obround((0, 0), 50, 2.5)],
        50 * 7.8 + math.pi * (6.4**2 - 2.5**2),
    ),
    "two apart": ([circle((0, 0), 3), circle((10, 0), 2)], math.pi * 13),
    "half disc, arc clockwise": (
        [Chain((-5, 0), (ArcTo((5, 0), (0, 0), anticlockwise=False),), closed=True)],
        math.pi * 12.5,
    ),
    "triangle, closing line left out": ([Chain((0, 0), (LineTo((12, 0)), LineTo((0, 9))), closed=True)], 54),
    "crescent, one arc into the other": (
        [Chain((0, -5), (ArcTo((0, 5), (0, 0)), ArcTo((0, -5), (-5, 0), anticlockwise=False)), closed=True)],
        # The half disc, less the segment of 90 degrees of the circle of radius 5 sqrt 2 that bulges into it.
        math.pi * 12.5 - (math.pi * 50 / 4 - 25),
    ),
}


@pytest.mark.parametrize("degrees", [0, 30, 45, 90, 135, -60])
@pytest.mark.parametrize(("chains", "area"), REGIONS.values(), ids=REGIONS.keys())
def test_the_lines_times_their_spacing_are_the_area(chains: list[Chain], area: float, degrees: float) -> None:
    # Cavalieri: chords times their distance are a midpoint-like sum. It may be out by half a spacing times the chord at
    # either edge that lies along the lines, so by one spacing times the longest chord; round ends err by less.
    spacing = 0.02
    lines = [math.dist(a, b) for a, b in hatching(chains, degrees, spacing)]
    assert sum(lines) * spacing == pytest.approx(area, abs=spacing * max(lines))


@given(st.floats(-180, 180), st.floats(0.3, 3), st.floats(0, 3.9), st.floats(0.5, 20))
def test_every_line_ends_on_the_boundary_and_lies_at_its_angle(
    degrees: float, spacing: float, corner: float, width: float
) -> None:
    corner = min(corner, width / 2)
    for a, b in hatching([rectangle((1, 2), width, 8, corner)], degrees, spacing):
        for x, y in (a, b):
            dx, dy = abs(x - 1) - (width / 2 - corner), abs(y - 2) - (4 - corner)
            outside = math.hypot(max(dx, 0), max(dy, 0)) + min(max(dx, dy), 0) - corner  # distance to the outline
            assert outside == pytest.approx(0, abs=1e-6)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) - degrees
        # Short stubs in a corner have an uncertain direction: 1e-9 mm of rounding over the stub's length.
        assert abs(math.sin(math.radians(turn))) <= 1e-8 / math.dist(a, b) + 1e-9


def test_neighbours_hatched_alike_stay_in_step() -> None:
    one, two = (hatching([rectangle((x, 0), 4, 10, 0)], 0, 1.5) for x in (0, 4))
    assert [a[1] for a, _ in one] == [a[1] for a, _ in two]


def test_a_hole_stays_free_of_lines() -> None:
    for a, b in hatching([circle((0, 0), 10), circle((0, 0), 4)], 45, 0.5):
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert math.hypot(*middle) > 4 - 1e-9


def test_a_hatching_too_fine_to_be_meant_is_refused() -> None:
    fine = Hatch((Rect((0, 0), 1, 500),), 0, 0.1)
    with pytest.raises(DomainError, match=str(MOST_HATCH_LINES)):
        svg(Sheet1to1((10, 10), (fine,), "t", "d"), ids="a")
    with pytest.raises(DomainError, match="spacing"):
        Hatch((Rect((0, 0), 1, 1),), 0, 0.0)


def test_an_open_line_cannot_be_hatched() -> None:
    with pytest.raises(DomainError, match="closed"):
        Hatch((Path((0, 0), (LineTo((1, 0)), LineTo((1, 1)))),))


def test_hatching_keeps_its_spacing_in_a_scaled_group() -> None:
    def count(scale: float) -> int:
        group = Group((Hatch((Rect((0, 0), 10, 10),), 0, 1.0),), scale=scale)
        text = svg(Sheet1to1((50, 50), (group,), "t", "d", (25, 25)), ids="a")
        return next(e.get("d", "") for e in ET.fromstring(text).iter() if e.tag.endswith("}path")).count("M")

    assert (count(1), count(2)) == (10, 20)


@pytest.mark.parametrize(
    "shape", [Circle((5, 5), 2.4), Rect((5, 5), 6, 8), Obround((5, 5), 2, 2)], ids=lambda s: s.called()
)
def test_opposite_magnet_ends_differ_by_letter_and_by_the_hatchings_direction(shape: Circle | Rect | Obround) -> None:
    def seen(role: Role) -> tuple[list[str | None], set[int]]:
        item = type(shape)(**{f: getattr(shape, f) for f in shape.__dataclass_fields__ if f != "role"}, role=role)
        root = ET.fromstring(svg(Sheet1to1((10, 10), (item,), "t", "d"), ids="a"))
        letters = [e.text for e in root.iter() if e.tag.endswith("}text")]
        d = next(e.get("d", "") for e in root.iter() if e.get("class") == f"pic-{role}-hatch")
        slopes = set()
        for piece in d.split("M")[1:]:
            (x0, y0), (x1, y1) = (tuple(map(float, p.split())) for p in piece.split("L"))
            if math.hypot(x1 - x0, y1 - y0) > 0.1:
                slopes.add(round((y1 - y0) / (x1 - x0)))
        return letters, slopes

    assert seen(Role.MAGNET_NORTH) == (["N"], {-1})
    assert seen(Role.MAGNET_SOUTH) == (["S"], {1})


def test_a_region_without_shapes_is_refused() -> None:
    with pytest.raises(DomainError, match="at least one"):
        Region(())
