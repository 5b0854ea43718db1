"""Figures against the usual band for their kind. Common practice, no source: a note, never more.

A coil's kind is the number of strings, the number of coils, the pole body and the gauge; where two rows fit, only a
figure outside both is worth a note.
"""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import blocks
from lodestring.assess.findings.say import coil_name, count, finding
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.quantity import WireSize
from lodestring.reference import CoilKind, coil_kinds, gauge_number


def kinds_of(model: Model, pickup: str, coil: str) -> tuple[CoilKind, ...]:
    """The rows of the band table that fit a coil."""
    design = model.inputs.design
    record = blocks.coil_of(model, pickup, coil)
    if record.strings is not None and len(record.strings) < len(design.instrument.strings):
        return ()
    body, frets = record.poles.body, design.instrument.frets
    gauge = gauge_of(record.wire.size)
    return tuple(
        kind
        for kind in coil_kinds()
        if kind.criteria.fit(
            len(design.instrument.strings),
            len(design.pickup[pickup].coil or {}),
            "none" if body is None else body.kind,
            record.poles.layout.kind,
            gauge,
            frets,
        )
    )


def gauge_of(size: WireSize) -> int:
    """The gauge of a wire size, the nearest one for a metric size."""
    return size.number if size.number is not None else round(gauge_number(size.diameter or 0.0))


def find(model: Model) -> Iterator[Finding]:
    """One note for each figure outside every band that fits its coil."""
    for pickup, coil in blocks.every_coil(model):
        kinds = kinds_of(model, pickup, coil)
        if not kinds:
            continue
        record = blocks.coil_of(model, pickup, coil)
        path = blocks.coil_path(pickup, coil)
        bands = [k.bands["turns"] for k in kinds]
        turns = float(record.turns)
        if bands and not any(b.low <= turns <= b.high for b in bands):
            low, high = min(b.low for b in bands), max(b.high for b in bands)
            yield finding(
                "unusual-figure",
                "note",
                f"{path}.turns",
                f"{coil_name(model, pickup, coil)} has {count(turns)} turns; usual for its kind ({kinds[0].name}) "
                f"is {count(low)} to {count(high)}",
                "fine if you mean it",
                None,
                max(low / turns, turns / high),
            )
    for pickup in model.inputs.design.pickup:
        yield from _resistance(model, pickup)


def _resistance(model: Model, pickup: str) -> Iterator[Finding]:
    record = model.inputs.design.pickup[pickup]
    coils = blocks.sides(record)
    kinds = [k for c in coils for k in kinds_of(model, pickup, c)]
    bands = [k.bands["resistance"] for k in kinds]
    if not bands or record.connect == "parallel":
        return
    key = f"pickup.{pickup}.dc_resistance"
    value = model.fact(key).number
    if any(b.low <= value <= b.high for b in bands):
        return
    low, high = min(b.low for b in bands), max(b.high for b in bands)
    yield finding(
        "unusual-figure",
        "note",
        f"{blocks.coil_path(pickup, coils[0])}.turns",
        f"the {pickup} pickup comes to {value / 1e3:.2f} kOhm; usual for its kind ({kinds[0].name}) is "
        f"{low / 1e3:.1f} to {high / 1e3:.1f} kOhm",
        "fine if you mean it",
        None,
        max(low / value, value / high),
    )
