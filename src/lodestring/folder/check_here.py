"""Checking a finished coil: readings, typed or out of the book, against the coil as drawn; and what to do now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.design.vocabulary import STAGES, Stage
from lodestring.errors import DomainError, LodestringError
from lodestring.folder.open_set import open_set
from lodestring.folder.workshop_book import known_events
from lodestring.proving.measurement import Measurement, from_body, parse, quantities
from lodestring.proving.verdict import Verdict, verdict, verdict_json
from lodestring.quantity.figures import figure

FEW = 4
"""Suspects that are told."""
LEAST = 0.02
"""Below this probability a suspect is not told."""


@dataclass(frozen=True, slots=True)
class Checked:
    """A verdict, and what was passed over of the book with the reason."""

    verdict: Verdict
    passed_over: tuple[str, ...]

    def lines(self) -> tuple[str, ...]:
        """The verdict in words, as the command says it."""
        return tuple(_lines(self))

    def json(self) -> dict[str, Any]:
        """The verdict as plain data, SI."""
        return verdict_json(self.verdict)


def check_here(
    set_path: Path, coil: str, measured: tuple[str, ...] = (), stage: str = "wound", serial: str = ""
) -> Checked:
    """Check "PICKUP.COIL" of a set file.

    measured: "resistance=6.21k @ 22 C" and the like. serial: a coil of the folder's book whose readings count too.
    Raises LodestringError and its kinds.
    """
    model = open_set(set_path).model
    pickup, _, name = coil.partition(".")
    names = model.inputs.design.pickup[pickup].coil if pickup in model.inputs.design.pickup else None
    if not names or name not in names:
        every = [f"{p}.{c}" for p, record in model.inputs.design.pickup.items() for c in record.coil or {}]
        raise LodestringError("COIL must be a coil of the set", f'"{coil[:60]}"', f"one of {', '.join(every)}")
    if stage not in STAGES:
        raise LodestringError("the stage is how far the making is", f'"{stage[:20]}"', f"one of {', '.join(STAGES)}")
    reached: Stage = next(s for s in STAGES if s == stage)
    taken = [parse(text) for text in measured]
    over: list[str] = []
    if serial:
        found, over = _of_book(set_path.parent, serial)
        taken += [m for m in found if m.quantity not in {t.quantity for t in taken}]
    if not taken:
        raise LodestringError(
            "a check needs a reading", "none", 'the meter first: --measured "resistance=6.21k @ 22 C"'
        )
    return Checked(verdict(model, pickup, name, taken, reached), tuple(over))


def asked() -> tuple[tuple[str, str, str], ...]:
    """Every quantity that can be measured: name, question, how to take it, in the coach's order."""
    return tuple((a.name, a.ask, a.how) for a in quantities().values())


def _of_book(folder: Path, serial: str) -> tuple[list[Measurement], list[str]]:
    """The latest reading of each quantity of a coil, and sizes of its last check."""
    from lodestring.book.fold import fold_coil

    events = known_events(folder, serial)
    if not events:
        raise LodestringError("the coil must be in the folder's book", f'"{serial[:40]}"', "lodestring book show")
    state = fold_coil(events, serial)
    found: dict[str, Measurement] = {}
    over: list[str] = []
    for noted in state.measures:
        try:
            made = from_body(noted.body)
        except DomainError as problem:
            over.append(f"{noted.body.get('quantity', 'a reading')} of {noted.at[:10]}: {problem}")
            continue
        found[made.quantity] = made
    return list(found.values()), over


def _lines(checked: Checked) -> Iterator[str]:
    found = checked.verdict
    now = found.now
    yield now.sentence
    yield f"{'Keep the coil.' if now.keep else 'Do not go on with it as it is.'} {now.attempt}".strip()
    yield ""
    yield "suspects"
    for suspect in found.ranked[:FEW]:
        if suspect.probability >= LEAST:
            amount = f", {suspect.amount}" if suspect.amount else ""
            yield f"  {100 * suspect.probability:3.0f} %  {suspect.title}{amount}"
    yield ""
    yield "read against drawn"
    for row in found.compared:
        yield f"  {_row(row)}"
    if found.next:
        yield ""
        yield "would decide most"
        for further in found.next[:3]:
            yield f"  {further.measurement}: {further.ask} {further.how}".rstrip()
    if found.unseen:
        yield ""
        yield f"These readings cannot speak of: {', '.join(found.unseen)}."
    for line in checked.passed_over:
        yield f"passed over: {line}"


def _row(row: Any) -> str:
    reading = row.measurement
    told = reading.value if isinstance(reading.value, str) else figure(reading.value, reading.asked.unit).text
    if isinstance(row.value, str):
        drawn = row.value
    else:
        drawn = figure(row.value, reading.asked.unit, row.low, row.high).whole
    agrees = "agrees" if row.agrees else "off" if row.off is None else f"off by {abs(row.off):.1f} standard deviations"
    return f"{reading.quantity:<18}{told:<14}drawn {drawn}: {agrees}"
