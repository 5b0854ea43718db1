"""Tapers against numbers worked out by hand and the properties that any track has."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.physics.taper import AUDIO, AUDIO_CURVE, END, LINEAR, REVERSE_AUDIO, Law, Taper

TRAVEL = st.floats(0.0, 1.0)
TAPERS = st.builds(Taper, st.sampled_from(Law), st.floats(0.02, 0.98), st.booleans())

# id: (taper, travel, share). Two slopes: 10 % at half travel (common practice, no source), straight to either side.
# One curve: b = 81, so quarters of travel are powers of 3: (3^n - 1) / 80.
BY_HAND = {
    "linear": (LINEAR, (0.25, 0.5, 0.75), (0.25, 0.5, 0.75)),
    "two slopes": (AUDIO, (0.25, 0.5, 0.75), (0.05, 0.1, 0.55)),
    "two slopes, 20 %": (Taper(Law.TWO_SLOPE, 0.2), (0.25, 0.5, 0.75), (0.1, 0.2, 0.6)),
    "one curve": (AUDIO_CURVE, (0.25, 0.5, 0.75), (2 / 80, 8 / 80, 26 / 80)),
    "one curve that is straight": (Taper(Law.EXPONENTIAL, 0.5), (0.25, 0.5, 0.75), (0.25, 0.5, 0.75)),
    "reverse": (REVERSE_AUDIO, (0.25, 0.5, 0.75), (0.45, 0.9, 0.95)),
}


@pytest.mark.parametrize("case", BY_HAND.values(), ids=BY_HAND.keys())
def test_a_track_has_the_share_worked_out_by_hand(case: tuple[Taper, tuple[float, ...], tuple[float, ...]]) -> None:
    taper, travel, share = case
    assert taper.share(travel) == pytest.approx(share, rel=1e-12)  # rounding of a handful of operations


@given(TAPERS)
def test_the_wiper_stops_a_millionth_of_the_track_before_either_end(taper: Taper) -> None:
    assert tuple(taper.share([0.0, 1.0])) == (END, 1.0 - END)
    assert END == 1e-6


@given(TAPERS, TRAVEL, TRAVEL)
def test_more_travel_never_means_less_track(taper: Taper, one: float, other: float) -> None:
    low, high = taper.share(sorted((one, other)))
    assert low <= high + 1e-15  # rounding where both travels are one


@given(st.sampled_from(Law), st.floats(0.02, 0.98), TRAVEL)
def test_reverse_is_the_same_track_from_its_other_end(law: Law, middle: float, travel: float) -> None:
    there, back = Taper(law, middle), Taper(law, middle, reverse=True)
    assert back.share(travel) + there.share(1.0 - travel) == pytest.approx(1.0, abs=1e-15)


@given(st.floats(0.02, 0.98))
def test_both_audio_laws_have_the_stated_share_at_half_travel(middle: float) -> None:
    for law in (Law.TWO_SLOPE, Law.EXPONENTIAL):
        assert float(Taper(law, middle).share(0.5)) == pytest.approx(middle, rel=1e-9)


def test_equal_steps_on_the_curve_are_equal_ratios() -> None:
    # b^t without its offset of 1/80
    above = AUDIO_CURVE.share(np.linspace(0.1, 0.9, 9)) + 1 / 80
    assert above[1:] / above[:-1] == pytest.approx(81**0.1, rel=1e-12)


@pytest.mark.parametrize("travel", [-0.01, 1.01, float("nan"), [0.5, 2.0]], ids=str)
def test_travel_outside_its_range_is_refused(travel: float) -> None:
    with pytest.raises(DomainError, match="travel lies between 0 and 1; came "):
        LINEAR.share(travel)


@pytest.mark.parametrize("middle", [0.0, 1.0, -0.1, float("nan")], ids=str)
def test_a_track_without_a_share_at_half_travel_is_refused(middle: float) -> None:
    with pytest.raises(DomainError, match="at half travel"):
        Taper(Law.TWO_SLOPE, middle)
