"""The three measurements that matter most for a set, found by running the model at both ends of each input.

An input's weight is the share of a figure's interval (in squares, as the intervals are made) that it alone makes, times
how unsettled the figure is, added up over the figures a maker looks at first. Room to spare is unsettled where its
interval reaches nothing; other figures where it reaches 15 per cent or 2 dB to one side. Only what a person can measure
before winding counts: values of the set file, the wire and the tape; not the hand's habits, which take a finished coil,
nor catalogue figures of materials.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.model import Fact, Influence
from lodestring.assess.report import Assessment
from lodestring.assess.shown import show_number
from lodestring.folder.labels import label_of, table

COIL_FIGURES = (
    "dc_resistance",
    "coil_depth_side",
    "clearance_plate_side",
    "clearance_housing_end",
    "clearance_housing_side",
    "inductance",
)
PICKUP_FIGURES = ("level_balance", "clearance_depth")
MEASURED = ("instrument.", "pickup.", "harness.", "wire.", "tape")
NOT_FIELDS = {"tape": "outer tape", "bare": "thickness of the wire", "film": "thickness of the enamel"}


@dataclass(frozen=True, slots=True)
class Measurement:
    """Something to measure: its key paths (or names of inputs), label, what to do, and the figure it moves most.

    `share` of that figure's interval is from 0 to 1; `low` and `high` are the figure with the input at its ends.
    """

    paths: tuple[str, ...]
    label: str
    todo: str
    figure: str
    key: str
    share: float
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class _Weight:
    share: float
    unsettled: float
    key: str
    influence: Influence


def sensitive(assessment: Assessment, n: int = 3) -> tuple[Measurement, ...]:
    """The `n` measurements that would narrow the main figures most, the weightiest first; fewer where there are not
    as many. Runs the magnetic model."""
    found: dict[tuple[str, str], list[_Weight]] = {}
    for key in _figures(assessment):
        for weight in _weights(assessment, key):
            named = weight.influence.input
            found.setdefault((named.narrow, _ending(named.name)), []).append(weight)
    ranked = sorted(found.items(), key=lambda item: -sum(w.share * w.unsettled for w in item[1]))
    return tuple(_measurement(assessment, todo, weights) for (todo, _), weights in ranked[:n])


def _figures(assessment: Assessment) -> Iterator[str]:
    model = assessment.model
    for pickup, coil in blocks.every_coil(model):
        for name in COIL_FIGURES:
            key = f"{blocks.coil_path(pickup, coil)}.{name}"
            if key in assessment.facts:
                yield key
    for pickup in model.inputs.design.pickup:
        for name in PICKUP_FIGURES:
            if f"pickup.{pickup}.{name}" in assessment.facts:
                yield f"pickup.{pickup}.{name}"


def _weights(assessment: Assessment, key: str) -> Iterator[_Weight]:
    moves = [(i, (i.at_high - i.at_low) ** 2) for i in assessment.model.influences(key)]
    whole = sum(move for _, move in moves)
    open_still = _unsettled(assessment.facts[key])
    for influence, move in moves:
        named = influence.input
        if named.narrow and named.name.startswith(MEASURED) and whole > 0.0:
            yield _Weight(move / whole, open_still, key, influence)


def _unsettled(fact: Fact) -> float:
    """From 0, known well enough, to 1."""
    half = ((fact.high or 0.0) - (fact.low or 0.0)) / 2.0
    room = "clearance" in fact.key
    enough = 2.0 if fact.unit == "dB" else abs(fact.number) * (1.0 if room else 0.15)
    return min(1.0, half / enough) if enough else 1.0


def _ending(name: str) -> str:
    """Inputs of the same kind on two coils are one measurement."""
    return name.rpartition(".")[2]


def _measurement(assessment: Assessment, todo: str, weights: list[_Weight]) -> Measurement:
    most = max(weights, key=lambda w: w.share * w.unsettled)
    names = tuple(dict.fromkeys(w.influence.input.name for w in weights))
    fact = assessment.facts[most.key]
    fine = abs(most.influence.at_high - most.influence.at_low) / 20.0
    ends, units = sorted((most.influence.at_low, most.influence.at_high)), assessment.units.decimals
    low, high = (show_number(most.key, v, fact.unit, v - fine, v + fine, units).text for v in ends)
    name = most.influence.input.name
    plain = NOT_FIELDS.get(_ending(name))
    data = assessment.model.inputs.design.model_dump(exclude_none=True)
    return Measurement(
        names, plain or label_of(name, data), todo, figure_label(most.key), most.key, most.share, low, high
    )


def figure_label(key: str) -> str:
    """A figure in words, its coil or pickup named."""
    above, _, name = key.rpartition(".")
    for group in table()["figures"]:
        if _fits(group["of"], above):
            label = group["show"].get(name) or group.get("more", {}).get(name)
            if label:
                parts = above.split(".")
                return f"{label}, {parts[1]}" if len(parts) > 1 else str(label)
    return key


def _fits(of: str, above: str) -> bool:
    want, have = of.split("."), above.split(".")
    return len(want) == len(have) and all(w.isupper() or w == h for w, h in zip(want, have, strict=True))
