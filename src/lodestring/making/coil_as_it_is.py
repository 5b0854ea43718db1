"""A coil with another number of turns than its set says: its figures as it is, beside those as drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.shown import shown
from lodestring.assess.store import Store
from lodestring.errors import LodestringError
from lodestring.quantity.figures import Figure, figure

ROWS = (
    ("dc_resistance", "resistance at 20 C"),
    ("inductance_1khz", "inductance at 1 kHz"),
    ("self_resonance", "resonance, nothing connected"),
    ("outer_length", "length over ends"),
    ("outer_width", "width at mid-side"),
    ("wire_length", "wire on it"),
)


@dataclass(frozen=True, slots=True)
class AsItIs:
    """One figure as drawn and as it is."""

    label: str
    drawn: Figure
    here: Figure


def with_turns(model: Model, pickup: str, coil: str, turns: int, store: Store | None = None) -> Model:
    """The same set, workshop and hand, with another number of turns on one coil; taps past them are gone.

    Raises LodestringError for no turns.
    """
    if turns < 1:
        raise LodestringError("a coil has at least one turn", f"{turns}")
    design = model.inputs.design
    record = blocks.coil_of(model, pickup, coil)
    taps = tuple(t for t in record.tap or () if t < turns) or None
    changed = record.model_copy(update={"turns": turns, "tap": taps})
    whole = design.pickup[pickup]
    coils = {**(whole.coil or {}), coil: changed}
    pickups = {**design.pickup, pickup: whole.model_copy(update={"coil": coils})}
    inputs = replace(model.inputs, design=design.model_copy(update={"pickup": pickups}))
    return Model(inputs, store if store is not None else model.store)


def as_it_is(model: Model, pickup: str, coil: str, turns: int) -> tuple[AsItIs, ...]:
    """Figures of the coil, level of its pickup and hum left in each position of the selector, both ways.

    What cannot be computed of a set is left out.
    """
    other = with_turns(model, pickup, coil, turns)
    keys = [(f"{blocks.coil_path(pickup, coil)}.{key}", label) for key, label in ROWS]
    level = model.inputs.design.intent.level
    if level is not None and level.reference != pickup:
        keys.append((f"pickup.{pickup}.level_balance", f"level against {level.reference}"))
    keys += [
        (key, f"hum left, {key.split('.')[1]}")
        for key in model.specs()
        if key.startswith("position.") and key.endswith(".hum_left")
    ]
    rows = []
    for key, label in keys:
        if key not in model.specs() or key not in other.specs():
            continue
        try:
            drawn, here = model.fact(key), other.fact(key)
        except LodestringError:
            continue  # outside what a formula can mean: no figure is better than a wrong one
        units = model.inputs.units
        rows.append(AsItIs(label, shown(drawn, units), shown(here, units)))
    change = _level_change(model, other, pickup)
    if change is not None:
        rows.insert(3, AsItIs("level, nothing connected", Figure("0", "", "dB"), figure(round(change, 1), "dB")))
    return tuple(rows)


def _level_change(model: Model, other: Model, pickup: str) -> float | None:
    """How much louder the pickup is over all its strings [dB], by volts per speed of each; None where not computed."""
    keys = [k for k in model.specs() if k.startswith(f"pickup.{pickup}.string.") and k.endswith(".output")]
    try:
        drawn, here = (
            math.fsum(float(m.specs()[k].compute(m, m.specs()[k].scope)) ** 2 for k in keys) for m in (model, other)
        )
    except LodestringError:
        return None
    return 10.0 * math.log10(here / drawn) if keys and drawn > 0.0 and here > 0.0 else None
