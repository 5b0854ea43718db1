"""Where pole pieces stand and what the first turn goes round. Witnesses: worked numbers, mirror and shift laws."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.layout.pole_row import RowIn, nearest_pair, pole_row

MM = 1e-3
EXACT = 1e-12
FOUR = tuple(x * MM for x in (15.0, 5.0, -5.0, -15.0))
ONE = RowIn("one per string", FOUR, 0.0, 2.4 * MM, 0.1 * MM)
TWO = RowIn("two per string", FOUR, 0.0, 2.0 * MM, 0.1 * MM, apart=5.0 * MM)


def flat(pairs: tuple[tuple[float, float], ...]) -> list[float]:
    return [v / MM for pair in pairs for v in pair]


def test_one_rod_stands_under_each_string() -> None:
    row = pole_row(replace(ONE, place=9 * MM))
    assert flat(row.centres) == pytest.approx([15, 9, 5, 9, -5, 9, -15, 9])
    assert row.under == (0, 1, 2, 3)
    assert (row.inner.s, row.inner.r, row.inner.cy) == pytest.approx((30 * MM, 2.5 * MM, 9 * MM), abs=EXACT)


def test_two_rods_stand_on_either_side_of_each_string_outermost_first() -> None:
    row = pole_row(TWO)
    assert [x / MM for x, _ in row.centres] == pytest.approx([17.5, 12.5, 7.5, 2.5, -2.5, -7.5, -12.5, -17.5])
    assert row.under == (0, 0, 1, 1, 2, 2, 3, 3)
    assert (row.inner.s, row.inner.r) == pytest.approx((35 * MM, 2.1 * MM), abs=EXACT)


@pytest.mark.parametrize("given_row", [ONE, TWO], ids=["one per string", "two per string"])
def test_the_row_of_a_left_handed_instrument_is_the_mirror_image(given_row: RowIn) -> None:
    right = pole_row(given_row)
    left = pole_row(replace(given_row, crossings=tuple(-x for x in given_row.crossings)))
    assert flat(left.centres) == pytest.approx(
        [v * (-1 if i % 2 == 0 else 1) for i, v in enumerate(flat(right.centres))]
    )
    assert left.under == right.under
    assert (left.inner.s, left.inner.r) == pytest.approx((right.inner.s, right.inner.r), abs=EXACT)


@given(st.floats(-30, 30), st.floats(-20, 20))
def test_a_row_moves_with_its_strings_and_its_place(dx: float, place: float) -> None:
    moved = pole_row(replace(TWO, crossings=tuple(x + dx * MM for x in FOUR), place=place * MM))
    still = pole_row(TWO)
    assert moved.inner.cx - still.inner.cx == pytest.approx(dx * MM, abs=EXACT)
    assert moved.inner.cy == pytest.approx(place * MM, abs=EXACT)
    # 10 nm: where the end circle has no room over a rod, a root magnifies the rounding
    assert (moved.inner.s, moved.inner.r) == pytest.approx((still.inner.s, still.inner.r), abs=1e-8)


def test_a_blade_lies_in_the_middle_of_its_strings_and_stands_under_none() -> None:
    row = pole_row(RowIn("blade", (16 * MM, 0.0, -14 * MM), 0.0, 0.0, 1.2 * MM, blade=(40 * MM, 3 * MM)))
    assert flat(row.centres) == pytest.approx([1, 0])
    assert row.under == (None,)
    # Worked: half-width 1.5 + 1.2; one turn on the wall is 2 (40 + 3) + 2 pi 1.2 long
    assert row.inner.r == pytest.approx(2.7 * MM, abs=EXACT)
    assert row.inner.perimeter == pytest.approx((86 + 2.4 * math.pi) * MM, abs=EXACT)


def test_listed_pole_pieces_stay_where_they_are_and_serve_the_nearest_string() -> None:
    listed = tuple((x * MM, y * MM) for x, y in ((14.0, 1.0), (6.0, -1.0), (-4.0, 1.0), (-16.0, -1.0)))
    row = pole_row(replace(ONE, kind="listed", listed=listed, place=3 * MM))
    assert row.centres == listed
    assert row.under == (0, 1, 2, 3)
    assert row.inner.width == pytest.approx(2 * (1.0 + 2.4 + 0.1) * MM, abs=EXACT)


def test_a_coil_without_pole_pieces_goes_round_its_own_core() -> None:
    row = pole_row(RowIn("none", FOUR, 2 * MM, 0.0, 0.0, core=(60 * MM, 8 * MM)))
    assert (row.centres, row.under) == ((), ())
    assert (row.inner.length, row.inner.width, row.inner.cy) == pytest.approx((60 * MM, 8 * MM, 2 * MM), abs=EXACT)


def test_a_blade_that_is_no_blade_is_refused() -> None:
    with pytest.raises(DomainError):
        pole_row(RowIn("blade", FOUR, 0.0, 0.0, 1.2 * MM, blade=(3 * MM, 6 * MM)))


def test_the_nearest_pair_is_found_across_both_directions() -> None:
    # Worked: 3-4-5 between the second and the third, all others further.
    assert nearest_pair(((0.0, 0.0), (20.0, 0.0), (23.0, 4.0), (40.0, 0.0))) == (1, 2, 5.0)
    assert nearest_pair(((0.0, 0.0),)) is None
    assert nearest_pair(()) is None
