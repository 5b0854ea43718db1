"""Millimetres to spare. Witnesses: shapely's distances between drawn figures, and sums worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from lodestring.layout.clearance import (
    CoilOutline,
    Hollow,
    between_coils,
    inside_housing,
    inside_plate,
    plate_inside_housing,
)
from lodestring.layout.obround import Obround

MM = 1e-3
EXACT = 1e-12
# A circle of radius r drawn with 4 x 64 chords lies up to 7.5e-5 r inside the true one; two of up to 20 mm: 3 um.
CHORDS = 64
DRAWN = 3e-6
FEW = settings(max_examples=40)  # drawing takes most of a millisecond


def steps(low: float, high: float) -> st.SearchStrategy[float]:
    """Millimetres in hundredths: what calipers read."""
    return st.integers(round(100 * low), round(100 * high)).map(lambda n: n / 100)


def coil(
    s: float, r: float, end: float, side: float, tape: float = 0.0, cx: float = 0.0, cy: float = 0.0
) -> CoilOutline:
    return CoilOutline(Obround(s * MM, r * MM, cx * MM, cy * MM), end * MM, side * MM, tape * MM)


def rounded(length: float, width: float, corner: float, cx: float = 0.0, cy: float = 0.0) -> Polygon:
    """A rounded rectangle, drawn in millimetres."""
    c = min(corner, length / 2, width / 2)
    core = box(cx - length / 2 + c, cy - width / 2 + c, cx + length / 2 - c, cy + width / 2 - c)
    return core.buffer(c, quad_segs=CHORDS)


def end_circles(c: CoilOutline) -> list[Polygon]:
    """The taped round ends, drawn in millimetres."""
    i, r = c.inner, c.inner.r + c.depth_end + c.tape
    return [Point((i.cx + k * i.s / 2) / MM, i.cy / MM).buffer(r / MM, quad_segs=CHORDS) for k in (-1, 1)]


# ---- worked by hand ----

HERON = coil(51.4, 2.5, 4.5, 5.2, 0.45)


def test_the_outline_counts_ends_and_belly_apart() -> None:
    assert pytest.approx(51.4 * MM + 2 * 7.0 * MM, abs=EXACT) == HERON.length
    assert pytest.approx(2 * 7.7 * MM, abs=EXACT) == HERON.width


def test_a_square_plate_leaves_what_is_over_at_end_and_side() -> None:
    # ends: (80 - 51.4)/2 - 7.0 = 7.3, but half the width less the end's 7.0 is only 1.0; side: 8 - 7.7 = 0.3
    assert inside_plate(HERON, 80 * MM, 16 * MM, 0.0) == pytest.approx((1.0 * MM, 0.3 * MM), abs=EXACT)
    # a plate 30 wide and 68 long: ends (68 - 51.4)/2 - 7.0 = 1.3; side 15 - 7.7 = 7.3
    assert inside_plate(HERON, 68 * MM, 30 * MM, 0.0) == pytest.approx((1.3 * MM, 7.3 * MM), abs=EXACT)


def test_a_housing_counts_tape_and_draft_and_how_far_the_coil_stands_off_the_middle() -> None:
    # sharp corners, 84 x 37 with 1 mm of draft = 83 x 36; a coil 9 mm toward the nut, 0.5 mm to the right.
    # side: 18 - 9 - 2.5 - 5.2 - 0.45 = 0.85; end: the wall at the right, 41.5 - 0.5 - 25.7 - 7.45 = 7.85, or the long
    # wall, 18 - 9 - 7.45 = 1.55: the less.
    off = coil(51.4, 2.5, 4.5, 5.2, 0.45, cx=0.5, cy=9.0)
    assert inside_housing(off, Hollow(84 * MM, 37 * MM, 20 * MM, 0.0, 1 * MM)) == pytest.approx(
        (1.55 * MM, 0.85 * MM), abs=EXACT
    )


def test_a_plate_in_a_rounder_corner_touches_there_first() -> None:
    # Plate 80 x 16, sharp corners, housing 84 x 19 with corners of 9: the corner's centre is (33, 0.5), the plate's
    # corner (40, 8) lies sqrt(7^2 + 7.5^2) = 10.2591 from it: 9 - 10.2591 = -1.2591.
    room = plate_inside_housing(80 * MM, 16 * MM, 0.0, 0.0, 0.0, Hollow(84 * MM, 19 * MM, 20 * MM, 9 * MM))
    assert room == pytest.approx(-1.2591 * MM, abs=1e-7)


def test_coils_side_by_side_meet_at_their_bellies() -> None:
    # 18 apart: 18 - 2 (3.6 + 3.64 + 0.45) = 2.62
    front, rear = (coil(66, 3.6, 3.16, 3.64, 0.45, cy=y) for y in (9.0, -9.0))
    assert between_coils(front, rear) == pytest.approx(2.62 * MM, abs=EXACT)


def test_a_slanted_pair_is_not_further_apart_than_its_rows() -> None:
    # The rows of a slanted pickup are shifted along each other; the distance across stays 18.
    front, rear = (coil(66, 3.6, 3.16, 3.64, 0.45, cx=x, cy=y) for x, y in ((2.0, 9.0), (-2.0, -9.0)))
    assert between_coils(front, rear) == pytest.approx(2.62 * MM, abs=EXACT)


def test_coils_end_to_end_meet_at_their_round_ends() -> None:
    # Each serves half the strings: middles 38 apart, s 28: centres of the round ends 10 apart; 10 - 2 x 7.21 = -4.42.
    one, other = (coil(28, 3.6, 3.16, 3.64, 0.45, cx=x) for x in (19.0, -19.0))
    assert between_coils(one, other) == pytest.approx(-4.42 * MM, abs=EXACT)


# ---- against drawn figures ----

coils = st.tuples(
    steps(0, 60), steps(1, 5), steps(0.5, 6), steps(0.5, 6), steps(0, 0.6), steps(-5, 5),
    steps(-8, 8),
).map(lambda t: coil(*t))  # fmt: skip


@FEW
@given(coils, steps(60, 110), steps(25, 50), steps(0, 12), steps(0, 2))
def test_room_at_the_ends_is_the_distance_of_the_drawn_end_to_the_drawn_wall(
    c: CoilOutline, length: float, width: float, corner: float, draft: float
) -> None:
    end, side = inside_housing(c, Hollow(length * MM, width * MM, 0.02, corner * MM, draft * MM))
    wall = rounded(length - draft, width - draft, corner)
    ends = end_circles(c)
    inside = all(wall.contains(e) for e in ends)
    assume(abs(end) > DRAWN)
    assert (end > 0) == inside
    if inside:
        assert end == pytest.approx(min(wall.exterior.distance(e) for e in ends) * MM, abs=DRAWN)
    reach = abs(c.inner.cy) + c.inner.r + c.depth_side + c.tape
    assert side == pytest.approx((width - draft) * MM / 2 - reach, abs=EXACT)


@FEW
@given(steps(40, 80), steps(8, 20), steps(0, 10), steps(-2, 2), steps(-3, 3), steps(0, 10))
def test_room_round_a_plate_is_the_distance_of_the_drawn_plate_to_the_drawn_wall(
    length: float, width: float, corner: float, cx: float, cy: float, housing_corner: float
) -> None:
    hollow = Hollow(84 * MM, 24 * MM, 20 * MM, housing_corner * MM)
    room = plate_inside_housing(length * MM, width * MM, corner * MM, cx * MM, cy * MM, hollow)
    wall = rounded(84, 24, housing_corner)
    plate = rounded(length, width, corner, cx, cy)
    assume(abs(room) > DRAWN)
    assert (room > 0) == wall.contains(plate)
    if room > 0:
        assert room == pytest.approx(wall.exterior.distance(plate) * MM, abs=DRAWN)


even = st.tuples(steps(0, 40), steps(1, 5), steps(0.5, 4), steps(0, 0.6), steps(-40, 40), steps(-20, 20)).map(
    lambda t: coil(t[0], t[1], t[2], t[2], t[3], t[4], t[5])
)


@FEW
@given(even, even)
def test_two_coils_without_belly_are_as_far_apart_as_their_drawings(one: CoilOutline, other: CoilOutline) -> None:
    room = between_coils(one, other)
    assert room == pytest.approx(between_coils(other, one), abs=EXACT)
    drawn = [
        LineString([((i.cx - i.s / 2) / MM, i.cy / MM), ((i.cx + i.s / 2) / MM + 1e-9, i.cy / MM)]).buffer(
            (i.r + c.depth_end + c.tape) / MM, quad_segs=CHORDS
        )
        for c in (one, other)
        for i in (c.inner,)
    ]
    assume(abs(room) > DRAWN)
    assert (room < 0) == drawn[0].intersects(drawn[1])
    if room > 0:
        assert room == pytest.approx(drawn[0].distance(drawn[1]) * MM, abs=DRAWN)


@given(coils, steps(0.1, 2.0))
def test_a_deeper_coil_leaves_less_room_by_just_as_much(c: CoilOutline, more: float) -> None:
    deeper = CoilOutline(c.inner, c.depth_end + more * MM, c.depth_side + more * MM, c.tape)
    hollow = Hollow(110 * MM, 50 * MM, 20 * MM, 6 * MM)
    for before, after in zip(inside_housing(c, hollow), inside_housing(deeper, hollow), strict=True):
        assert before - after == pytest.approx(more * MM, abs=EXACT)
    for before, after in zip(
        inside_plate(c, 90 * MM, 30 * MM, 5 * MM), inside_plate(deeper, 90 * MM, 30 * MM, 5 * MM), strict=True
    ):
        assert before - after == pytest.approx(more * MM, abs=EXACT)
