"""Beginning a coil: which coil of which set, from which spool, on which winder, and what it will be called."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from lodestring.assess import blocks
from lodestring.assess.shown import size_said
from lodestring.book.event import Event
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book
from lodestring.design.toml_read import read_bytes
from lodestring.design.workshop import Winder
from lodestring.errors import LodestringError
from lodestring.folder.open_set import WORKSHOP, OpenSet, open_set, workshop_beside
from lodestring.folder.places import set_path
from lodestring.folder.shelf import shelf

SERIAL = re.compile(r"[a-z0-9][a-z0-9-]{0,31}")
UNNAMED = "old-coil"
TAKEN = ("begin", "winder")
"""Names of pages of the bench: a coil of such a serial could not be opened."""


@dataclass(frozen=True, slots=True)
class Beginning:
    """A coil that could be begun now; `problem`: "" or why not. `spools`: those with its wire first."""

    set_name: str
    title: str
    pickup: str
    coil: str
    turns: int
    wire: str
    serial: str
    spools: tuple[str, ...]
    winders: tuple[str, ...]
    problem: str = ""


def beginnings(folder: Path, book: Book) -> tuple[Beginning, ...]:
    """Every coil of every set of the folder, and each set that cannot be computed with its problem."""
    from lodestring.folder.winding_spool import spools_for

    found: list[Beginning] = []
    for entry in shelf(folder):
        try:
            here = open_set(set_path(folder, entry.name))
        except LodestringError as error:
            said = str(error).splitlines()[0]
            found.append(Beginning(entry.name, entry.title, "", "", 0, "", "", (), (), entry.problem or said))
            continue
        winders = () if here.workshop is None else tuple(here.workshop.record.winder)
        for pickup, coil in blocks.every_coil(here.model):
            record = blocks.coil_of(here.model, pickup, coil)
            wire = f"{size_said(record.wire.size, here.model.inputs.units)}, {record.wire.film} {record.wire.enamel}"
            serial = free_serial(book, entry.name, pickup, coil)
            spools = spools_for(folder, book, record.wire)
            found.append(Beginning(entry.name, entry.title, pickup, coil, record.turns, wire, serial, spools, winders))
    return tuple(found)


def free_serial(book: Book, set_name: str, pickup: str, coil: str) -> str:
    """`heron-bridge-main-1`, or the next number that is free."""
    stem = "-".join(part for part in (set_name, pickup, coil) if part) or UNNAMED
    taken = set(book.coils())
    number = 1
    while True:
        tail = f"-{number}"
        serial = stem[: 32 - len(tail)].rstrip("-") + tail
        if serial not in taken:
            return serial
        number += 1


def begin_coil(
    folder: Path,
    book: Book,
    set_name: str,
    pickup: str,
    coil: str,
    *,
    serial: str = "",
    spool: str = "",
    winder: str = "",
    unwind: bool = False,
    target: int | None = None,
    again: str = "",
) -> Event:
    """Begin a coil of a set: set and workshop as they are now are kept in the book, then the event. `again`: serial of
    the coil it repeats.

    Raises SetFileError where the set cannot be computed, BookProblem for a coil, serial, spool or winder that is none.
    """
    here = open_set(set_path(folder, set_name))
    if (pickup, coil) not in blocks.every_coil(here.model):
        there = ", ".join(f"{p}.{c}" for p, c in blocks.every_coil(here.model))
        raise BookProblem("the coil must be one that the set is to wind", f'"{pickup}.{coil}"'[:80], there)
    serial = checked_serial(book, serial) or free_serial(book, set_name, pickup, coil)
    name, machine = chosen_winder(here, winder)
    record = blocks.coil_of(here.model, pickup, coil)
    if spool:
        check_spool(folder, book, spool)
    kept = {"set": book.put_state(read_bytes(set_path(folder, set_name), f"{set_name}.toml"))}
    if here.workshop is not None:
        kept["workshop"] = book.put_state(read_bytes(folder / WORKSHOP, WORKSHOP))
    body = {
        "serial": serial,
        **kept,
        "path": blocks.coil_path(pickup, coil),
        "name": set_name,
        "target": checked_target(record.turns if target is None else target),
        "turns_per_crank": 1 if machine is None else machine.turns_per_crank,
        "counts": "turns" if machine is None else machine.counts,
        "unwind": unwind,
        **({"spool": spool} if spool else {}),
        **({"winder": name} if name else {}),
        **({"again": again} if again else {}),
    }
    return book.note("coil.begin", body, coil=serial)


def begin_old_coil(folder: Path, book: Book, *, serial: str = "", winder: str = "", guess: int = 8000) -> Event:
    """Begin to unwind an old coil that no set describes; `guess`: how many turns it may have, for the bar on the page.

    Its turns are counted upward while they come off. Raises BookProblem.
    """
    beside = workshop_beside(folder)
    winders = {} if beside is None else beside.record.winder
    name = winder or next(iter(winders), "")
    if winder and winder not in winders:
        raise BookProblem(*_no_winder(winder, tuple(winders)))
    machine = winders.get(name)
    serial = checked_serial(book, serial) or free_serial(book, UNNAMED, "", "")
    body = {
        "serial": serial,
        "set": None,
        "path": "",
        "target": checked_target(guess),
        "turns_per_crank": 1 if machine is None else machine.turns_per_crank,
        "counts": "turns" if machine is None else machine.counts,
        "unwind": True,
        **({"winder": name} if name else {}),
    }
    return book.note("coil.begin", body, coil=serial)


def checked_serial(book: Book, serial: str) -> str:
    """A serial that is free and well formed, "" for none. Raises BookProblem."""
    if serial and not SERIAL.fullmatch(serial):
        raise BookProblem("a serial is small letters, digits and -, 32 at most", f'"{serial[:60]}"', "heron-bridge-1")
    if serial in TAKEN:
        raise BookProblem("a serial is not the name of a page", f'"{serial}"', f"{serial}-1")
    if serial and serial in book.coils():
        raise BookProblem("a serial must be new", f'"{serial}", which the book has', "another number at its end")
    return serial


def checked_target(target: int) -> int:
    """A number of turns a coil may have. Raises BookProblem."""
    if not 1 <= target <= 100_000:
        raise BookProblem("a coil has 1 to 100 000 turns", f"{target}", "the turns of the set")
    return target


def check_spool(folder: Path, book: Book, spool: str) -> None:
    """Raises BookProblem for a spool that neither book nor workshop file has."""
    from lodestring.folder.winding_spool import spool_names

    there = spool_names(folder, book)
    if spool not in there:
        raise BookProblem("the spool must be known", f'"{spool[:32]}"', ", ".join(there) or "adding it to the book")


def chosen_winder(here: OpenSet, winder: str) -> tuple[str, Winder | None]:
    """The winder of that name, the first where none is named, none where there is none. Raises BookProblem."""
    winders = {} if here.workshop is None else here.workshop.record.winder
    if winder and winder not in winders:
        raise BookProblem(*_no_winder(winder, tuple(winders)))
    name = winder or next(iter(winders), "")
    return name, winders.get(name)


def _no_winder(winder: str, there: tuple[str, ...]) -> tuple[str, str, str]:
    return "the winder must be set up", f'"{winder[:32]}"', ", ".join(there) or "cranking once on the bench page"
