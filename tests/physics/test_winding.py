"""The coil as a stack of turns.

Witnesses that share no formula with ours: numerical quadrature, and a coil laid turn by turn in a hexagonal stack and
added up; then worked figures, limits and scaling laws.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from lodestring.errors import DomainError
from lodestring.physics.winding import (
    PERFECT_LAYERS,
    SQUARE_LAYERS,
    coil_depth,
    length_to_turn,
    mean_turn_length,
    passes_side_by_side,
    turn_length,
    turns_in,
)

MM, UM = 1e-3, 1e-6
ROUNDING = 1e-12  # relative; nothing here loses more than a few digits of 16

straights = st.floats(0.0, 0.1)
inners = st.floats(1e-3, 1e-2)
depths = st.floats(1e-4, 1e-2)
packings = st.floats(0.5, 0.9)
heights = st.floats(3e-3, 2e-2)
wires = st.floats(3e-5, 2e-4)
counts = st.integers(100, 15000)


# ---- geometry of packing ----


@pytest.mark.parametrize(
    ("packing", "printed"), [(PERFECT_LAYERS, 0.906900), (SQUARE_LAYERS, 0.785398)], ids=["W26 hexagonal", "W26 square"]
)
def test_packing_limits_are_those_of_plane_lattices(packing: float, printed: float) -> None:
    assert packing == pytest.approx(printed, abs=1e-6)  # printed to 6 digits; plane geometry


@pytest.mark.parametrize(("overall", "fill"), [(71, 0.62823), (76, 0.54829)], ids=["W26 single", "W26 heavy"])
def test_copper_fill_of_a_square_stack_of_42_gauge(overall: float, fill: float) -> None:
    depth = coil_depth(8000, overall * UM, SQUARE_LAYERS, 10 * MM)
    copper = 8000 * math.pi * (63.5 * UM) ** 2 / 4
    assert copper / (depth * 10 * MM) == pytest.approx(fill, abs=1e-5)  # W26's own tolerance


def test_a_square_stack_is_as_deep_as_its_rows() -> None:
    # 100 turns side by side in 10 mm, 40 rows of 0.1 mm: 4 mm.
    assert coil_depth(4000, 0.1 * MM, SQUARE_LAYERS, 10 * MM) == pytest.approx(4 * MM, rel=ROUNDING)
    assert passes_side_by_side(4000, 0.1 * MM, 10 * MM) == pytest.approx(40, rel=ROUNDING)


@given(counts, wires, packings, heights)
def test_turns_and_depth_are_inverse(n: int, d: float, k: float, h: float) -> None:
    assert turns_in(coil_depth(n, d, k, h), d, k, h) == pytest.approx(n, rel=ROUNDING)


@given(counts, wires, packings, heights)
def test_depth_follows_turns_section_packing_and_height(n: int, d: float, k: float, h: float) -> None:
    depth = coil_depth(n, d, k, h)
    assert coil_depth(2 * n, d, k, h) == pytest.approx(2 * depth, rel=ROUNDING)
    assert coil_depth(n, 2 * d, k, h) == pytest.approx(4 * depth, rel=ROUNDING)
    assert coil_depth(n, d, k / 2, h) == pytest.approx(2 * depth, rel=ROUNDING)
    assert coil_depth(n, d, k, 2 * h) == pytest.approx(depth / 2, rel=ROUNDING)
    assert depth * h * k == pytest.approx(n * math.pi * d * d / 4, rel=ROUNDING)  # area of wire = packing x window


@pytest.mark.parametrize("packing", [0.0, -0.1, 0.907, 1.0, math.nan], ids=str)
def test_a_packing_that_no_stack_reaches_is_refused(packing: float) -> None:
    with pytest.raises(DomainError):
        coil_depth(8000, 71 * UM, packing, 10 * MM)


def test_a_window_without_height_is_refused() -> None:
    with pytest.raises(DomainError):
        coil_depth(8000, 71 * UM, 0.65, 0.0)


# ---- length of wire ----


@given(straights, inners, depths)
def test_the_mean_turn_is_the_average_over_the_depth(s: float, r: float, depth: float) -> None:
    whole, _ = quad(lambda x: turn_length(s, x), r, r + depth)
    assert mean_turn_length(s, r, depth) == pytest.approx(whole / depth, rel=1e-10)  # the quadrature's own error


@given(straights, inners)
def test_a_coil_without_depth_has_its_first_turn_as_mean(s: float, r: float) -> None:
    assert mean_turn_length(s, r, 0.0) == pytest.approx(turn_length(s, r), rel=ROUNDING)


def test_the_mean_turn_of_the_reference_coil() -> None:
    # Case A1 of our own magnetics notes: s 52, r from 3.2 to 6.8 mm. 2 x 52 + 2 pi (3.2 + 6.8)/2 = 104 + 31.41593.
    assert mean_turn_length(52 * MM, 3.2 * MM, 3.6 * MM) == pytest.approx(135.41593 * MM, abs=1e-8)


@given(counts, straights, inners, depths)
def test_the_whole_wire_is_turns_times_mean_turn(n: int, s: float, r: float, depth: float) -> None:
    assert length_to_turn(n, n, s, r, depth) == pytest.approx(n * mean_turn_length(s, r, depth), rel=ROUNDING)
    assert length_to_turn(0, n, s, r, depth) == 0.0


@given(counts, straights, inners, depths, st.floats(0.05, 0.95))
def test_wire_grows_turn_by_turn_at_the_length_of_the_turn_being_laid(
    n: int, s: float, r: float, depth: float, share: float
) -> None:
    # d(length)/d(turn) = the turn at that depth. A central difference of a parabola is exact but for roundings.
    turn, step = share * n, 0.01 * n
    rise = (length_to_turn(turn + step, n, s, r, depth) - length_to_turn(turn - step, n, s, r, depth)) / (2 * step)
    assert rise == pytest.approx(turn_length(s, r + depth * share), rel=1e-9)


# ---- a coil laid turn by turn ----


def laid(turns: int, d: float, s: float, r: float, h: float) -> tuple[float, float]:
    """(length, depth) of a perfect hexagonal stack: full rows and rows of one fewer in the gaps between their turns."""
    full = int(h / d + 1e-9)
    length, left, row = 0.0, turns, 0
    radius = r + d / 2
    while left > 0:
        here = min(left, full if row % 2 == 0 else full - 1)
        radius = r + d / 2 + row * d * math.sqrt(3) / 2
        length += here * (2 * s + 2 * math.pi * radius)
        left -= here
        row += 1
    return length, radius + d / 2 - r


# In a stack of m rows of n turns the plain formula leaves out the row ends (half a turn in every second row: 1/(2n) of
# the depth) and the first and last half wire (a part 1/m of the depth): so it is off by at most (1/(2n) + 1/m) x depth
# in depth, and by pi times half of that in the mean turn.
STACKS = {
    "42 gauge in 10.5 mm": (8000, 71 * UM, 51.4 * MM, 2.5 * MM, 10.508 * MM),
    "44 gauge in 9.9 mm": (10000, 57 * UM, 48 * MM, 2.6 * MM, 9.918 * MM),
    "a round coil": (5000, 71 * UM, 0.0, 3 * MM, 8.023 * MM),
    "thick wire, few turns": (600, 300 * UM, 60 * MM, 4 * MM, 9 * MM),
}


@pytest.mark.parametrize(("n", "d", "s", "r", "h"), STACKS.values(), ids=STACKS.keys())
def test_a_coil_laid_turn_by_turn_is_as_deep_and_as_long(n: int, d: float, s: float, r: float, h: float) -> None:
    length, depth = laid(n, d, s, r, h)
    model = coil_depth(n, d, PERFECT_LAYERS, h)
    off = (d / (2 * h) + d * math.sqrt(3) / 2 / model) * model
    assert model == pytest.approx(depth, abs=off)
    assert mean_turn_length(s, r, model) == pytest.approx(length / n, abs=math.pi * off / 2)


def test_thinner_wire_brings_the_even_spread_nearer_in_proportion() -> None:
    # First order in d/h: a wire half as thick, four times the turns, halves the error of the depth. Three halvings from
    # 160 um; full rows each time (10.24 mm = 64 x 160 um). Between 1.8 and 2.2: the last row is not always full.
    errors = []
    for k in range(4):
        d, n = 160 * UM / 2**k, 1500 * 4**k
        length, _ = laid(n, d, 50 * MM, 2.5 * MM, 10.24 * MM)
        depth = coil_depth(n, d, PERFECT_LAYERS, 10.24 * MM)
        errors.append(abs(mean_turn_length(50 * MM, 2.5 * MM, depth) - length / n))
    ratios = [errors[i] / errors[i + 1] for i in range(3)]
    assert all(1.8 < ratio < 2.2 for ratio in ratios), ratios
