"""Two coils of the book side by side: what was wound and what was measured, with the difference."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.book.fold import CoilState
from lodestring.book.store import Book
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_measured import Measured, measured, sizes
from lodestring.folder.winding_pace import pace_of
from lodestring.folder.winding_set import WoundSet
from lodestring.folder.winding_stages import stage_of
from lodestring.making.winding_plan import grouped
from lodestring.quantity.figures import figure

HAND = 0.08
"""Two coils of one hand differ by 5 to 8 per cent in resistance (trade.md, common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One line: both, and the second against the first, "" where they cannot be set against each other."""

    label: str
    a: str
    b: str
    difference: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two coils side by side; `words`: what to know of it."""

    a: str
    b: str
    rows: tuple[ComparedRow, ...]
    words: tuple[str, ...]


def compare_coils(book: Book, a: str, b: str) -> Comparison:
    """Two coils of the book. Raises BookProblem for one it does not have."""
    one, two = (wound(book, serial) for serial in (a, b))
    rows = [*_wound(one, two), *_measured(book, one, two)]
    return Comparison(a, b, tuple(rows), tuple(_words(one, two)))


def _wound(one: tuple[CoilState, WoundSet], two: tuple[CoilState, WoundSet]) -> Iterator[ComparedRow]:
    yield ComparedRow("set", _set(one[1]), _set(two[1]))
    yield ComparedRow("wire", _wire(one[1]), _wire(two[1]))
    yield ComparedRow("wound", _way(one[1]), _way(two[1]))
    turns = one[0].turns, two[0].turns
    yield ComparedRow("turns", grouped(turns[0]), grouped(turns[1]), _signed(turns[1] - turns[0]))
    yield ComparedRow("spool", one[1].spool, two[1].spool)
    yield ComparedRow("stage", stage_of(one[0]), stage_of(two[0]))
    yield ComparedRow("splices", _splices(one[0]), _splices(two[0]))


def _measured(book: Book, one: tuple[CoilState, WoundSet], two: tuple[CoilState, WoundSet]) -> Iterator[ComparedRow]:
    paces = [pace_of(book.events(coil=s.serial), s.voided).cranking for s, _ in (one, two)]
    if any(p is not None for p in paces):
        texts = ["" if p is None else f"{60.0 * p:.0f} turns a minute" for p in paces]
        yield ComparedRow("pace", texts[0], texts[1], _per_cent(paces[0], paces[1]))
    found = [{m.label: m for m in (*sizes(s), *measured(s))} for s, _ in (one, two)]
    for label in dict.fromkeys([*found[0], *found[1]]):
        left, right = found[0].get(label), found[1].get(label)
        yield ComparedRow(label, _text(left), _text(right), _per_cent(_value(left), _value(right)))


def _words(one: tuple[CoilState, WoundSet], two: tuple[CoilState, WoundSet]) -> Iterator[str]:
    ohms = [_value(next((m for m in measured(s) if m.quantity == "resistance"), None)) for s, _ in (one, two)]
    turns = one[0].turns, two[0].turns
    if ohms[0] and ohms[1] and min(turns) > 0:
        per_turn = (ohms[1] / turns[1]) / (ohms[0] / turns[0]) - 1.0
        size = f"{100 * abs(per_turn):.1f} % {'more' if per_turn > 0 else 'less'} ohms a turn"
        if abs(per_turn) > HAND:
            yield f"{two[0].serial} has {size}: more than one hand's coils differ by. Another wire, or a wrong count?"
        else:
            yield f"{two[0].serial} has {size}: two coils of one hand differ by 5 to 8 %."


def _set(here: WoundSet) -> str:
    return f"{here.title or here.set_name}, {here.pickup} {here.coil}".strip(", ")


def _way(here: WoundSet) -> str:
    return "" if here.record is None else str(here.record.wound)


def _wire(here: WoundSet) -> str:
    record = here.record
    return "" if record is None else f"{record.wire.size.label}, {record.wire.film} {record.wire.enamel}"


def _splices(state: CoilState) -> str:
    turns = [grouped(max(0, n.turns)) for n in state.snaps if n.body.get("then") == "spliced"]
    return f"at turn {', '.join(turns)}" if turns else "none"


def _text(found: Measured | None) -> str:
    return "" if found is None else found.text


def _value(found: Measured | None) -> float | None:
    return None if found is None else found.value


def _signed(number: int) -> str:
    return "" if number == 0 else ("+" if number > 0 else "\u2212") + grouped(abs(number))


def _per_cent(one: float | None, two: float | None) -> str:
    if one is None or two is None or one <= 0.0 or two <= 0.0:
        return ""
    share = 100.0 * (two / one - 1.0)
    return "" if abs(share) < 0.05 else f"{figure(share, '1', share - 0.5, share + 0.5).value} %"
