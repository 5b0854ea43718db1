"""Which coils go together, against the worked example of the physics page, section 3."""

from __future__ import annotations

import math

import pytest
from coil_sets import A1_PACKING, a1

from lodestring.errors import DomainError
from lodestring.proving.forward import forward
from lodestring.proving.match import Finished, finished, hum_left, match, turns_to_take_off
from lodestring.proving.posterior import fit
from lodestring.proving.spreads import Spread, changed

# resistance, inductance, what the pole pieces add to the moment (all worked out there); outer half-width
ONE = Finished("one", 7600, 0.001, 52e-3, 3.2e-3, 3.6e-3, 10.5e-3, 1.27812 / 7600, 5602.97, 2.36282)
TWO = Finished("two", 8100, 0.001, 52e-3, 3.2e-3, 3.8368e-3, 10.5e-3, (6.35930 - 5.00961) / 8100, 6004.39, 2.68540)


def test_the_moments_are_those_of_the_page() -> None:
    assert ONE.moment == pytest.approx(5.85281, abs=2e-5)
    assert TWO.moment == pytest.approx(6.35930, abs=2e-4)  # its outer half-width is printed to 0.1 um


LEFT = {  # connection, frequency, load: dB
    "series": ("series", 50.0, None, -21.98),
    "parallel at 50 Hz": ("parallel", 50.0, None, -42.89),
    "parallel at 60 Hz": ("parallel", 60.0, None, -42.62),
    "parallel at 1 kHz": ("parallel", 1000.0, None, -33.83),
    "parallel into 111 k": ("parallel", 50.0, 111.11e3, -42.65),
}


@pytest.mark.parametrize(("connection", "frequency", "load", "wanted"), LEFT.values(), ids=LEFT)
def test_hum_left_by_unequal_turns_is_that_of_the_page(
    connection: str, frequency: float, load: float | None, wanted: float
) -> None:
    # the parallel null is a small difference: 1e-4 of a moment is 0.1 dB there
    tolerance = 0.02 if connection == "series" else 0.35
    left = hum_left(ONE, TWO, connection, load, frequency)  # type: ignore[arg-type]
    assert left == pytest.approx(wanted, abs=tolerance)


def test_equal_turns_cancel_in_series_and_unequal_ones_may_in_parallel() -> None:
    assert hum_left(ONE, ONE) == -120.0
    assert hum_left(ONE, TWO, "parallel") < hum_left(ONE, TWO, "series") - 15.0


def test_a_coil_worked_out_by_the_model_has_the_moment_of_the_page() -> None:
    for turns, wanted in ((7600, 5.85281), (8100, 6.35930)):
        of = forward(a1(turns, f"{A1_PACKING:.6f}"), "bridge", "main")
        mu_4 = changed(of.spreads, Spread("permeability", 4.0, 0.01), Spread("stretch", 1e-6, 0.01))
        coil = finished("x", of, fit(of, mu_4, ()))
        assert coil.moment == pytest.approx(wanted, rel=4e-3)  # moment and inductance follow mu alike to some per mille
        assert coil.resistance == pytest.approx(5602.97 if turns == 7600 else 6004.39, rel=1e-4)
        assert coil.inductance == pytest.approx(2.36282 if turns == 7600 else 2.68540, rel=3e-4)


def test_turns_off_the_outside_bring_one_coil_of_the_page_to_the_other() -> None:
    assert TWO.with_turns(7600).moment == pytest.approx(ONE.moment, rel=5e-4)
    assert TWO.with_turns(7600).resistance == pytest.approx(ONE.resistance, rel=2e-4)
    assert TWO.with_turns(7600).inductance == pytest.approx(ONE.inductance, rel=2e-3)  # L / N^2 is nearly constant


def test_it_says_how_many_turns_to_take_off_which_coil() -> None:
    found = turns_to_take_off(ONE, TWO, -40.0)
    assert found.coil == "two"
    assert found.turns == pytest.approx(500, abs=3)
    # what is left goes as the difference: from -21.98 dB to -40 is an eighth of 500 turns
    assert found.fewest == pytest.approx(500 * (1 - 10 ** (-40 / 20) / 10 ** (-21.98 / 20)), abs=6)
    assert hum_left(ONE, TWO.with_turns(8100 - found.fewest)) <= -40.0
    assert hum_left(ONE, TWO.with_turns(8100 - found.fewest + 1)) > -40.0
    assert "two" in found.sentence


def test_what_is_not_known_of_the_turns_limits_what_can_be_promised() -> None:
    rough = [Finished(**{**{n: getattr(c, n) for n in Finished.__slots__}, "turns_sd": 0.01}) for c in (ONE, TWO)]
    found = turns_to_take_off(rough[0], rough[1], -40.0)
    assert found.worst == pytest.approx(20 * math.log10(1.645 * 0.01 * math.sqrt(2)), abs=0.5)
    assert "not known well enough" in found.sentence


def test_a_goal_already_reached_asks_for_nothing() -> None:
    found = turns_to_take_off(ONE, TWO, -20.0)
    assert found.fewest == 0
    assert "enough" in found.sentence


def test_of_three_coils_the_two_that_are_alike_go_together() -> None:
    third = ONE.with_turns(7640)
    third = Finished(**{**{n: getattr(third, n) for n in Finished.__slots__}, "name": "three"})
    pairs = match([ONE, TWO, third])
    assert {pairs[0].one, pairs[0].other} == {"one", "three"}
    assert pairs[0].series < -40.0
    assert pairs[0].worst > pairs[0].series
    assert len(pairs) == 3
    assert next(p.level for p in pairs if {p.one, p.other} == {"one", "two"}) == pytest.approx(
        20 * math.log10(8100 / 7600)
    )


@pytest.mark.parametrize("goal", [0.0, 10.0, math.nan])
def test_a_goal_that_is_none_is_refused(goal: float) -> None:
    with pytest.raises(DomainError):
        turns_to_take_off(ONE, TWO, goal)


def test_two_coils_of_one_name_are_refused() -> None:
    with pytest.raises(DomainError):
        match([ONE, ONE])
