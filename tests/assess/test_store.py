"""What is kept and what runs again. The table says it for the maker's usual changes (contract 3)."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import pytest
from example_sets import BRIDGE, model_of, workshop

from lodestring.assess.model import Fact, Model, Value
from lodestring.assess.report import Assessment
from lodestring.assess.store import Store
from lodestring.design.learned import Hand, Learned


@dataclass(frozen=True)
class Changed:
    """What is changed in heron or its workshop, and the steps that must run again: those and no other."""

    steps: frozenset[str]
    keys: tuple[tuple[str, str], ...] = ()
    shop: tuple[tuple[str, str], ...] = ()
    hand: Hand | None = None


def steps(*names: str) -> frozenset[str]:
    return frozenset(f"{name}_step" for name in names)


TABLE = {
    "the title": Changed(steps(), keys=(("title", '"Heron the second"'),)),
    "what is meant": Changed(steps(), keys=(("intent.cancel_hum", "[]"),)),
    "which end is hot": Changed(steps(), keys=((f"{BRIDGE}.hot", '"start"'),)),
    "the turns": Changed(steps("copper", "time"), keys=((f"{BRIDGE}.turns", "7700"),)),
    "the wire's size": Changed(steps("stretch", "copper"), keys=((f"{BRIDGE}.wire.size", '"43 AWG"'),)),
    "the film": Changed(steps("copper"), keys=((f"{BRIDGE}.wire.film", '"heavy"'),)),
    "the tension": Changed(steps("stretch", "copper"), keys=((f"{BRIDGE}.tension", '"15 gf"'),)),
    "the window": Changed(steps("copper"), keys=((f"{BRIDGE}.bobbin.window", '"10.4 mm"'),)),
    "the rods": Changed(steps("row", "copper"), keys=((f"{BRIDGE}.poles.body.diameter", '"5 mm"'),)),
    "the nut's span": Changed(steps("crossings", "row", "copper"), keys=(("instrument.nut.span", '"37 mm"'),)),
    "the pickup's place": Changed(steps("crossings", "row", "copper"), keys=(("pickup.bridge.place", '"50 mm"'),)),
    "a string's gauge": Changed(steps("crossings"), keys=(("instrument.strings.1.diameter", '"0.013 in"'),)),
    "a string's note": Changed(steps(), keys=(("instrument.strings.1.note", '"C4"'),)),
    "the housing's width": Changed(steps(), keys=(("pickup.bridge.housing.width", '"20 mm"'),)),
    "the plates' width": Changed(steps(), keys=((f"{BRIDGE}.bobbin.plate.width", '"17 mm"'),)),
    "the room": Changed(steps(), shop=(("room", '"25 C"'),)),
    "the pace": Changed(steps("time"), shop=(("winder.geared.pace", '"180 /min"'),)),
    "the hand": Changed(steps("copper"), hand=Hand(packing=Learned(0.68, 0.03, 6))),
}


MAGNETIC = ("inductance", "hum_", "pole_", "level_", ".string.", "position.", "capacitance", "resonance", "q_unloaded")


def of_copper(assessment: Assessment) -> dict[str, Fact]:
    """Every fact that asks for no magnetic solve and no circuit, with its interval."""
    return {key: assessment.facts[key] for key in assessment.facts if not any(word in key for word in MAGNETIC)}


def of_magnets(model: Model) -> dict[str, Value]:
    """Some magnetic numbers without intervals: the bridge coil's inductances, and string 2 over the bridge."""
    coil, string = f"{BRIDGE}.", "pickup.bridge.string.2."
    keys = [f"{coil}inductance_air", f"{coil}inductance", f"{coil}hum_sensitivity", f"{string}output", f"{string}pull"]
    return {key: model.specs()[key].compute(model, model.specs()[key].scope) for key in keys}


@pytest.mark.parametrize("change", TABLE.values(), ids=TABLE.keys())
def test_exactly_the_steps_run_again_that_a_change_touches(change: Changed) -> None:
    store = Store()
    of_copper(Assessment(model_of("heron", store=store, workshop=workshop())))
    store.runs.clear()
    changed = model_of("heron", dict(change.keys), store=store, workshop=workshop(dict(change.shop)), hand=change.hand)
    of_copper(Assessment(changed))
    assert {name for name in store.runs if name.endswith("_step")} == change.steps


COIL_STEPS = {"air_step", "response_step"}
STRING_STEPS = {"line_fields", "string_result"}
POLE_STEPS = {"magnets_step", "poles_step", "table_step"}
MAGNETIC_TABLE = {
    "the title": (set(), ("title", '"Heron the second"')),
    "the tension, by a little": (COIL_STEPS | STRING_STEPS, (f"{BRIDGE}.tension", '"15 gf"')),
    "the turns": (COIL_STEPS | STRING_STEPS, (f"{BRIDGE}.turns", "7700")),
    "a string's gauge": (STRING_STEPS, ("instrument.strings.2.diameter", '"0.017 in"')),
    "the gap": (STRING_STEPS, ("pickup.bridge.gap.first", '"2.0 mm"')),
    "a string's note": (set(), ("instrument.strings.2.note", '"G3"')),
    "the window": (COIL_STEPS | STRING_STEPS | {"table_step"}, (f"{BRIDGE}.bobbin.window", '"10.4 mm"')),
    "which end is up": (STRING_STEPS | {"magnets_step"}, (f"{BRIDGE}.poles.up", '"north"')),
    "the rods": (COIL_STEPS | STRING_STEPS | POLE_STEPS, (f"{BRIDGE}.poles.body.diameter", '"5 mm"')),
    "the rods' length": (
        {"response_step"} | STRING_STEPS | POLE_STEPS,
        (f"{BRIDGE}.poles.body.length", '"16 mm"'),
    ),
    "the neck coil": (set(), ("pickup.neck.coil.main.turns", "7000")),
}


@pytest.mark.parametrize(("expected", "change"), MAGNETIC_TABLE.values(), ids=MAGNETIC_TABLE.keys())
def test_exactly_the_magnetic_steps_run_again_that_a_change_touches(
    expected: set[str], change: tuple[str, str]
) -> None:
    store = Store()
    of_magnets(model_of("heron", store=store))
    store.runs.clear()
    of_magnets(model_of("heron", dict([change]), store=store))
    watched = COIL_STEPS | STRING_STEPS | POLE_STEPS
    assert set(store.runs) & watched == expected


def test_the_same_set_again_runs_nothing() -> None:
    store = Store()
    first = of_copper(Assessment(model_of("heron", store=store)))
    magnets = of_magnets(model_of("heron", store=store))
    store.runs.clear()
    assert of_copper(Assessment(model_of("heron", store=store))) == first
    assert of_magnets(model_of("heron", store=store)) == magnets
    assert store.runs == Counter()


def test_only_the_changed_coil_is_reckoned_again() -> None:
    # Turns of one coil: its time once as it is and once at each end of the pace.
    store = Store()
    of_copper(Assessment(model_of("heron", store=store)))
    store.runs.clear()
    of_copper(Assessment(model_of("heron", {f"{BRIDGE}.turns": "7700"}, store=store)))
    assert store.runs["time_step"] == 3


@pytest.mark.parametrize("change", TABLE.values(), ids=TABLE.keys())
def test_what_is_kept_gives_the_same_figures_as_a_fresh_start(change: Changed) -> None:
    store = Store()
    of_copper(Assessment(model_of("heron", store=store, workshop=workshop())))
    given = {"workshop": workshop(dict(change.shop)), "hand": change.hand}
    warm = Assessment(model_of("heron", dict(change.keys), store=store, **given))
    cold = Assessment(model_of("heron", dict(change.keys), **given))
    assert of_copper(warm) == of_copper(cold)
    assert warm.findings == cold.findings
    for key in of_copper(cold):
        assert warm.model.influences(key) == cold.model.influences(key)


# ---- the store itself ----


def numbers_step(n: int) -> np.ndarray:
    return np.full(1000, float(n))  # 8,000 bytes


def test_a_store_never_holds_more_than_its_limit() -> None:
    store = Store(limit=100_000)
    for n in range(200):
        store.kept(numbers_step, n)
        assert store.size <= 100_000
    held = [n for n in range(200) if _is_kept(store, n)]
    assert held == list(range(held[0], 200)), "the oldest went first"
    assert 5 <= len(held) <= 12  # 8,000 bytes each and some for the key


def _is_kept(store: Store, n: int) -> bool:
    """Looks without asking, so that nothing is pushed out."""
    return any(record == n for (_, record) in store._kept)


def test_what_was_asked_for_lately_stays() -> None:
    store = Store(limit=100_000)
    for n in range(200):
        store.kept(numbers_step, n)
        store.kept(numbers_step, 0)
    assert store.runs["numbers_step"] == 200


def test_kept_arrays_cannot_be_written_to() -> None:
    kept = Store().kept(numbers_step, 3)
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 1.0


def test_a_numpy_scalar_can_be_kept() -> None:
    def root_step(x: float) -> np.float64:
        return np.sqrt(np.float64(x))

    assert Store().kept(root_step, 2.0) == pytest.approx(2**0.5)


def test_two_functions_of_one_name_are_kept_apart() -> None:
    def numbers_step(n: int) -> str:
        return "another"

    store = Store()
    store.kept(globals()["numbers_step"], 1)
    assert store.kept(numbers_step, 1) == "another"
