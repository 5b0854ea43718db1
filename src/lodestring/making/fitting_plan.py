"""Fitting: what each string should give over each pickup once it sits at its starting height, string against string."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import magnet_facts, string_blocks
from lodestring.assess.report import Assessment
from lodestring.quantity.figures import Figure, figure


@dataclass(frozen=True, slots=True)
class StringExpected:
    """One string over one pickup, at rest: level against the mean of the pickup's strings, field, pull, beating."""

    number: int
    note: str
    balance: Figure
    field: Figure
    pull: Figure
    beat: Figure


@dataclass(frozen=True, slots=True)
class Heard:
    """All strings over one pickup."""

    pickup: str
    strings: tuple[StringExpected, ...]


def heard_strings(assessment: Assessment) -> tuple[Heard, ...]:
    """Every pickup whose strings can be computed. Values alone: the intervals stand with the facts."""
    model = assessment.model
    out = []
    for pickup, record in model.inputs.design.pickup.items():
        if not record.coil or not magnet_facts.is_heard(model, (pickup,)):
            continue
        rows = []
        for index in string_blocks.served(model, pickup):
            number, string = index + 1, model.inputs.design.instrument.strings[index]
            scope = (pickup, str(number))
            level, pull = magnet_facts.balance(model, scope), magnet_facts.pull(model, scope)
            field, beat = magnet_facts.field(model, scope), magnet_facts.beat(model, scope)
            rows.append(
                StringExpected(
                    number,
                    string.note.name,
                    figure(level, "dB", level - 1.0, level + 1.0),
                    figure(field, "T", field - 1e-3, field + 1e-3),
                    figure(pull, "N", pull - 0.5e-3, pull + 0.5e-3, assessment.units),
                    figure(beat, "Hz", beat - 0.05, beat + 0.05),
                )
            )
        out.append(Heard(pickup, tuple(rows)))
    return tuple(out)
