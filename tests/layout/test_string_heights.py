"""Heights of strings over pole pieces. Witnesses: the circle, straight lines, worked numbers, the trade page."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.layout.string_heights import HeightsIn, lift_to_rest, sag, string_centres

MM = 1e-3
FLAT = HeightsIn((26 * MM, 13 * MM, 0.0, -13 * MM, -26 * MM), (0.0,) * 5, 2 * MM, 2 * MM, 0.0, (0.0,) * 5, (0.0,) * 5)


# trade page (reckoned there to 0.1 mm): 52 mm span on 241, 305, 406 mm
@pytest.mark.parametrize(("radius", "known"), [(241, 1.4), (305, 1.1), (406, 0.8)], ids=["241", "305", "406"])
def test_the_outer_strings_lie_under_the_middle_as_the_bench_reckons(radius: float, known: float) -> None:
    assert sag(26 * MM, radius * MM) / MM == pytest.approx(known, abs=0.05)
    # the circle itself: next term half-span^4 / (8 R^3)
    exact = radius - math.sqrt(radius**2 - 26**2)
    assert sag(26 * MM, radius * MM) / MM == pytest.approx(exact, rel=4e-3)


@pytest.mark.parametrize("radius", [241, 406])
def test_strings_lie_on_the_arc_of_the_radius(radius: float) -> None:
    found = string_centres(replace(FLAT, radius=radius * MM))
    for x, z in zip((26, 13, 0, -13, -26), found, strict=True):
        exact = 2.0 + math.sqrt(radius**2 - x**2) - math.sqrt(radius**2 - 26**2)
        assert z / MM == pytest.approx(
            exact, abs=0.006
        )  # parabola for circle: half-span^4 / (8 R^3) at most 4 um, and a bit


def test_on_a_flat_board_strings_lie_on_the_straight_line_between_the_outer_gaps() -> None:
    found = string_centres(replace(FLAT, first=1.6 * MM, last=2.4 * MM))
    assert [z / MM for z in found] == pytest.approx([1.6, 1.8, 2.0, 2.2, 2.4])


def test_the_gap_is_to_the_underside_so_half_a_diameter_comes_on_top() -> None:
    found = string_centres(replace(FLAT, diameters=(0.25 * MM, 0.33 * MM, 0.43 * MM, 0.8 * MM, 1.2 * MM)))
    assert [z / MM for z in found] == pytest.approx([2.125, 2.165, 2.215, 2.4, 2.6])


def test_the_outer_pole_tops_carry_the_gaps_and_the_inner_ones_do_not() -> None:
    found = string_centres(replace(FLAT, tops=(1 * MM, 9 * MM, 9 * MM, 9 * MM, 3 * MM)))
    assert [z / MM for z in found] == pytest.approx([3.0, 3.5, 4.0, 4.5, 5.0])


def test_the_lift_to_rest_raises_each_string_by_its_own() -> None:
    found = string_centres(replace(FLAT, lift=(0.1 * MM, 0.2 * MM, 0.0, 0.0, 0.5 * MM)))
    assert [z / MM for z in found] == pytest.approx([2.1, 2.2, 2.0, 2.0, 2.5])


def test_one_string_has_its_own_gap() -> None:
    one = HeightsIn((3 * MM,), (0.0,), 2 * MM, 9 * MM, 241 * MM, (0.0,), (0.0,))
    assert string_centres(one) == pytest.approx((2 * MM,))


def test_a_left_handed_row_is_the_mirror_image() -> None:
    right = replace(FLAT, first=1.5 * MM, last=2.5 * MM, radius=300 * MM)
    left = replace(right, x=tuple(-x for x in right.x))
    assert string_centres(left) == pytest.approx(string_centres(right))


def test_pressing_the_last_fret_lowers_the_string_as_two_straight_lines_say() -> None:
    # scale 648, action 2 mm over fret 12, 24 frets: y_24 = 162 mm. At 50 mm: open 4 (1 - 50/648) = 3.691 mm; pressed
    # 4 (1 - 50/162) = 2.765 mm; worked by hand
    assert lift_to_rest(2 * MM, 50 * MM, 648 * MM, 24) / MM == pytest.approx(3.691358 - 2.765432, abs=1e-6)


@given(st.floats(0.5, 4.0), st.floats(20.0, 120.0), st.integers(12, 24))
def test_the_lift_grows_with_action_place_and_frets(action: float, place: float, frets: int) -> None:
    lift = lift_to_rest(action * MM, place * MM, 648 * MM, frets)
    assert lift > 0.0
    assert lift_to_rest(2 * action * MM, place * MM, 648 * MM, frets) == pytest.approx(2 * lift, rel=1e-12)
    assert lift_to_rest(action * MM, place * MM, 648 * MM, frets + 1) > lift
    assert lift_to_rest(action * MM, place * MM, 648 * MM, 0) == pytest.approx(0.0, abs=1e-15)  # the nut itself
