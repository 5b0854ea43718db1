"""Folders with the examples in them, and sittings on them."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lodestring.assess.store import Store
from lodestring.book.event import Event, read_event
from lodestring.book.store import open_book
from lodestring.design.workshop import Winder
from lodestring.folder.examples import example_text
from lodestring.folder.sitting import Sitting
from lodestring.folder.winding_begin import begin_coil
from lodestring.folder.winding_count import typed_reading
from lodestring.making.winding_plan import reading

TURNS = "pickup.bridge.coil.main.turns"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "heron.toml").write_text(example_text("heron"), encoding="utf-8")
    return tmp_path


@pytest.fixture
def sit(tmp_path: Path) -> Callable[..., Sitting]:
    """A sitting on an example, or on a text of one's own."""
    store = Store()

    def make(example: str = "heron", raw: bytes | None = None) -> Sitting:
        path = tmp_path / f"{example}.toml"
        if raw is not None:
            path.write_bytes(raw)
        elif not path.exists():
            path.write_text(example_text(example), encoding="utf-8")
        return Sitting(tmp_path, example, store)

    return make


class Evening:
    """A maker's folder with a book and a coil on the winder; the clock goes as it is told, events come from a phone."""

    def __init__(self, folder: Path) -> None:
        for name in ("heron", "workshop"):
            (folder / f"{name}.toml").write_text(example_text(name), encoding="utf-8")
        self.folder, self.book = folder, open_book(folder / "book.sqlite")
        self.clock, self.serial = datetime(2026, 11, 25, 18, 0, tzinfo=UTC), ""
        self._n: dict[tuple[str, str], int] = {}

    def begin(self, pickup: str = "bridge", **more: Any) -> str:
        body = begin_coil(self.folder, self.book, "heron", pickup, "main", **more)
        self.serial = body.coil
        return self.serial

    def spool(self, name: str = "fine-1", mass: float = 0.190, empty: float = 0.062, wire: str = "42 AWG") -> None:
        told = {"wire": wire, "enamel": "polyurethane", "film": "single", "mass": mass, "empty": empty}
        self.book.note("spool.begin", told, spool=name, at=self.at)

    @property
    def at(self) -> str:
        return self.clock.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def wait(self, seconds: float) -> None:
        self.clock += timedelta(seconds=seconds)

    def turns(self, turns: int, device: str = "phone", n: int | None = None, by: str = "tap") -> Event:
        key = (device, self.serial)
        self._n[key] = self._n.get(key, 0) + 1 if n is None else n
        told = {"v": 1, "id": secrets.token_hex(16), "device": device, "n": self._n[key], "at": self.at}
        told |= {"lamport": self.book.lamport() + 1, "kind": "coil.turns", "coil": self.serial}
        event = read_event({**told, "body": {"turns": turns, "by": by}})
        self.book.append([event])
        return event

    def note(self, kind: str, body: Any) -> Event:
        return self.book.note(kind, body, coil=self.serial, at=self.at)

    def count(self, turns: int, seconds: float = 0.0, **check: float) -> None:
        """So many turns on the coil, typed after so many seconds; `check`: what was measured there, SI."""
        self.wait(seconds)
        told = typed_reading(self.book, self.serial, reading(turns, GEARED))
        self.note("coil.count", told.body)
        if check:
            self.wait(20.0)
            self.note("coil.check", check)


GEARED = Winder(counts="cranks", turns_per_crank=5, spindle="same")


@pytest.fixture
def evening(tmp_path: Path) -> Iterator[Evening]:
    made = Evening(tmp_path)
    yield made
    made.book.close()
