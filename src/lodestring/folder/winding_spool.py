"""A spool: what it holds by its last weighing and by what was wound since, what its sample says, what still fits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from lodestring.assess import blocks, named
from lodestring.assess.model import Model
from lodestring.book.event import Event
from lodestring.book.fold import CoilState, SpoolState, fold_coil, fold_spool, turns_until
from lodestring.book.problem import BookProblem
from lodestring.book.store import Book
from lodestring.design.coil import Wire
from lodestring.design.learned import Learned, SpoolLeft
from lodestring.design.workshop import Spool
from lodestring.errors import LodestringError, QuantityError
from lodestring.folder.open_set import workshop_beside
from lodestring.folder.winding_set import WoundSet, wound_set
from lodestring.making.lost_count import MASS_READ
from lodestring.making.spool_left import Holds, Sample, holds, same_wire, sample, wire_of
from lodestring.quantity import Kind, read

COUNTS = ("coil.turns", "coil.count")


@dataclass(frozen=True, slots=True)
class SpoolKnown:
    """A spool as numbers: its wire, masses [kg], and what was drawn since the weighing [kg, m]."""

    name: str
    wire: Wire
    mass: float | None
    empty: float | None
    half: float
    source: str
    drawn: float
    booked: float
    coils: tuple[tuple[CoilState, float, float], ...]
    sample: Mapping[str, Any] | None

    @property
    def wire_mass(self) -> float | None:
        """Mass of the wire left, None where spool or empty spool was never weighed."""
        return None if self.mass is None or self.empty is None else max(0.0, self.mass - self.empty - self.drawn)

    @property
    def wire_half(self) -> float:
        """Half-width of its 90 % interval: the scale, the empty spool, and a twentieth of what was reckoned."""
        return math.hypot(self.half, MASS_READ, 0.05 * self.drawn)


# ---- names and bodies ----


def spool_names(folder: Path, book: Book) -> tuple[str, ...]:
    """Spools of the book, then those only the workshop file knows."""
    return tuple(dict.fromkeys((*book.spools(), *_of_workshop(folder))))


def spools_for(folder: Path, book: Book, wire: Wire) -> tuple[str, ...]:
    """All spools, those with this very wire first."""
    names = spool_names(folder, book)
    same = {n: same_wire(_wire_of(folder, fold_spool(book.events(spool=n), n)), wire) for n in names}
    return tuple(sorted(names, key=lambda n: not same[n]))


def spool_begin_body(size: str, enamel: str, film: str, mass: str = "", empty: str = "") -> dict[str, Any]:
    """Body of `spool.begin` from what was typed. Raises QuantityError, SetFileError's kinds."""
    wire = wire_of(size, enamel, film)
    body: dict[str, Any] = {"wire": wire.size.label, "enamel": wire.enamel, "film": wire.film}
    for key, text in (("mass", mass), ("empty", empty)):
        if text.strip():
            body[key] = read(text, Kind.MASS).value
    if "mass" in body and body.get("empty", 0.0) >= body["mass"]:
        raise QuantityError("a spool with wire weighs more than the empty spool", f"mass {mass}, empty {empty}")
    return body


def weigh_body(mass: str) -> dict[str, Any]:
    """Body of `spool.weigh`: spool and wire together on the scale. Raises QuantityError."""
    found = read(mass, Kind.MASS)
    return {"mass": found.value} | ({} if found.half_width is None else {"half_width": found.half_width})


def sample_body(metres: str, ohm: str, temperature: str = "") -> dict[str, Any]:
    """Body of `spool.sample`. Raises QuantityError."""
    body = {"metres": read(metres, Kind.LENGTH).value, "ohm": read(ohm, Kind.RESISTANCE).value}
    if body["metres"] < 0.5:
        raise QuantityError("a sample is some metres long", f'"{metres}"', "10 m: five loops round two nails 1 m apart")
    return body | ({"temperature": read(temperature, Kind.TEMPERATURE).value} if temperature.strip() else {})


# ---- what is known ----


def known(folder: Path, book: Book, name: str) -> SpoolKnown:
    """A spool as numbers. Raises BookProblem for a spool nobody has named."""
    state = fold_spool(book.events(spool=name), name)
    shop = _of_workshop(folder).get(name)
    wire = _wire_of(folder, state)
    if wire is None:
        raise BookProblem("the spool must be known", f'"{name[:32]}"', "adding it with its wire")
    begun = state.begun or {}
    empty = begun.get("empty", None if shop is None else shop.empty.value)
    drawn = drawn_from(book, name)
    found = [*_own_weighings(book, state), *(w for d in drawn for w in _weighings_beside(d))]
    last = max(found, key=lambda w: w.order, default=None)
    if last is None and shop is not None:
        last = Weighing((0, ""), shop.mass.value, shop.mass.half_width or MASS_READ, "the workshop file")
    rows, grams, booked = [], 0.0, 0.0
    for d in drawn:
        on_coil, wasted = _metres_at(d.here, d.state.turns), sum(w for _, w in _wastes(d))
        rows.append((d.state, on_coil, wasted))
        since = (0, "") if last is None else last.order
        gone = on_coil - _metres_at(d.here, turns_until(d.events, since))
        gone += sum(w for order, w in _wastes(d) if order > since)
        booked += max(0.0, gone)
        grams += max(0.0, gone) * (0.0 if d.here.model is None else named.mass_per_metre(d.here.model, wire))
    return SpoolKnown(
        name,
        wire,
        None if last is None else last.mass,
        empty,
        MASS_READ if last is None else last.half,
        "" if last is None else last.words,
        grams,
        booked,
        tuple(rows),
        state.samples[-1].body if state.samples else None,
    )


def left(spool: SpoolKnown, model: Model) -> Holds | None:
    """Metres left, from the mass of the wire; None where it was not weighed, full and empty."""
    mass = spool.wire_mass
    return None if mass is None else holds(model, spool.wire, mass, spool.wire_half)


def spool_left(spool: SpoolKnown) -> SpoolLeft | None:
    """The spool as an assessment takes it in; None where neither mass nor sample is known."""
    mass, read_ = spool.wire_mass, sample_of(spool.wire, spool.sample)
    learned = None if read_ is None or not read_.agrees else Learned(read_.ohm_per_metre, read_.half_width, 0)
    if mass is None and learned is None:
        return None
    return SpoolLeft(
        spool.name, spool.wire.size, spool.wire.enamel, spool.wire.film, mass or 0.0, spool.wire_half, learned
    )


def sampled(book: Book, name: str) -> SpoolLeft | None:
    """A spool's ohms per metre alone, where a sample was read that fits its wire; quick, for every press."""
    if not name:
        return None
    state = fold_spool(book.events(spool=name), name)
    wire = _wire_of(book.path.parent, state) if state.samples else None
    read_ = None if wire is None else sample_of(wire, state.samples[-1].body)
    if wire is None or read_ is None or not read_.agrees:
        return None
    learned = Learned(read_.ohm_per_metre, read_.half_width, 0)
    return SpoolLeft(name, wire.size, wire.enamel, wire.film, 0.0, 0.0, learned)


def sample_of(wire: Wire, body: Mapping[str, Any] | None) -> Sample | None:
    """What the body of a `spool.sample` says; None where there is none."""
    if body is None:
        return None
    return sample(wire, float(body["metres"]), float(body["ohm"]), body.get("temperature"))


def weighed_before(book: Book, name: str, coil: CoilState) -> float | None:
    """Mass of the spool as it was last weighed before this coil's first turn, no other coil between [kg]."""
    checks = [n for n in coil.checks if n.turns == 0 and n.body.get("spool_mass") is not None]
    if checks:
        return float(checks[-1].body["spool_mass"])
    events = book.events(spool=name)
    return _weighed_before(book, name, coil.serial, len(events))


@lru_cache(maxsize=64)
def _weighed_before(book: Book, name: str, serial: str, spool_events: int) -> float | None:
    """Asked at every press: it changes only with the spool's own events, which are counted for that."""
    state = fold_spool(book.events(spool=name), name)
    first = min((e.order for e in book.events(coil=serial) if e.kind in COUNTS), default=(1 << 60, ""))
    others = [d for d in drawn_from(book, name) if d.state.serial != serial]
    found = [*_own_weighings(book, state), *(w for d in others for w in _weighings_beside(d))]
    last = max((w for w in found if w.order < first), key=lambda w: w.order, default=None)
    if last is None:
        return None
    between = any(last.order < e.order < first for d in others for e in d.events if e.kind in COUNTS)
    return None if between else last.mass


# ---- inside ----


@dataclass(frozen=True, slots=True)
class Drawn:
    """A coil begun from a spool: its events that count, its state, its set."""

    state: CoilState
    here: WoundSet
    events: tuple[Event, ...]


def drawn_from(book: Book, name: str) -> tuple[Drawn, ...]:
    """Every coil that was begun from this spool and is wound, not unwound."""
    found = []
    for serial in book.coils():
        events = book.events(coil=serial)
        state = fold_coil(events, serial)
        if state.begun is None or state.begun.get("unwind") or state.begun.get("spool") != name:
            continue
        try:
            here = wound_set(book, state)
        except LodestringError:
            continue  # a set that can no longer be read: its wire is not known
        found.append(Drawn(state, here, tuple(e for e in events if e.id not in state.voided)))
    return tuple(found)


def _metres_at(here: WoundSet, turns: int) -> float:
    """Wire off the spool for so many turns [m]."""
    if here.model is None or turns <= 0:
        return 0.0
    return blocks.copper(here.model, here.pickup, here.coil, turns).length_off_spool


def _wastes(drawn: Drawn) -> list[tuple[tuple[int, str], float]]:
    """Order of each snap, and the wire of the turns taken off there [m]: the outermost of those that were on."""
    found = []
    for e in drawn.events:
        removed = int(e.body.get("removed") or 0) if e.kind == "coil.snap" else 0
        if removed > 0:
            stay = max(0, turns_until(drawn.events, e.order))
            found.append((e.order, _metres_at(drawn.here, stay + removed) - _metres_at(drawn.here, stay)))
    return found


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weighing of spool and wire: its place in the book's order, mass and half-width [kg], and where it was said."""

    order: tuple[int, str]
    mass: float
    half: float
    words: str


def _own_weighings(book: Book, state: SpoolState) -> Iterator[Weighing]:
    for e in book.events(spool=state.name):
        if e.id in state.voided or e.body.get("mass") is None:
            continue
        half = float(e.body.get("half_width") or MASS_READ)
        if e.kind == "spool.begin":
            yield Weighing(e.order, float(e.body["mass"]), half, "weighed when it came into the book")
        elif e.kind == "spool.weigh":
            yield Weighing(e.order, float(e.body["mass"]), half, f"weighed {e.at[:10]}")


def _weighings_beside(drawn: Drawn) -> Iterator[Weighing]:
    for e in drawn.events:
        if e.kind == "coil.check" and e.body.get("spool_mass") is not None:
            words = f"weighed {e.at[:10]} beside coil {drawn.state.serial}"
            yield Weighing(e.order, float(e.body["spool_mass"]), MASS_READ, words)


def _of_workshop(folder: Path) -> Mapping[str, Spool]:
    try:
        beside = workshop_beside(folder)
    except LodestringError:
        return {}
    return {} if beside is None else beside.record.spool


def _wire_of(folder: Path, state: SpoolState) -> Wire | None:
    """The wire a spool is said to hold; None where nothing, or nothing that exists, was said."""
    if state.begun is None:
        shop = _of_workshop(folder).get(state.name)
        return None if shop is None else shop.wire
    try:
        body = state.begun
        return wire_of(str(body["wire"]), str(body.get("enamel", "polyurethane")), str(body.get("film", "single")))
    except LodestringError:
        return None
