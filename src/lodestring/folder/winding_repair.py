"""An old coil that is unwound: what was noted on the way, read from the book, and what the coil was."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.book.fold import CoilState, Noted
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book
from lodestring.folder.winding_set import begun
from lodestring.making.cards import Card, cards
from lodestring.making.old_coil import OldCoil, WhatItWas, what_it_was
from lodestring.quantity import Kind, read

# What is asked of an old coil: the `quantity` of a `measure` event, its kind, and how to take it.
ASKED: Mapping[str, tuple[Kind | None, str]] = {
    "resistance": (Kind.RESISTANCE, "before anything is cut: at its two leads, coil cool"),
    "unwound": (None, "which way the bobbin turns while the wire comes off, seen from its top plate"),
    "wire_overall": (Kind.LENGTH, "a micrometer over the enamelled wire, at five places"),
    "wire_bare": (Kind.LENGTH, "the same where the enamel is off"),
    "wire_mass": (Kind.MASS, "everything that came off, in a cup on the scale"),
    "ohm_per_metre": (Kind.RESISTANCE_PER_LENGTH, "ohms of 10 m of it, divided by ten"),
    "mean_turn": (Kind.LENGTH, "a strip of paper round the coil, half way into its depth"),
}
WAYS = ("clockwise", "anticlockwise")
_FIELDS = {
    "wire_overall": "overall",
    "wire_bare": "bare",
    "wire_mass": "mass",
    "ohm_per_metre": "ohm_per_metre",
    "resistance": "resistance",
    "mean_turn": "mean_turn",
}


@dataclass(frozen=True, slots=True)
class RepairReport:
    """What the old coil was, what could still be asked, and the card that goes with the work."""

    serial: str
    turns: int
    was: WhatItWas
    ask: tuple[tuple[str, str], ...]
    start_and_finish: tuple[str, ...]
    card: Card


def repair_report(book: Book, serial: str) -> RepairReport:
    """What an unwound coil was. Raises BookProblem for one that is being wound."""
    state = begun(book, serial)
    if not (state.begun or {}).get("unwind"):
        raise BookProblem("this is asked of a coil that is unwound", f"{serial}, which is being wound")
    found = _noted(state.measures)
    values = {field: found[name] for name, field in _FIELDS.items() if isinstance(found.get(name), float)}
    low, high = _range(state)
    seen = OldCoil(
        turns=float(state.turns) if state.turns > 0 else None,
        turns_half=(high - low) / 2.0,
        unwound=str(found.get("unwound", "")),
        **values,
    )
    return RepairReport(
        serial,
        state.turns,
        what_it_was(seen),
        tuple((name, words) for name, (_, words) in ASKED.items() if name not in found),
        tuple(_ends(state.wire_ends)),
        cards()["unwinding"],
    )


def repair_body(quantity: str, text: str) -> dict[str, Any]:
    """Body of the `measure` event for one of ASKED, from what was typed. Raises QuantityError, BookProblem."""
    if quantity not in ASKED:
        raise BookProblem("what is noted of an old coil is one of a few things", f'"{quantity[:40]}"', ", ".join(ASKED))
    kind = ASKED[quantity][0]
    if kind is None:
        if text not in WAYS:
            raise BookProblem(
                "the bobbin turns one of two ways, seen from its top", f'"{text[:40]}"', " or ".join(WAYS)
            )
        return {"quantity": quantity, "value": text}
    found = read(text, kind)
    half = {} if found.half_width is None else {"half_width": found.half_width}
    return {"quantity": quantity, "value": found.value, "unit": kind.si_unit, **half}


def _noted(measures: Iterable[Noted]) -> dict[str, Any]:
    """The last value of each quantity: numbers as floats."""
    found: dict[str, Any] = {}
    for noted in measures:
        value = noted.body.get("value")
        name = str(noted.body["quantity"])
        found[name] = float(value) if isinstance(value, int | float) and value > 0 else value
    return found


def _range(state: CoilState) -> tuple[int, int]:
    base = state.base or {}
    if base.get("why") != "estimate" or base.get("low") is None or base.get("high") is None:
        return state.turns, state.turns
    return int(base["low"]), int(base["high"])


def _ends(noted: Iterable[Noted]) -> Iterable[str]:
    for n in noted:
        words = str(n.body.get("text", ""))
        yield f"{n.body['end']} wire" + (f": {words}" if words else "")
