"""What a coil should measure at this very turn, and what a measured size says: as drawn, fat or thin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.book.fold import CoilState, Noted
from lodestring.book.store import Book
from lodestring.folder.winding_count import counter_zero
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_measured import as_read
from lodestring.folder.winding_set import WoundSet, unsure
from lodestring.folder.winding_spool import weighed_before
from lodestring.making.counter import reading_at
from lodestring.making.lost_count import MASS_READ, SIZE_READ
from lodestring.making.winding_ladder import Ladder, Sight
from lodestring.quantity import USUAL, Units
from lodestring.quantity.figures import Figure, figure


@dataclass(frozen=True, slots=True)
class Expected:
    """At so many turns, without tape: the counter's reading, length over ends, width at mid-side, wire gone, and the
    spool on a scale where it was weighed before the first turn. Sizes are None for an old coil without a set."""

    turns: int
    reading: str
    end: Figure | None
    side: Figure | None
    wire_gone: Figure | None
    spool_mass: Figure | None


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check as it was measured, beside what was expected there. `word`: "as drawn", "fat", "thin" or ""."""

    turns: int
    at: str
    end: str
    side: str
    spool_mass: str
    expected_end: str
    expected_side: str
    expected_mass: str
    word: str
    sentence: str


def expected(book: Book, serial: str, turns: int) -> Expected:
    """What to expect of a begun coil at so many turns. Raises BookProblem."""
    state, here = wound(book, serial)
    return expected_at(here, turns, counter_zero(state, here), start_mass(book, state, here))


def start_mass(book: Book, state: CoilState, here: WoundSet) -> float | None:
    """Mass of the spool before the first turn [kg], None where it was not weighed then, or wire was lost since."""
    if not here.spool or here.unwind or any(n.body.get("removed") for n in state.snaps):
        return None
    return weighed_before(book, here.spool, state)


def expected_at(here: WoundSet, turns: int, zero: int, start: float | None) -> Expected:
    """As `expected`, where everything is at hand: quick, for every press."""
    reading = reading_at(turns, here.winder, zero)
    rungs, units = here.ladder, _units(here)
    if rungs is None:
        return Expected(turns, reading, None, None, None, None)
    left = turns if not here.unwind else max(0, here.target - turns)
    gone = rungs.at("wire", left)
    return Expected(
        turns,
        reading,
        _figure(rungs.at("end", left), "m", units),
        _figure(rungs.at("side", left), "m", units),
        _figure(gone, "kg", units),
        None if start is None else _figure(_on_scale(start, gone), "kg", units),
    )


def check_lines(state: CoilState, here: WoundSet, start: float | None) -> tuple[CheckLine, ...]:
    """Every check of the coil, the last one first."""
    return tuple(_line(state, here, noted, start) for noted in reversed(state.checks))


def _line(state: CoilState, here: WoundSet, noted: Noted, start: float | None) -> CheckLine:
    body, units, rungs = noted.body, _units(here), here.ladder
    sights: dict[str, Sight] = {}
    if rungs is not None and not here.unwind:
        sights = {kind: rungs.at(kind, noted.turns) for kind in ("end", "side")}
        if start is not None:
            sights["mass"] = _on_scale(start, rungs.at("wire", noted.turns))

    def seen(key: str, unit: str, half: float) -> str:
        value = body.get(key)
        return "" if value is None else as_read(float(value), unit, half, units)

    def wanted(kind: str, unit: str) -> str:
        return _figure(sights[kind], unit, units).whole if kind in sights else ""

    word = "" if rungs is None or unsure(state, noted) else _word(rungs, noted, sights)
    return CheckLine(
        noted.turns,
        noted.at,
        seen("end", "m", SIZE_READ),
        seen("side", "m", SIZE_READ),
        seen("spool_mass", "kg", MASS_READ),
        wanted("end", "m"),
        wanted("side", "m"),
        wanted("mass", "kg"),
        word,
        WORDS[word],
    )


WORDS = {
    "": "",
    "as drawn": "As drawn.",
    "fat": "Fatter than drawn: loose turns, thicker wire or enamel, or more turns than counted. See if it will still "
    "fit before you wind on.",
    "thin": "Thinner than drawn: tight turns, thinner wire, or fewer turns than counted. Look at the pull on the wire.",
}


def _word(rungs: Ladder, noted: Noted, sights: dict[str, Sight]) -> str:
    """Whether a size lies outside what was expected, the calipers' own spread counted."""
    words = set()
    for kind in ("end", "side"):
        value = noted.body.get(kind)
        if value is None or kind not in sights:
            continue
        sight = sights[kind]
        up, down = (math.hypot(SIZE_READ, abs(e - sight.value)) for e in (sight.high, sight.low))
        words.add("fat" if value > sight.value + up else "thin" if value < sight.value - down else "as drawn")
    return "fat" if "fat" in words else "thin" if "thin" in words else "as drawn" if words else ""


def _on_scale(start: float, gone: Sight) -> Sight:
    """The spool on the scale after so much wire; its own reading is counted."""
    up, down = (math.hypot(MASS_READ, abs(e - gone.value)) for e in (gone.low, gone.high))
    value = start - gone.value
    return Sight(value, value - down, value + up)


def _figure(sight: Sight, unit: str, units: Units) -> Figure:
    return figure(sight.value, unit, sight.low, sight.high, units)


def _units(here: WoundSet) -> Units:
    return USUAL if here.model is None else here.model.inputs.units
