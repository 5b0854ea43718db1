"""The set a coil is wound to: as it was when the coil was begun, from the states kept in the book.

What is changed in the set file later does not reach a coil on the winder. What other coils and the spool have taught
counts: it sharpens what to expect, and changes nothing that was decided.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lodestring.assess import blocks
from lodestring.assess.model import Inputs, Model
from lodestring.assess.store import Store
from lodestring.book.event import Event
from lodestring.book.fold import CoilState, Noted, fold_coil
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book
from lodestring.design.coil import Coil
from lodestring.design.learned import Hand, Spools
from lodestring.design.read import read_set, read_workshop
from lodestring.design.workshop import Winder, Workshop
from lodestring.errors import LodestringError
from lodestring.folder.open_set import WORKSHOP, opened
from lodestring.making.winding_ladder import Ladder, ladder

STORE = 16 * 1024 * 1024
_LADDERS = 16
_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class WoundSet:
    """A begun coil and what it is wound to. `model` and `ladder`: None for an old coil that no set describes."""

    serial: str
    set_name: str
    title: str
    pickup: str
    coil: str
    target: int
    unwind: bool
    spool: str
    winder_name: str
    winder: Winder
    model: Model | None
    ladder: Ladder | None

    @property
    def record(self) -> Coil | None:
        """The design of the coil."""
        return None if self.model is None else blocks.coil_of(self.model, self.pickup, self.coil)

    @property
    def path(self) -> str:
        """Key path of the coil."""
        return blocks.coil_path(self.pickup, self.coil) if self.pickup else ""

    @property
    def known(self) -> Model:
        """The model of a coil that a set describes. Raises BookProblem for one that none describes."""
        if self.model is None:
            raise BookProblem(
                "what to expect is worked out from a set", f"{self.serial}, an old coil without one", "measuring it"
            )
        return self.model


def begun(book: Book, serial: str, events: tuple[Event, ...] | None = None) -> CoilState:
    """The state of a coil that was begun; `events`: its events where they are at hand.

    Raises BookProblem for a serial the book does not have.
    """
    state = fold_coil(book.events(coil=serial) if events is None else events, serial)
    if state.begun is None:
        there = ", ".join(book.coils()[-5:])
        raise BookProblem(
            "the coil must be begun in the book", f'"{serial[:32]}"', f"one of {there}" if there else "beginning it"
        )
    return state


def unsure(state: CoilState, noted: Noted) -> bool:
    """Whether the count was an estimate when this was noted."""
    counts = [n for n in state.history[: state.history.index(noted)] if n.kind == "coil.count"]
    return bool(counts) and counts[-1].body.get("why") == "estimate"


def wound_set(book: Book, state: CoilState, hand: Hand | None = None, spools: Spools | None = None) -> WoundSet:
    """What a begun coil is wound to. `hand`, `spools`: what the book has learned. Raises BookProblem, SetFileError."""
    body = state.begun or {}
    pickup, coil = _parts(str(body.get("path", "")))
    target = state.target if state.target is not None else int(body.get("target", 1))
    name_of = f"{body.get('name') or 'set'}.toml, as kept in the book"
    workshop = _workshop(book, body)
    model, rungs = None, None
    if body.get("set"):
        raw = book.state(str(body["set"]))
        spools = _first(spools, str(body.get("spool", "")))
        with _lock:
            inputs, rungs = _opened(raw, name_of, workshop, hand, spools, pickup, coil, target)
        model = Model(inputs, Store(STORE))  # a model notes what it reads: each page has its own
    name = str(body.get("winder", ""))
    return WoundSet(
        state.serial,
        str(body.get("name", "")),
        "" if model is None else model.inputs.design.title,
        pickup,
        coil,
        target,
        bool(body.get("unwind", False)),
        str(body.get("spool", "")),
        name,
        _winder(body, None if workshop is None else _read_workshop(workshop).winder.get(name)),
        model,
        rungs,
    )


@lru_cache(maxsize=_LADDERS)
def _opened(
    raw: bytes,
    file: str,
    workshop: bytes | None,
    hand: Hand | None,
    spools: Spools | None,
    pickup: str,
    coil: str,
    target: int,
) -> tuple[Inputs, Ladder]:
    """Model and ladder from the bytes that were kept. A book from elsewhere may hold any bytes: all is checked."""
    loaded = read_set(raw, file)
    beside = None if workshop is None else read_workshop(workshop, WORKSHOP)
    model = opened(loaded, beside, learned=(hand, spools)).model
    if (pickup, coil) not in blocks.every_coil(model):
        raise BookProblem("the coil must be in the set it was begun from", f'"{pickup}.{coil}"')
    return model.inputs, ladder(model, pickup, coil, target)


def _workshop(book: Book, body: Mapping[str, Any]) -> bytes | None:
    """The workshop file as it was, None where there was none, or an imported book lacks it: the winder stands in the
    event itself."""
    if not body.get("workshop"):
        return None
    try:
        raw = book.state(str(body["workshop"]))
        _read_workshop(raw)
    except LodestringError:
        return None
    return raw


@lru_cache(maxsize=_LADDERS)
def _read_workshop(raw: bytes) -> Workshop:
    return read_workshop(raw, WORKSHOP).record


def _parts(path: str) -> tuple[str, str]:
    """`pickup.P.coil.C` -> P, C; an old coil has neither."""
    parts = path.split(".")
    return (parts[1], parts[3]) if len(parts) == 4 and parts[0] == "pickup" and parts[2] == "coil" else ("", "")


def _winder(body: Mapping[str, Any], found: Winder | None) -> Winder:
    """The winder as it was set up when the coil was begun."""
    return Winder(
        counts="cranks" if body.get("counts") == "cranks" else "turns",
        turns_per_crank=int(body.get("turns_per_crank", 1)),
        spindle="same" if found is None else found.spindle,
        pace=None if found is None else found.pace,
    )


def _first(spools: Spools | None, name: str) -> Spools | None:
    """The spools with this one first: a coil is wound with the wire of its own spool."""
    if spools is None:
        return None
    return Spools(tuple(sorted(spools.spools, key=lambda s: s.name != name)))
