"""The shopping list, spares included."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.report import Assessment
from lodestring.design.coil import Coil
from lodestring.design.fields import typed
from lodestring.making.spool_check import spool_checks


@dataclass(frozen=True, slots=True)
class Item:
    """One line: what, how many are needed, spares, and why so."""

    what: str
    needed: str
    spare: str
    note: str = ""


def shopping_list(assessment: Assessment) -> tuple[Item, ...]:
    """Everything to have on the bench before the first evening."""
    model = assessment.model
    return (*_wire(assessment), *_pole_pieces(model), *_plates(model), *_rest(model))


def _wire(assessment: Assessment) -> list[Item]:
    return [
        Item(f"wire {check.label}", f"{check.metres.text}, {check.grams.text}", "in that: 10 per cent and 20 m a coil",
             "one unbroken length for each coil")
        for check in spool_checks(assessment)
    ]  # fmt: skip


def _pole_pieces(model: Model) -> list[Item]:
    rods: Counter[str] = Counter()
    for pickup, coil in blocks.every_coil(model):
        record = blocks.coil_of(model, pickup, coil)
        body = record.poles.body
        if body is None:
            continue
        count = len(blocks.row(model, pickup, coil).centres)
        lengths = body.length if isinstance(body.length, tuple) else (body.length,) * count
        for length in lengths:
            rods[_rod(record, typed(length))] += 1
    items = [Item(what, str(n), str(spares(n)), "measure each; alnico chips") for what, n in rods.items()]
    for pickup, made in model.inputs.design.pickup.items():
        for bar in (made.bar or {}).values():
            size = " x ".join(typed(s) for s in bar.size)
            items.append(Item(f"bar magnet {bar.grade}, {size}", "1", "", f"for the {pickup} pickup"))
    return items


def spares(count: int) -> int:
    """Spare pole pieces: one in six, one at least (common practice, no source)."""
    return max(1, math.ceil(count / 6))


def _rod(record: Coil, length: str) -> str:
    body, layout = record.poles.body, record.poles.layout
    assert body is not None  # noqa: S101 - asked only for coils with pole pieces
    if body.diameter is None:
        thick = "" if layout.thickness is None else typed(layout.thickness)
        long = "" if layout.length is None else typed(layout.length)
        return f"blade {body.grade}, {long} x {thick} x {length}"
    return f"rod {body.grade}, diameter {typed(body.diameter)}, length {length}"


def _plates(model: Model) -> list[Item]:
    plates: Counter[str] = Counter()
    for pickup, coil in blocks.every_coil(model):
        plate = blocks.coil_of(model, pickup, coil).bobbin.plate
        plates[f"plate {plate.material}, {plate.length.text} x {plate.width.text} x {plate.thickness.text}"] += 2
    return [Item(what, str(n), "1", "a drill wanders once") for what, n in plates.items()]


def _rest(model: Model) -> list[Item]:
    coils = len(blocks.every_coil(model))
    items = [
        Item("eyelets", str(2 * coils), "2"),
        Item("lead-out wire, two kinds you can tell apart", f"{coils * 2} x 300 mm", "300 mm", "cloth or silicone"),
        Item("tape for the coil", f"{coils} x 0.5 m", "0.5 m", "thin; for start, splice and outside"),
    ]  # fmt: skip
    waxes = [
        p.potting for p in model.inputs.design.pickup.values() if p.potting is not None and p.potting.kind == "wax"
    ]
    if waxes:
        items.append(Item("wax, paraffin and beeswax", "300 g", "", "enough to cover a coil in a small pot"))
    return items
