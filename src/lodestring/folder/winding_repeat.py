"""Wind again from an old record: the same set as it was then, the turns that were really wound, its real pauses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from lodestring.book.event import Event
from lodestring.book.fold import CoilState, Noted
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book
from lodestring.design.toml_read import read_bytes
from lodestring.folder.open_set import WORKSHOP, workshop_beside
from lodestring.folder.winding_begin import check_spool, checked_serial, free_serial
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_measured import as_read
from lodestring.folder.winding_set import WoundSet, begun
from lodestring.making.counter import reading_at
from lodestring.making.lost_count import MASS_READ, SIZE_READ
from lodestring.making.winding_plan import grouped
from lodestring.quantity import USUAL, Units

NEAR = 25
"""Turns: what was noted so near to each other was one pause."""


@dataclass(frozen=True, slots=True)
class RealPause:
    """A pause of the old coil: its turn, what its winder showed, and what was measured there, "" where nothing was."""

    turns: int
    reading: str
    what: str
    end: str
    side: str
    spool_mass: str
    at: str


@dataclass(frozen=True, slots=True)
class RepeatPlan:
    """What is to be done again. `words`: what to know of the old record before it is followed."""

    serial: str
    set_name: str
    pickup: str
    coil: str
    turns: int
    pauses: tuple[RealPause, ...]
    words: tuple[str, ...]


def repeat_plan(book: Book, serial: str) -> RepeatPlan:
    """The plan from the record of a coil. Raises BookProblem for a coil that was unwound, or has no turns."""
    state, here = wound(book, serial)
    if here.unwind or here.model is None:
        raise BookProblem("a coil is wound again from one that was wound", f"{serial}, which was unwound")
    if state.turns < 1:
        raise BookProblem("a coil that is wound again has turns", "none", "a coil that was finished")
    return RepeatPlan(
        serial, here.set_name, here.pickup, here.coil, state.turns, real_pauses(state, here), tuple(_words(state, here))
    )


def begin_repeat(
    folder: Path,
    book: Book,
    serial: str,
    *,
    new: str = "",
    spool: str = "",
    winder: str = "",
    target: int | None = None,
) -> Event:
    """Begin a coil as `serial` was wound: its set as it was then, its turns. Winder and spool are those of today.

    Raises BookProblem.
    """
    plan = repeat_plan(book, serial)
    old = begun(book, serial).begun or {}
    beside = workshop_beside(folder)
    winders = {} if beside is None else beside.record.winder
    name = winder or (str(old.get("winder", "")) if old.get("winder") in winders else next(iter(winders), ""))
    if winder and winder not in winders:
        raise BookProblem("the winder must be set up", f'"{winder[:32]}"', ", ".join(winders))
    machine = winders.get(name)
    if spool:
        check_spool(folder, book, spool)
    made = checked_serial(book, new) or free_serial(book, plan.set_name, plan.pickup, plan.coil)
    body = {
        "serial": made,
        "set": old["set"],
        "path": old["path"],
        "name": plan.set_name,
        "target": plan.turns if target is None else target,
        "turns_per_crank": 1 if machine is None else machine.turns_per_crank,
        "counts": "turns" if machine is None else machine.counts,
        "unwind": False,
        "again": serial,
        **({} if beside is None else {"workshop": book.put_state(read_bytes(folder / WORKSHOP, WORKSHOP))}),
        **({"spool": spool} if spool else {}),
        **({"winder": name} if name else {}),
    }
    return book.note("coil.begin", body, coil=made)


def real_pauses(state: CoilState, here: WoundSet) -> tuple[RealPause, ...]:
    """Where the coil really paused: counts that were typed, checks, snags and snaps, those near each other as one."""
    units = USUAL if here.model is None else here.model.inputs.units
    found: list[RealPause] = []
    for noted in state.history:
        if noted.kind not in ("coil.count", "coil.check", "coil.snag", "coil.snap") or not noted.turns > 0:
            continue
        if noted.kind == "coil.count" and noted.body.get("why") not in (None, "typed"):
            continue
        made = _pause(noted, here, units)
        if found and abs(found[-1].turns - made.turns) <= NEAR:
            made = _joined(found.pop(), made)
        found.append(made)
    return tuple(p for p in found if p.turns <= max(state.turns, 1))


@lru_cache(maxsize=16)
def pauses_of(book: Book, serial: str) -> tuple[RealPause, ...]:
    """Real pauses of an old coil, kept: it is asked at every press of the coil that repeats it."""
    if serial not in book.coils():
        return ()
    state, here = wound(book, serial)
    return real_pauses(state, here)


def _pause(noted: Noted, here: WoundSet, units: Units) -> RealPause:
    body = noted.body

    def seen(key: str, unit: str, half: float) -> str:
        value = body.get(key)
        return "" if value is None else as_read(float(value), unit, half, units)

    what = {"coil.snag": "a snag", "coil.snap": "the wire snapped"}.get(noted.kind, "")
    if noted.kind == "coil.snap" and body.get("cause"):
        what += f": {body['cause']}"
    return RealPause(
        noted.turns,
        str(body.get("reading") or "") or reading_at(noted.turns, here.winder),
        what,
        seen("end", "m", SIZE_READ),
        seen("side", "m", SIZE_READ),
        seen("spool_mass", "kg", MASS_READ),
        noted.at,
    )


def _joined(one: RealPause, two: RealPause) -> RealPause:
    """Two notes of one pause: the later turn, and whatever either of them says."""
    return RealPause(
        two.turns,
        two.reading or one.reading,
        "; ".join(dict.fromkeys(w for w in (one.what, two.what) if w)),
        two.end or one.end,
        two.side or one.side,
        two.spool_mass or one.spool_mass,
        two.at,
    )


def _words(state: CoilState, here: WoundSet) -> list[str]:
    words = []
    designed = 0 if here.record is None else here.record.turns
    if state.turns != designed:
        words.append(f"It has {grouped(state.turns)} turns; its set was drawn with {grouped(designed)}.")
    if any(n.body.get("why") == "estimate" for n in state.history if n.kind == "coil.count"):
        words.append("Its count was estimated once, so its turns are not known to the turn.")
    splices = [n for n in state.snaps if n.body.get("then") == "spliced"]
    if splices:
        words.append(f"It was spliced at turn {', '.join(grouped(max(0, n.turns)) for n in splices)}.")
    if not state.ended:
        words.append("It is not finished.")
    return words
