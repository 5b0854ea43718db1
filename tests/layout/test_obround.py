"""The obround round the pole pieces: big enough, no bigger, and the room it leaves.

Witnesses: shapely, which works on polygons and shares no formula with ours; plane geometry worked by hand; containment,
monotony and translation as laws.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from lodestring.errors import DomainError
from lodestring.layout.obround import Disc, Obround, blade_obround, hull, room_between, room_inside

MM = 1e-3
EXACT = 1e-12  # metres; roundings only
# shapely draws a circle of radius r as 4 x 64 chords, which lie up to r (1 - cos(pi/256)) = 7.5e-5 r inside it: for the
# largest radius here, 20 mm, that is 1.5 um; two such circles, 3 um.
CHORDS = 64
DRAWN = 3e-6
FEW = settings(max_examples=40)  # drawing takes most of a millisecond


def steps(low: float, high: float) -> st.SearchStrategy[float]:
    """Millimetres in hundredths: what calipers read."""
    return st.integers(round(100 * low), round(100 * high)).map(lambda n: n / 100)


discs = st.lists(
    st.tuples(steps(-40, 40), steps(-4, 4), steps(0.5, 4)).map(lambda t: Disc(*(v * MM for v in t))),
    min_size=1,
    max_size=8,
)
walls = steps(0.0, 2.0).map(lambda w: w * MM)


def drawn(o: Obround) -> Polygon:
    """An obround as a polygon."""
    line = LineString([(o.cx - o.s / 2, o.cy), (o.cx + o.s / 2, o.cy)]) if o.s > 0 else Point(o.cx, o.cy)
    return line.buffer(o.r, quad_segs=CHORDS)


def spare(o: Obround, disc: Disc) -> float:
    """Room between a disc and the obround's inside, from the definition: r less distance to the centre segment."""
    beyond = max(abs(disc.x - o.cx) - o.s / 2, 0.0)
    return o.r - disc.radius - math.hypot(beyond, disc.y - o.cy)


# ---- one obround ----


@pytest.mark.parametrize(("s", "r"), [(52.0, 3.2), (0.0, 3.0), (10.0, 8.0)], ids=["slim", "round", "stubby"])
def test_perimeter_and_area_are_those_of_the_drawn_figure(s: float, r: float) -> None:
    o = Obround(s * MM, r * MM, 1 * MM, -2 * MM)
    # relative: chords are shorter than the arc by (pi/256)^2/6 = 2.5e-5, the polygon smaller by 4 times that
    assert o.perimeter == pytest.approx(drawn(o).length, rel=3e-5)
    assert o.area == pytest.approx(drawn(o).area, rel=1.1e-4)
    bounds = drawn(o).bounds
    assert o.length == pytest.approx(bounds[2] - bounds[0], abs=EXACT)
    assert o.width == pytest.approx(bounds[3] - bounds[1], abs=EXACT)


def test_an_obround_without_straights_is_a_circle() -> None:
    assert Obround(0.0, 0.5).perimeter == pytest.approx(math.pi, rel=1e-15)
    assert Obround(0.0, 0.5).area == pytest.approx(math.pi / 4, rel=1e-15)


# ---- hull ----


def test_equal_rods_in_a_row_give_the_distance_of_the_outer_two_and_radius_plus_wall() -> None:
    row = [Disc(x * MM, 9 * MM, 2.4 * MM) for x in (26, 16, 5, -5, -15, -24)]
    found = hull(row, 0.1 * MM)
    assert (found.s, found.r) == pytest.approx((50 * MM, 2.5 * MM), abs=EXACT)
    assert (found.cx, found.cy) == pytest.approx((1 * MM, 9 * MM), abs=EXACT)


def test_a_thin_rod_at_the_end_lets_the_round_end_reach_over_it() -> None:
    # Worked: radii 5 and 3 in one row, no wall. R = 5; the end circle over the thin rod may stand 5 - 3 = 2 inside its
    # centre, so from 0 to 20 - 2 = 18.
    found = hull([Disc(0.0, 0.0, 5 * MM), Disc(20 * MM, 0.0, 3 * MM)], 0.0)
    assert (found.s, found.r, found.cx) == pytest.approx((18 * MM, 5 * MM, 9 * MM), abs=EXACT)


def test_rods_out_of_line_use_the_slope_of_the_round_end() -> None:
    # Worked: radius 1 at (0, 3), (0, -3) and (10, 0): half-width 4, so R - r = 3. Over the first two the circle has no
    # room (dy = 3); over the last it may stand 3 inside: centres from 0 to 7.
    found = hull([Disc(0.0, 3 * MM, 1 * MM), Disc(0.0, -3 * MM, 1 * MM), Disc(10 * MM, 0.0, 1 * MM)], 0.0)
    assert (found.s, found.r, found.cx, found.cy) == pytest.approx((7 * MM, 4 * MM, 3.5 * MM, 0.0), abs=EXACT)


@FEW
@given(discs, walls)
def test_the_hull_holds_every_rod_with_its_wall(rods: list[Disc], wall: float) -> None:
    found = hull(rods, wall)
    assert all(spare(found, d) >= wall - 1e-9 for d in rods)  # a nanometre: the root of a difference of squares
    grown = drawn(Obround(found.s, found.r + DRAWN, found.cx, found.cy))
    assert all(grown.covers(Point(d.x, d.y).buffer(d.radius + wall, quad_segs=CHORDS)) for d in rods)


@given(discs, walls)
def test_nothing_can_be_taken_off_the_hull(rods: list[Disc], wall: float) -> None:
    found = hull(rods, wall)
    top = max(d.y + d.radius for d in rods) + wall
    bottom = min(d.y - d.radius for d in rods) - wall
    assert found.width == pytest.approx(top - bottom, abs=EXACT)
    cut = 1e-6  # a micrometre off either end; with s = 0 there is nothing to take
    assume(found.s > cut)
    for side in (-1, 1):
        shorter = Obround(found.s - cut, found.r, found.cx + side * cut / 2, found.cy)
        assert min(spare(shorter, d) for d in rods) < wall - 1e-12


@given(discs, walls, steps(0.0, 1.0), steps(-50, 50), steps(-20, 20))
def test_a_hull_grows_with_the_wall_and_moves_with_its_rods(
    rods: list[Disc], wall: float, more: float, dx: float, dy: float
) -> None:
    found = hull(rods, wall)
    wider = hull(rods, wall + more * MM)  # the same centres: a wall is the same all round
    assert wider.r - found.r == pytest.approx(more * MM, abs=EXACT)
    assert (wider.s, wider.cx) == pytest.approx((found.s, found.cx), abs=1e-8)
    moved = hull([Disc(d.x + dx * MM, d.y + dy * MM, d.radius) for d in rods], wall)
    # 10 nm: near R - r = dy the root magnifies a rounding of 1e-17 m to sqrt(1e-17 x 8e-3)
    assert (moved.s, moved.r) == pytest.approx((found.s, found.r), abs=1e-8)
    assert (moved.cx - dx * MM, moved.cy - dy * MM) == pytest.approx((found.cx, found.cy), abs=1e-8)


@given(discs, discs, walls)
def test_more_rods_never_make_the_hull_narrower(rods: list[Disc], more: list[Disc], wall: float) -> None:
    assert hull([*rods, *more], wall).r >= hull(rods, wall).r - EXACT


def test_a_coil_round_nothing_is_refused() -> None:
    with pytest.raises(DomainError):
        hull([], 1 * MM)


# ---- blade ----


@FEW
@given(steps(20, 80), steps(0.5, 6), steps(0.0, 8.0))
def test_a_turn_round_a_blade_has_the_length_of_the_rectangle_and_a_circle(
    length: float, thickness: float, w: float
) -> None:
    assume(length > 2 * thickness)
    o = blade_obround(length * MM, thickness * MM, w * MM, 3 * MM, 4 * MM)
    assert o.perimeter == pytest.approx((2 * (length + thickness) + 2 * math.pi * w) * MM, abs=EXACT)
    wire = box(0, 0, length * MM, thickness * MM).buffer(w * MM, quad_segs=CHORDS)
    assert o.perimeter == pytest.approx(wire.length, rel=3e-5)  # chords, as above
    assert (o.cx, o.cy) == (3 * MM, 4 * MM)


def test_a_blade_as_thick_as_long_is_refused() -> None:
    with pytest.raises(DomainError):
        blade_obround(4 * MM, 7.1 * MM, 1 * MM)


# ---- room ----


@FEW
@given(steps(10, 80), steps(10, 40), steps(0.0, 30.0), steps(-60, 60), steps(-30, 30))
def test_room_inside_is_the_distance_to_the_drawn_wall(
    length: float, width: float, corner: float, x: float, y: float
) -> None:
    c = min(corner, length / 2, width / 2)
    core = box(c - length / 2, c - width / 2, length / 2 - c, width / 2 - c)  # a line or a point where ends are round
    wall = core.buffer(c, quad_segs=CHORDS)
    at = Point(x, y)
    distance = wall.exterior.distance(at) * (1 if wall.contains(at) else -1) * MM
    assert room_inside(length * MM, width * MM, corner * MM, x * MM, y * MM) == pytest.approx(distance, abs=DRAWN)


# Worked, 20 x 10 with corners of 3: the corner's centre is (7, 2).
ROOM = {
    "in the middle half the width": (0.0, 0.0, 5.0),
    "beside the end wall": (9.0, 0.0, 1.0),
    "at the corner's centre": (7.0, 2.0, 3.0),
    "in the corner, 3-4-5": (7.6, 2.8, 2.0),
    "outside the long wall": (0.0, 7.0, -2.0),
    "outside the corner, 3-4-5": (10.0, 6.0, -2.0),
}


@pytest.mark.parametrize(("x", "y", "expected"), ROOM.values(), ids=ROOM.keys())
def test_room_inside_a_rounded_rectangle(x: float, y: float, expected: float) -> None:
    for sx in (-1, 1):
        for sy in (-1, 1):
            room = room_inside(20 * MM, 10 * MM, 3 * MM, sx * x * MM, sy * y * MM)
            assert room == pytest.approx(expected * MM, abs=EXACT)


obrounds = st.tuples(steps(0, 60), steps(1, 8), steps(-50, 50), steps(-30, 30)).map(
    lambda t: Obround(*(v * MM for v in t))
)


@FEW
@given(obrounds, obrounds)
def test_room_between_two_obrounds_is_the_distance_of_the_drawn_figures(one: Obround, other: Obround) -> None:
    room = room_between(one, other)
    assert room == pytest.approx(room_between(other, one), abs=EXACT)
    if room > DRAWN:
        assert room == pytest.approx(drawn(one).distance(drawn(other)), abs=DRAWN)
    elif room < -DRAWN:
        assert drawn(one).intersects(drawn(other))
