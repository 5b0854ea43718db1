"""Kick, phase and hum of coils, and what the findings propose.

The witness shares nothing with the code but the words of the set file: a wire is laid out in space as the words say,
seen from the strings, and the electric field of a changing magnetic field is added up along it from start to finish.
Faraday: E = -dA/dt; an open wire shows V(finish) - V(start) = + integral of E.dl.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from functools import cache

import numpy as np
import pytest
from example_sets import BRIDGE, NECK, changed, model_of

from lodestring.assess.findings import wiring
from lodestring.assess.model import Inputs, Model
from lodestring.design.pickup_set import PickupSet
from lodestring.design.read import read_set
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text

Potential = Callable[[np.ndarray], np.ndarray]
Sense = tuple[str, str, str]  # wound, hot, end that is up
WOUND, ENDS, UP = ("clockwise", "anticlockwise"), ("start", "finish"), ("north", "south")
SENSES = tuple(itertools.product(WOUND, ENDS, UP))
MU_4PI = 1e-7


# ---- the witness ----


def wire(wound: str) -> np.ndarray:
    """One turn and a small rise, from start to finish. x to the right, y away, z toward the eye (contract 1)."""
    angle = np.linspace(0.0, 2 * np.pi, 721) * (1 if wound == "anticlockwise" else -1)
    return np.column_stack([5e-3 * np.cos(angle), 5e-3 * np.sin(angle), np.linspace(-5e-5, 0.0, 721)])


def meter(
    wound: str, hot: str, before: Callable[[np.ndarray], np.ndarray], after: Callable[[np.ndarray], np.ndarray]
) -> float:
    """Volts x seconds on a meter, red lead on hot, while the vector potential goes from `before` to `after`."""
    points = wire(wound)
    middles, steps = (points[1:] + points[:-1]) / 2, np.diff(points, axis=0)
    finish_over_start = float(np.sum(-(after(middles) - before(middles)) * steps))
    return finish_over_start if hot == "finish" else -finish_over_start


def steel_at(height: float, up: str) -> Potential:
    """Vector potential of a bit of steel over the pole piece, magnetised by the pole face's field.

    A north end is a positive pole: its field points away from it, upward above it. The steel's moment follows it.
    """
    charge = 1.0 if up == "north" else -1.0
    moment = charge / (height + 1e-3) ** 2

    def potential(at: np.ndarray) -> np.ndarray:
        r = at - np.array([0.0, 0.0, height])
        across = np.column_stack([-r[:, 1], r[:, 0], np.zeros(len(r))])  # z x r
        return MU_4PI * moment * across / np.linalg.norm(r, axis=1)[:, None] ** 3

    return potential


def uniform(field: float) -> Potential:
    """Vector potential of a uniform field along z."""
    return lambda at: field / 2 * np.column_stack([-at[:, 1], at[:, 0], np.zeros(len(at))])


@cache
def kick(sense: Sense) -> int:
    """Sign on the meter when steel is pulled off a pole piece."""
    wound, hot, up = sense
    return int(np.sign(meter(wound, hot, steel_at(1e-3, up), steel_at(20e-3, up))))


@cache
def hum(wound: str, hot: str) -> int:
    """Sign on the meter while a mains field grows upward."""
    return int(np.sign(meter(wound, hot, uniform(0.0), uniform(1e-6))))


@cache
def of_kept(up: str, sign: str) -> Sense:
    """A way to wind a coil with this end up that kicks as the kept pickup does."""
    return next(s for s in SENSES if s[2] == up and kick(s) == (1 if sign == "plus" else -1))


def sense_in(design: PickupSet, name: str) -> Sense:
    """What the set says of a coil or of a kept pickup."""
    pickup, _, coil = name.partition(".")
    record = design.pickup[pickup]
    if record.measured is not None:
        return of_kept(record.measured.up, record.measured.kick)
    found = (record.coil or {})[coil]
    return found.wound, found.hot, str(found.poles.up)


def hum_cancels(design: PickupSet, pair: tuple[str, str]) -> bool:
    (w1, q1, _), (w2, q2, _) = (sense_in(design, n) for n in pair)
    return hum(w1, q1) + hum(w2, q2) == 0


def in_phase(design: PickupSet, pair: tuple[str, str]) -> bool:
    one, other = (sense_in(design, n) for n in pair)
    return kick(one) == kick(other)


# ---- kick ----


def spoken(coil: str, sense: Sense) -> dict[str, str]:
    wound, hot, up = sense
    return {f"{coil}.wound": f'"{wound}"', f"{coil}.hot": f'"{hot}"', f"{coil}.poles.up": f'"{up}"'}


@pytest.mark.parametrize("sense", SENSES, ids=" ".join)
def test_the_kick_is_faradays(sense: Sense) -> None:
    assert (
        model_of("heron", spoken(BRIDGE, sense)).fact(f"{BRIDGE}.kick").value == {1: "plus", -1: "minus"}[kick(sense)]
    )


@pytest.mark.parametrize(("magnetised", "up"), [("+z", "north"), ("-z", "south")])
@pytest.mark.parametrize("wound", WOUND)
def test_steel_pole_pieces_kick_as_the_bar_under_them_says(magnetised: str, up: str, wound: str) -> None:
    # A magnet's magnetisation points from its south to its north end inside it, so +z has the north end up.
    coil = "pickup.main.coil.front"
    model = model_of("plover", {"pickup.main.bar.front.magnetised": f'"{magnetised}"', f"{coil}.wound": f'"{wound}"'})
    assert model.fact(f"{coil}.kick").value == {1: "plus", -1: "minus"}[kick((wound, "finish", up))]


def test_a_row_of_mixed_polarity_has_no_one_kick() -> None:
    up = '["north", "south", "north", "north", "north", "north"]'
    assert f"{BRIDGE}.kick" not in model_of("heron", {f"{BRIDGE}.poles.up": up}).specs()


# ---- pairs ----

PAIR = ("bridge.main", "neck.main")


def found(model: Model) -> dict[str, Mapping[str, str] | None]:
    """Findings on pairs, with their changes."""
    return {f.code: f.change for f in wiring.find(model) if f.code != "unequal-turns"}


@pytest.mark.parametrize("one", SENSES, ids=" ".join)
@pytest.mark.parametrize("other", SENSES, ids=" ".join)
def test_a_pair_is_judged_as_its_wires_in_space_behave(one: Sense, other: Sense) -> None:
    design = changed("heron", {**spoken(BRIDGE, one), **spoken(NECK, other)})
    codes = found(Model(Inputs(design)))
    assert ("hum-adds" in codes) == (not hum_cancels(design, PAIR))
    assert ("out-of-phase" in codes) == (not in_phase(design, PAIR))


def cured(text: str, change: Mapping[str, str] | None) -> PickupSet:
    assert change is not None
    return read_set(apply_changes(text, change).encode()).record


INTENTS = {
    "cancel hum": {},
    "cancel hum, wanted out of phase": {"intent.out_of_phase": '[["bridge.main", "neck.main"]]'},
    "nothing said": {"intent.cancel_hum": "[]"},
    "only wanted out of phase": {
        "intent.cancel_hum": "[]",
        "intent.out_of_phase": '[["bridge.main", "neck.main"]]',
    },
}


@pytest.mark.parametrize("intent", INTENTS.values(), ids=INTENTS.keys())
@pytest.mark.parametrize("other", SENSES, ids=" ".join)
def test_each_proposed_change_alone_makes_the_pair_what_it_is_meant_to_be(other: Sense, intent: dict[str, str]) -> None:
    text = apply_changes(example_text("heron"), {**spoken(NECK, other), **intent})
    design = read_set(text.encode()).record
    cancel, apart = bool(design.intent.cancel_hum), bool(design.intent.out_of_phase)

    def as_meant(d: PickupSet) -> bool:
        return (not cancel or hum_cancels(d, PAIR)) and in_phase(d, PAIR) != apart

    proposals = found(Model(Inputs(design)))
    assert bool(proposals) == (not as_meant(design))
    for code, change in proposals.items():
        better = cured(text, change)
        assert as_meant(better), code
        assert not found(Model(Inputs(better))), code


@pytest.mark.parametrize("sign", ["plus", "minus"])
@pytest.mark.parametrize("up", UP)
def test_a_new_coil_beside_a_kept_pickup_is_judged_by_the_kept_ones_kick(up: str, sign: str) -> None:
    kept = {"pickup.neck.measured.up": f'"{up}"', "pickup.neck.measured.kick": f'"{sign}"'}
    text = apply_changes(example_text("heron-neck-kept"), kept)
    design, pair = read_set(text.encode()).record, ("bridge.main", "neck")
    proposals = found(Model(Inputs(design)))
    assert ("hum-adds" in proposals) == (not hum_cancels(design, pair))
    assert ("out-of-phase" in proposals) == (not in_phase(design, pair))
    for change in proposals.values():
        assert change is not None
        assert all(key.startswith("pickup.bridge.") for key in change), "the kept pickup is not opened"
        better = cured(text, change)
        assert hum_cancels(better, pair)
        assert in_phase(better, pair)


def test_the_coils_of_a_pair_over_opposite_bars_cancel_hum_and_stay_in_phase() -> None:
    senses = {"front": ("clockwise", "finish", "north"), "rear": ("anticlockwise", "finish", "south")}  # bars +z, -z
    assert kick(senses["front"]) == kick(senses["rear"])
    assert hum(*senses["front"][:2]) == -hum(*senses["rear"][:2])
    assert not found(model_of("plover"))
    turned = found(model_of("plover", {"pickup.main.bar.rear.magnetised": '"+z"'}))
    assert set(turned) == {"out-of-phase"}


# ---- equal turns ----


def test_unequal_turns_of_a_cancelling_pair_are_noted_and_the_change_makes_them_equal() -> None:
    # only without a harness: with one, each position's own hum is worked out instead
    assert not [f for f in wiring.find(model_of("heron")) if f.code == "unequal-turns"]
    text = apply_changes(example_text("heron"), {"harness": None})
    (note,) = (f for f in wiring.find(model_of("heron", {"harness": None})) if f.code == "unequal-turns")
    better = cured(text, note.change)
    turns = {(p, c): coil.turns for p, pickup in better.pickup.items() for c, coil in (pickup.coil or {}).items()}
    assert set(turns.values()) == {7400}
