"""The desk of the bench: what the pages read from a folder's book and write into it, in one place.

Every answer imports what it needs, so that the server's address can be told before numpy is there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lodestring.errors import LodestringError
from lodestring.folder.workshop_book import book_of, book_path, close_book

if TYPE_CHECKING:
    from lodestring.book.event import Event
    from lodestring.book.fold import CoilState
    from lodestring.book.store import Book
    from lodestring.folder.winding_setup import Proposal
    from lodestring.folder.winding_snap import SnapOptions
    from lodestring.folder.winding_state import BenchState
    from lodestring.making.cards import Card

LOST_MOST = 1000
"""Numbers of a device that are asked for at once."""
_SENSOR = re.compile(r"n (\d{1,9}) ([0-9a-z]{1,16})\s*")


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of a device's message: ids that are in the book, what is wrong with the others, numbers it lacks."""

    have: tuple[str, ...]
    refused: Mapping[str, str]
    wants: Mapping[str, tuple[int, ...]]


class WindingDesk:
    """The book of one folder, opened when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @property
    def book(self) -> Book:
        """Raises BookProblem where it cannot be opened."""
        return book_of(self.folder)

    def close(self) -> None:
        """Write what waits, and let go."""
        close_book(self.folder)

    # ---- looking ----

    def look(self, serial: str) -> tuple[BenchState, CoilState]:
        """All the bench page of a coil shows, and the coil as the book has it: both of the same moment."""
        from lodestring.folder.winding_learned import wound_for
        from lodestring.folder.winding_set import begun
        from lodestring.folder.winding_state import state_of

        events = self.book.events(coil=serial)
        fold = begun(self.book, serial, events)
        return state_of(self.book, fold, wound_for(self.book, fold), events), fold

    def fold(self, serial: str) -> CoilState:
        """The coil as the book has it. Raises BookProblem for a serial that was never begun."""
        from lodestring.folder.winding_set import begun

        return begun(self.book, serial)

    def cards(self, *names: str) -> tuple[Card, ...]:
        """How-to cards by name."""
        from lodestring.making.cards import cards

        return tuple(cards()[name] for name in names)

    def stages(self) -> dict[str, str]:
        """For each set that a coil was begun of, in words where its coils stand; none without a book."""
        if not book_path(self.folder).is_file():
            return {}
        try:
            from lodestring.folder.winding_stages import STAGES, coils

            found: dict[str, list[str]] = {}
            for row in coils(self.book):
                if not row.unwind:
                    found.setdefault(row.set_name, []).append(row.stage)
        except LodestringError:
            return {}  # the bench page says what is wrong with the book
        counted = {name: [(s, stages.count(s)) for s in STAGES if s in stages] for name, stages in found.items()}
        return {name: ", ".join(f"{n} {stage}" for stage, n in some) for name, some in counted.items()}

    # ---- writing ----

    def note(self, serial: str, kind: str, body: Mapping[str, Any]) -> Event:
        """Write an event of the server's own for a coil that was begun."""
        self.fold(serial)
        return self.book.note(kind, body, coil=serial)

    def note_spool(self, name: str, kind: str, body: Mapping[str, Any]) -> Event:
        """Write an event of the server's own for a spool."""
        return self.book.note(kind, body, spool=name)

    def take(self, serial: str, events: list[object], holds: Mapping[str, object]) -> Taken:
        """Events of a device, on the disk when this returns. One that is none holds up no other; one for another coil
        is refused. `holds`: the highest number of each device that the sender has."""
        from lodestring.book.event import read_event
        from lodestring.book.problem import BookProblem
        from lodestring.book.taking_in import check_event

        self.fold(serial)
        made: list[Event] = []
        refused: dict[str, str] = {}
        for data in events:
            try:
                event = read_event(data)
                check_event(event)
                if event.coil != serial:
                    raise BookProblem("events of this page are about its coil", f'"{event.coil}"', "loading it again")
                made.append(event)
            except BookProblem as problem:
                id = data.get("id") if isinstance(data, dict) else None
                refused[str(id)[:32]] = f"{problem}."
        have = self.book.append(made).have
        wants = {}
        for device, highest in list(holds.items())[:16]:
            if isinstance(device, str) and isinstance(highest, int) and 0 < highest < 2**31:
                there = self.book.latest_n(device, coil=serial)
                missing = (
                    *self.book.missing(device, serial), *range(there + 1, min(highest, there + LOST_MOST) + 1)
                )  # fmt: skip
                if missing:
                    wants[device] = missing
        return Taken(have, refused, wants)

    def press(self, serial: str, sign: int) -> None:
        """One crank more (1) or less (-1), of the server's own device."""
        crank = int((self.fold(serial).begun or {}).get("turns_per_crank", 1))
        self.note(serial, "coil.turns", {"turns": sign * crank, "by": "tap"})

    def sensor(self, serial: str, text: str) -> int:
        """Turns of a coil after a line of a home-made sensor, `n 1234 a7f3`: its running total, the id of its start.

        The first total it ever tells is where counting starts: the sensor may have run before. A new id begins at 0.
        Raises LodestringError for another text.
        """
        found = _SENSOR.fullmatch(text)
        if found is None:
            raise LodestringError("a sensor sends a line of its total and start", f'"{text[:40]}"', "n 1234 a7f3")
        total, start = int(found.group(1)), found.group(2)
        state = self.fold(serial)
        lines = [
            e
            for e in self.book.events(coil=serial)
            if e.kind == "coil.turns" and e.body.get("by") == "sensor" and e.id not in state.voided
        ]
        latest = max(lines, key=lambda e: e.order, default=None)
        before = 0
        if latest is None:
            before = total
        elif latest.body.get("start") == start:
            before = int(latest.body.get("total", total))
        if total != before or latest is None:
            body = {"turns": total - before, "by": "sensor", "total": total, "start": start}
            self.note(serial, "coil.turns", body)
        return self.fold(serial).turns

    def choose(self, serial: str, found: SnapOptions, then: str, cause: str) -> None:
        """Write down what was chosen at a snap: the count, the snap, and the end where the coil ends there."""
        cause = cause if cause in found.causes else found.causes[-1]
        self.note(serial, "coil.count", found.count)
        self.note(serial, "coil.snap", {**found.snap, "then": then, "cause": cause})
        if then in ("kept", "scrapped"):
            self.note(serial, "coil.end", {"state": "kept short" if then == "kept" else "scrapped"})

    def propose_winder(self, typed: Mapping[str, str]) -> Proposal:
        """A winder from one crank, as typed: name, cranks, added, turns, way, pace."""
        from lodestring.folder.winding_setup import propose_winder
        from lodestring.making.counter import crank_once

        added, turns, way, cranks = (typed.get(n, "") for n in ("added", "turns", "way", "cranks"))
        crank = crank_once(added, turns, way, cranks or "1")
        return propose_winder(self.folder, typed.get("name", "").strip(), crank, typed.get("pace", ""))
