"""What the person at the winder says of the count: the counter's reading, a counter that was reset, turns taken off, a
count that was lost. Each gives the body of a `coil.count`; nothing is written here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.book.fold import CoilState
from lodestring.book.store import Book
from lodestring.errors import LodestringError, QuantityError
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_set import WoundSet, unsure
from lodestring.making.counter import reading_at, turns_at
from lodestring.making.lost_count import MASS_READ, SIZE_READ, Look, lost_count
from lodestring.making.winding_plan import grouped
from lodestring.quantity import Kind, Quantity, read

UNREADABLE = (
    "The resistance cannot be read until the wire is cut: the coil's outer end is still the spool, under its enamel."
)
LOOSE = 0.02
"""A reading that takes away more than this share of the coil is asked about."""


@dataclass(frozen=True, slots=True)
class Count:
    """What to send. `turns`: the total then; `doubt`: "" or what the person should be asked before it is sent."""

    turns: int
    reading: str
    body: Mapping[str, Any]
    sentence: str
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class CountEstimate:
    """A count from size and mass: 90 % interval, what told it, and what would tell it better."""

    turns: int
    low: int
    high: int
    sentence: str
    used: tuple[str, ...]
    narrow: tuple[str, ...]
    body: Mapping[str, Any]


def typed_reading(book: Book, serial: str, text: str) -> Count:
    """The winder's counter shows `text`. Raises QuantityError for what is no reading of this winder."""
    state, here = wound(book, serial)
    zero = counter_zero(state, here)
    turns = turns_at(text, here.winder, zero)
    if here.unwind:
        turns = abs(turns)
    return _count(state, here, turns, text, "typed", _doubt(state, here, turns))


def counter_reset(book: Book, serial: str, text: str = "0") -> Count:
    """The counter was set back, or jumped: the coil keeps its turns, the counter shows `text` from here on."""
    state, here = wound(book, serial)
    turns_at(text, here.winder)
    return _count(state, here, state.turns, text, "reset", "")


def unwound(book: Book, serial: str, turns_off: str, reading: str = "") -> Count:
    """Turns were taken off by hand; `reading`: what the counter shows now, "" where it did not move.

    Raises QuantityError where more is taken off than there is.
    """
    state, here = wound(book, serial)
    off = _whole(turns_off)
    if off > state.turns:
        raise QuantityError(
            "no more turns come off than are on the coil", f"{grouped(off)} of {grouped(state.turns)}", "counting again"
        )
    shown = reading or reading_at(state.turns, here.winder, counter_zero(state, here))
    turns_at(shown, here.winder)
    return _count(state, here, state.turns - off, shown, "typed", "")


def estimate_count(
    book: Book, serial: str, *, end: str = "", side: str = "", spool_mass: str = "", at_least: str = ""
) -> CountEstimate:
    """The count of a coil from its length over ends, width at mid-side and the mass of its spool, as typed with units.

    Earlier pauses of the same coil help. `at_least`: turns that are sure. Raises QuantityError, DomainError.
    """
    state, here = wound(book, serial)
    if here.ladder is None:
        return _no_model(here)
    now = _look(end, side, spool_mass)
    found = lost_count(here.ladder, now, earlier(book, state, here), float(_whole(at_least)) if at_least else 0.0)
    turns, low, high = round(found.turns), round(found.low), round(found.high)
    missing = [
        word
        for word, given in (
            ("the length over ends", end),
            ("the width at mid-side", side),
            ("the mass of the spool", spool_mass),
        )
        if not given
    ]
    narrow = tuple(f"measure {word} too" for word in missing)
    between = f"nine times in ten between {grouped(low)} and {grouped(high)}"
    sentence = f"Most likely {grouped(turns)} turns; {between}. {UNREADABLE}"
    body = {"turns": turns, "covers": covers(state), "why": "estimate", "low": low, "high": high}
    return CountEstimate(turns, low, high, sentence, found.used, narrow, body)


def earlier(book: Book, state: CoilState, here: WoundSet) -> tuple[Look, ...]:
    """What was measured at pauses whose count was sure, in order; the spool as it was weighed before the first turn.

    Wire that went to waste at a snap is missing from the spool, not on the coil: weighings before it are left out.
    """
    from lodestring.folder.winding_spool import weighed_before

    looks: list[Look] = []
    start = weighed_before(book, here.spool, state) if here.spool else None
    if start is not None:
        looks.append(Look(0.0, mass=start))
    for noted in state.history:
        if noted.kind == "coil.snap" and noted.body.get("removed"):
            looks = [Look(x.turns, x.end, x.side, None) for x in looks if x.end is not None or x.side is not None]
        elif noted.kind == "coil.check" and not unsure(state, noted):
            body = noted.body
            looks.append(Look(float(noted.turns), body.get("end"), body.get("side"), body.get("spool_mass")))
    return tuple(looks)


def counter_zero(state: CoilState, here: WoundSet) -> int:
    """Turns the coil had where the counter would read zero: from the last reading that was typed, else none."""
    for noted in reversed(state.history):
        shown = noted.body.get("reading") if noted.kind == "coil.count" else None
        if shown:
            try:
                return int(noted.body["turns"]) - turns_at(str(shown), here.winder)
            except LodestringError:
                continue
    return 0


def covers(state: CoilState) -> dict[str, int]:
    """The highest number of each device that this count includes."""
    return {d.device: d.highest for d in state.devices}


def estimated(state: CoilState) -> bool:
    """Whether the count rests on an estimate."""
    return (state.base or {}).get("why") == "estimate"


def _count(state: CoilState, here: WoundSet, turns: int, text: str, why: str, doubt: str) -> Count:
    body = {"turns": turns, "covers": covers(state), "reading": text.strip()[:40], "why": why}
    left = here.target - turns
    rest = (
        f"{grouped(left)} to go" if left > 0 else "the target is reached" if left == 0 else f"{grouped(-left)} past it"
    )
    return Count(turns, text.strip(), body, f"{grouped(turns)} turns; {rest}.", doubt)


def _doubt(state: CoilState, here: WoundSet, turns: int) -> str:
    fewer = state.turns - turns
    if turns < 0:
        return "The counter shows less than it did before the first turn. Was it reset, or turned back?"
    if fewer > max(5, LOOSE * state.turns):
        return (
            f"That is {grouped(fewer)} turns fewer than before. Was the counter reset, were turns taken off, "
            "or is a digit wrong?"
        )
    if not here.unwind and turns > 1.5 * here.target + 100:
        return (
            f"That is far past the target of {grouped(here.target)}. Is a digit wrong, or does the counter count turns?"
        )
    return ""


def _look(end: str, side: str, spool_mass: str) -> Look:
    long, wide = _read(end, Kind.LENGTH), _read(side, Kind.LENGTH)
    mass = _read(spool_mass, Kind.MASS)
    return Look(
        None,
        None if long is None else long.value,
        None if wide is None else wide.value,
        None if mass is None else mass.value,
        _half(long, SIZE_READ),
        _half(wide, SIZE_READ),
        _half(mass, MASS_READ),
    )


def _read(text: str, kind: Kind) -> Quantity | None:
    return read(text, kind) if text.strip() else None


def _half(quantity: Quantity | None, usual: float) -> float:
    given = None if quantity is None else quantity.half_width
    return given or usual


def _whole(text: str) -> int:
    plain = "".join(text.split())
    if not plain.isascii() or not plain.isdigit() or len(plain) > 7:
        raise QuantityError("a number of turns is a whole number", f'"{text[:40]}"', "25")
    return int(plain)


def _no_model(here: WoundSet) -> CountEstimate:
    raise QuantityError(
        "a count is estimated from a set that says what to expect",
        f"{here.serial}, an old coil without one",
        "weighing the wire that has come off",
    )
