"""Which way to turn, where to pause, what to read there."""

from __future__ import annotations

import math

import pytest

from lodestring.assess.report import Assessment
from lodestring.design.workshop import Winder
from lodestring.making.winding_plan import PAPER_CLIP, mountings, pause_turns, reading, winding_plan
from lodestring.reference import coins

CRANKS = Winder(counts="cranks", turns_per_crank=5, spindle="same", pace=None)
REVERSED = Winder(counts="turns", turns_per_crank=5, spindle="reversed", pace=None)


def laid(turning: str, seen_from: str) -> str:
    """Which way the wire runs from start to finish, seen from the top plate, worked out point by point.

    A bobbin turns about z (its top plate toward +z); the wire leaves a spool that stands still at +x. The spot of the
    bobbin that lies under the wire, in the bobbin's own frame, is where the wire is being laid.
    """
    sign = 1.0 if turning == "anticlockwise" else -1.0
    if seen_from == "bottom":
        sign = -sign  # the same turning looks the other way round from behind
    spots = []
    for step in range(5):
        angle = sign * 0.1 * step  # how far the bobbin has turned, anticlockwise from the top
        spots.append(math.atan2(math.sin(-angle), math.cos(-angle)))  # the +x direction seen from the bobbin
    return "anticlockwise" if spots[-1] > spots[0] else "clockwise"


@pytest.mark.parametrize("wound", ["clockwise", "anticlockwise"])
@pytest.mark.parametrize("winder", [None, CRANKS, REVERSED], ids=["no winder", "same", "reversed"])
def test_turning_the_bobbin_as_told_lays_the_wire_as_drawn(wound: str, winder: Winder | None) -> None:
    top, bottom = mountings(wound, winder)
    assert top.facing.startswith("top plate faces you")
    assert laid(top.bobbin_turns, "top") == wound
    assert laid(bottom.bobbin_turns, "bottom") == wound


def test_a_reversed_spindle_reverses_the_crank_and_not_the_bobbin() -> None:
    for same, reverse in zip(mountings("clockwise", CRANKS), mountings("clockwise", REVERSED), strict=True):
        assert same.bobbin_turns == reverse.bobbin_turns == same.crank
        assert reverse.crank != same.crank


@pytest.mark.parametrize(
    ("turns", "winder", "text"),
    [
        (7800, CRANKS, "1 560"),  # 7800 / 5
        (7803, CRANKS, "1 560 and 3 turns more"),
        (7800, REVERSED, "7 800"),
        (980, None, "980"),
    ],
    ids=["whole cranks", "a rest", "turns", "no winder"],
)
def test_a_reading_is_in_the_winders_own_units(turns: int, winder: Winder | None, text: str) -> None:
    assert reading(turns, winder).replace("\u202f", " ") == text


@pytest.mark.parametrize("turns", [300, 1000, 1200, 7800, 7803, 12_345])
@pytest.mark.parametrize("gear", [1, 3, 5, 7])
def test_pauses_rise_to_the_last_turn_and_lie_at_whole_cranks(turns: int, gear: int) -> None:
    # common practice, no source: the winder's gear gives a whole number of turns a crank
    winder = Winder(counts="cranks", turns_per_crank=gear, spindle="same", pace=None)
    stops = pause_turns(turns, winder)
    assert stops[-1] == turns
    assert list(stops) == sorted(set(stops))
    assert all(n % gear == 0 for n in stops[:-1])
    steps = [b - a for a, b in zip((0, *stops), stops, strict=False)]
    assert max(steps) <= 1300


def test_the_winder_is_stopped_at_every_tap() -> None:
    stops = pause_turns(7800, CRANKS, (2500, 5001))
    assert {2500, 5001} <= set(stops)
    assert list(stops) == sorted(stops)


def test_the_last_pause_is_the_finished_coil(heron: Assessment) -> None:
    plan = winding_plan(heron, "bridge", "main")
    last = plan.pauses[-1]
    assert last.turns == plan.turns == 7800
    for size, key in ((last.length, "outer_length"), (last.width, "outer_width")):
        fact = heron.facts[f"pickup.bridge.coil.main.{key}"]
        assert float(size.value) == pytest.approx(1e3 * fact.number, abs=0.06)
    widths = [float(p.width.value) for p in plan.pauses]
    assert widths == sorted(widths)
    assert widths[0] > 5.0  # the core alone is 5.0 mm wide


def test_a_coil_of_seven_thousand_turns_takes_forty_to_forty_five_minutes() -> None:
    # common practice, no source; at 200 turns a minute while cranking and a minute at each of six pauses
    from lodestring.assess.blocks import PAUSE_SECONDS, pauses
    from lodestring.assess.steps import TimeIn, time_step

    assert 40.0 <= time_step(TimeIn(7000, 200 / 60, pauses(7000), PAUSE_SECONDS)) / 60.0 <= 45.0


def test_the_coins_offered_weigh_what_the_wire_is_to_be_pulled_with(heron: Assessment) -> None:
    plan = winding_plan(heron, "bridge", "main")
    grams = {coin.name: 1e3 * coin.mass.nominal for currency in ("euro", "us") for coin in coins(currency)}
    assert plan.tension.coins
    for offer in plan.tension.coins:
        count, _, name = offer.partition(" x ")
        weight = int(count) * grams[name] + 1e3 * PAPER_CLIP
        assert weight == pytest.approx(18.0, rel=0.13), offer
