"""String lines between nut and bridge, their crossings with a pickup's axis, and the paper tape.

Witnesses: numbers worked by hand in the test, mirror and scaling laws, and numpy.linalg.solve, which intersects two
lines without knowing the closed form.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.layout.string_lines import (
    Axis,
    Spread,
    StringsIn,
    axis_through,
    corrected,
    crossings,
    spread_positions,
    string_lines,
)

MM = 1e-3
EXACT = 1e-12  # metres: a millionth of a micrometre, some thousand roundings of a 1 m number
HERON_STRINGS = tuple(inch * 25.4 * MM for inch in (0.014, 0.018, 0.026, 0.038, 0.050, 0.068))
HERON = StringsIn(686 * MM, Spread("span", 36 * MM), Spread("span", 52.5 * MM), HERON_STRINGS)


def near(*millimetres: float) -> object:
    return pytest.approx([m * MM for m in millimetres], abs=EXACT)


# ---- one end ----

# diameters 1, 2, 3 mm. equal gaps within 16 mm: air (16 - 6)/2 = 5; centres from the first: 0, .5+5+1 = 6.5,
# 6.5+1+5+1.5 = 14; middle 7. outside: 16 - (1 + 3)/2 = 14 between the outer centres, so 7, 0, -7.
SPREADS = {
    "span: two steps of 7 mm": (Spread("span", 14 * MM), (7.0, 0.0, -7.0)),
    "pitch: 7 mm from centre to centre": (Spread("pitch", 7 * MM), (7.0, 0.0, -7.0)),
    "outside: half of each outer string taken off": (Spread("outside", 16 * MM), (7.0, 0.0, -7.0)),
    "equal gaps: the middle string stands nearer to the thin one": (Spread("equal gaps", 16 * MM), (7.0, 0.5, -7.0)),
    "centres from any zero": (Spread("centres", centres=(3 * MM, 9 * MM, 17 * MM)), (7.0, 1.0, -7.0)),
    "centres read from the other end": (Spread("centres", centres=(17 * MM, 11 * MM, 3 * MM)), (7.0, 1.0, -7.0)),
}


@pytest.mark.parametrize(("spread", "expected"), SPREADS.values(), ids=SPREADS.keys())
def test_strings_stand_where_the_rule_puts_them(spread: Spread, expected: tuple[float, ...]) -> None:
    assert spread_positions(spread, (1 * MM, 2 * MM, 3 * MM)) == near(*expected)


@given(
    st.integers(2, 12),
    st.floats(0.2, 3.0),
    st.floats(1.0, 15.0),
)
def test_equal_gaps_and_equal_centres_are_one_when_all_strings_are_alike(n: int, thick: float, air: float) -> None:
    diameters = (thick * MM,) * n
    outside = (n * thick + (n - 1) * air) * MM
    gaps = spread_positions(Spread("equal gaps", outside), diameters)
    centres = spread_positions(Spread("outside", outside), diameters)
    assert gaps == pytest.approx(centres, abs=EXACT)
    assert gaps == pytest.approx(spread_positions(Spread("pitch", (thick + air) * MM), diameters), abs=EXACT)


@given(st.lists(st.floats(0.2, 2.0), min_size=2, max_size=10), st.floats(0.5, 10.0))
def test_equal_gaps_leave_the_same_air_between_all_neighbours(thick: list[float], air: float) -> None:
    diameters = tuple(d * MM for d in thick)
    outside = sum(diameters) + (len(diameters) - 1) * air * MM
    at = spread_positions(Spread("equal gaps", outside), diameters)
    between = [
        at[i] - at[i + 1] - (diameters[i] + diameters[i + 1]) / 2 for i in range(len(at) - 1)
    ]  # edge to edge, not centre to centre
    assert between == pytest.approx([air * MM] * len(between), abs=EXACT)
    assert at[0] + diameters[0] / 2 - (at[-1] - diameters[-1] / 2) == pytest.approx(outside, abs=EXACT)


REFUSED = {
    "8 mm of strings do not fit in 7 mm": Spread("equal gaps", 7 * MM),
    "outer edges closer than two half strings": Spread("outside", 1.5 * MM),
}


@pytest.mark.parametrize("spread", REFUSED.values(), ids=REFUSED.keys())
def test_strings_that_cannot_stand_side_by_side_are_refused(spread: Spread) -> None:
    with pytest.raises(DomainError):
        spread_positions(spread, (1 * MM, 2 * MM, 5 * MM))


def test_a_single_string_runs_down_the_middle() -> None:
    lines = string_lines(StringsIn(0.6, Spread("span", 36 * MM), Spread("span", 50 * MM), (1 * MM,)))
    assert (lines.nut, lines.bridge) == ((0.0,), (0.0,))
    assert crossings(lines, axis_through(lines, 40 * MM, 50 * MM)) == (0.0,)


# ---- across a pickup ----


def test_a_straight_pickup_is_crossed_at_the_interpolated_span() -> None:
    # Worked: at 45 mm of 686 the span is 52.5 - (52.5 - 36) * 45/686 = 51.417638 mm; six strings, steps of a fifth.
    span = 52.5 - 16.5 * 45 / 686
    assert span == pytest.approx(51.417638, abs=1e-6)
    lines = string_lines(HERON)
    at = crossings(lines, axis_through(lines, 45 * MM, 45 * MM))
    assert at == near(*(span / 2 - span * i / 5 for i in range(6)))


def test_at_the_bridge_line_the_crossings_are_the_bridges_own() -> None:
    lines = string_lines(HERON)
    assert crossings(lines, Axis(0.0)) == pytest.approx(lines.bridge, abs=EXACT)
    assert crossings(lines, Axis(HERON.scale)) == pytest.approx(lines.nut, abs=EXACT)
    assert crossings(lines, Axis(0.0), HERON.scale) == pytest.approx(lines.nut, abs=EXACT)


SLANTS = {
    "straight": (45.0, 45.0, 0.0),
    "bass side forward": (40.0, 62.0, 0.0),
    "bass side back": (62.0, 40.0, 0.0),
    "steep": (30.0, 130.0, 0.0),
    "steep, a coil 9 mm toward the nut": (30.0, 130.0, 9.0),
    "slanted, a coil 9 mm toward the bridge": (40.0, 62.0, -9.0),
}


def intersections(given: StringsIn, axis: Axis, offset: float) -> list[float]:
    """Each string as two points, the coil's line as point and direction: solved as a 2 x 2 system."""
    lines = string_lines(given)
    along = np.array([math.cos(axis.angle), math.sin(axis.angle)])
    across = np.array([-along[1], along[0]])
    origin = np.array([0.0, axis.y]) + offset * across
    found = []
    for nut, bridge in zip(lines.nut, lines.bridge, strict=True):
        foot, top = np.array([bridge, 0.0]), np.array([nut, given.scale])
        found.append(float(np.linalg.solve(np.column_stack([along, foot - top]), foot - origin)[0]))
    return found


@pytest.mark.parametrize("left_handed", [False, True], ids=["right-handed", "left-handed"])
@pytest.mark.parametrize(("first", "last", "offset"), SLANTS.values(), ids=SLANTS.keys())
def test_crossings_are_where_two_lines_meet(first: float, last: float, offset: float, left_handed: bool) -> None:
    given = StringsIn(HERON.scale, HERON.nut, HERON.bridge, HERON.diameters, left_handed)
    lines = string_lines(given)
    axis = axis_through(lines, first * MM, last * MM)
    assert crossings(lines, axis, offset * MM) == pytest.approx(intersections(given, axis, offset * MM), abs=EXACT)


@pytest.mark.parametrize(("first", "last", "offset"), SLANTS.values(), ids=SLANTS.keys())
def test_a_slanted_axis_lies_at_both_given_distances(first: float, last: float, offset: float) -> None:
    lines = string_lines(HERON)
    axis = axis_through(lines, first * MM, last * MM)
    at = crossings(lines, axis)
    y = [axis.y + u * math.sin(axis.angle) for u in (at[0], at[-1])]
    assert y == near(first, last)
    x = [u * math.cos(axis.angle) for u in (at[0], at[-1])]
    assert x == pytest.approx([lines.x(0, y[0]), lines.x(5, y[1])], abs=EXACT)


@pytest.mark.parametrize(("first", "last", "offset"), SLANTS.values(), ids=SLANTS.keys())
def test_a_left_handed_instrument_is_the_mirror_image(first: float, last: float, offset: float) -> None:
    mirrored = StringsIn(HERON.scale, HERON.nut, HERON.bridge, HERON.diameters, left_handed=True)
    right, left = string_lines(HERON), string_lines(mirrored)
    one, other = (axis_through(lines, first * MM, last * MM) for lines in (right, left))
    assert other.angle == pytest.approx(-one.angle, abs=EXACT)
    assert other.y == pytest.approx(one.y, abs=EXACT)
    assert crossings(left, other, offset * MM) == pytest.approx(
        [-x for x in crossings(right, one, offset * MM)], abs=EXACT
    )
    assert crossings(right, one)[0] > 0 > crossings(left, other)[0]  # string 1 at +x right-handed (contract 1)


@given(st.floats(0.5, 3.0), st.floats(20.0, 200.0), st.floats(20.0, 200.0), st.floats(-10.0, 10.0))
def test_a_bigger_instrument_has_its_crossings_further_apart_in_proportion(
    k: float, first: float, last: float, offset: float
) -> None:
    bigger = StringsIn(
        HERON.scale * k,
        Spread("span", HERON.nut.measure * k),
        Spread("span", HERON.bridge.measure * k),
        tuple(d * k for d in HERON.diameters),
    )
    small, big = string_lines(HERON), string_lines(bigger)
    at = crossings(small, axis_through(small, first * MM, last * MM), offset * MM)
    scaled = crossings(big, axis_through(big, first * k * MM, last * k * MM), offset * k * MM)
    assert scaled == pytest.approx([x * k for x in at], abs=10 * EXACT)


# ---- the paper tape ----


def test_a_tape_that_reads_what_interpolation_gives_changes_nothing() -> None:
    lines = string_lines(HERON)
    axis = axis_through(lines, 40 * MM, 62 * MM)
    on_axis, wanted = crossings(lines, axis), crossings(lines, axis, 9 * MM)
    tape = tuple(on_axis[0] - x + 12.3 * MM for x in on_axis)  # another zero, counted the other way
    assert corrected(wanted, on_axis, tape) == pytest.approx(wanted, abs=EXACT)


@pytest.mark.parametrize("sign", [1.0, -1.0], ids=["right-handed", "left-handed"])
def test_a_string_that_the_tape_shows_elsewhere_moves_by_that_much(sign: float) -> None:
    # Worked: interpolation 10, 0, -10. The tape reads 0, 10.4, 20 from string 1, so string 2 lies 0.4 mm toward
    # string 3: at -0.4. Where the coil lies the interpolation gives 11, 0, -11; string 2 moves by the same -0.4.
    tape = (0.0, 10.4 * MM, 20 * MM)
    on_axis = tuple(sign * x * MM for x in (10.0, 0.0, -10.0))
    wanted = tuple(sign * x * MM for x in (11.0, 0.0, -11.0))
    assert corrected(wanted, on_axis, tape) == near(*(sign * x for x in (11.0, -0.4, -11.0)))
    assert corrected(on_axis, on_axis, tape) == near(*(sign * x for x in (10.0, -0.4, -10.0)))


def test_a_wider_tape_spreads_both_ways_from_the_middle() -> None:
    # Worked: interpolation 12, 2, -8 (middle 2); a tape 1 mm wider on 20 puts the outer two at 2 +- 10.5.
    on_axis = tuple(x * MM for x in (12.0, 2.0, -8.0))
    assert corrected(on_axis, on_axis, (5 * MM, 15.5 * MM, 26 * MM)) == near(12.5, 2.0, -8.5)
