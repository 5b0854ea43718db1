"""What the book has truly learned: how this maker winds, and what is left on the spools. It feeds the assessment.

Packing and belly come from sizes measured at known turns, pace from the times between counts. A coil whose count was
an estimate teaches nothing of packing. One coil teaches with a wide interval; more narrow it, never below what a hand
repeats from coil to coil.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from lodestring.assess import blocks
from lodestring.book.event import Event
from lodestring.book.fold import CoilState, fold_coil
from lodestring.book.store import Book, open_book
from lodestring.design.learned import Hand, Learned, Spools
from lodestring.errors import LodestringError
from lodestring.folder.open_set import BOOK
from lodestring.folder.winding_pace import pace_of
from lodestring.folder.winding_set import WoundSet, begun, unsure, wound_set
from lodestring.physics import winding

PERFECT = winding.PERFECT_LAYERS
LEAST_TURNS = 1000
"""A coil that has grown less tells packing no better than the calipers."""
FIRST = {"packing": 0.10, "belly": 0.35, "pace": 0.20}
"""Half-width (90 %) as a share after one coil: how far the next coil may be from the only one. Assumed."""
REPEATS = {"packing": 0.04, "belly": 0.20, "pace": 0.08}
"""The least half-width after many coils: what a hand does not repeat better than. Assumed."""
_T90 = {1: 6.314, 2: 2.920, 3: 2.353, 4: 2.132, 5: 2.015, 6: 1.943, 7: 1.895, 8: 1.860, 9: 1.833}
"""Student's t, 95 % one-sided, by degrees of freedom (any table of the t distribution)."""


@dataclass(frozen=True, slots=True)
class Learnings:
    """Hand and spools for an assessment, None where nothing is known; `words`: what it rests on, or why it is none."""

    hand: Hand | None = None
    spools: Spools | None = None
    words: tuple[str, ...] = ()


def wound(book: Book, serial: str) -> tuple[CoilState, WoundSet]:
    """A begun coil with its set, what other coils and its spool have taught counted in. Raises BookProblem."""
    state = begun(book, serial)
    return state, wound_for(book, state)


def wound_for(book: Book, state: CoilState) -> WoundSet:
    """As `wound`, where the state is at hand."""
    hand = _hand_without(book, state.serial, book.coils(), _spool_events(book))
    return wound_set(book, state, hand, _spool_of(book, state))


def learned_here(folder: Path) -> Learnings:
    """What the book of a folder has learned; nothing where there is none, and a word where it cannot be read."""
    path = folder / BOOK
    try:
        stamp = tuple(
            (p.stat().st_mtime_ns, p.stat().st_size) for p in (path, path.with_name(f"{BOOK}-wal")) if p.exists()
        )
    except OSError:
        return Learnings()
    return _learned_at(path, stamp) if stamp else Learnings()


@lru_cache(maxsize=8)
def _learned_at(path: Path, stamp: tuple[tuple[int, int], ...]) -> Learnings:
    """Kept until the book's file changes, which `stamp` tells."""
    try:
        with open_book(path, read_only=True) as book:
            return learned(book, path.parent)
    except LodestringError as error:
        return Learnings(words=(f"the book is left out of account: {str(error).splitlines()[0]}",))


def learned(book: Book, folder: Path | None = None) -> Learnings:
    """What the book has learned. `folder`: where the workshop file is that may know spools, too."""
    from lodestring.folder.winding_spool import known, spool_left

    coils = list(_taught(book, ""))
    hand = _hand(coils)
    left = []
    for name in book.spools():
        try:
            found = spool_left(known(folder or book.path.parent, book, name))
        except LodestringError:
            continue
        if found is not None:
            left.append(found)
    return Learnings(hand, Spools(tuple(left)) if left else None, tuple(_words(hand, left)))


# ---- one coil ----


@dataclass(frozen=True, slots=True)
class Taught:
    """What one coil says: packing and belly [1], turns a second while cranking; None where it does not say."""

    serial: str
    packing: float | None
    belly: float | None
    pace: float | None


def taught(state: CoilState, events: Iterable[Event], here: WoundSet) -> Taught:
    """What a coil says of the hand that wound it. An unwound coil was wound by another."""
    if here.unwind or here.model is None:
        return Taught(state.serial, None, None, None)
    packing, belly = _shape(state, here)
    found = pace_of(events, state.voided)
    pace = found.cranking if found.cranked >= LEAST_TURNS else None
    return Taught(state.serial, packing, belly, pace)


def _shape(state: CoilState, here: WoundSet) -> tuple[float | None, float | None]:
    """Packing and belly from the last size that was measured at a sure count of enough turns."""
    last = next((n for n in reversed(state.checks) if n.turns >= LEAST_TURNS and n.body.get("end") is not None), None)
    if last is None or unsure(state, last) or here.model is None:
        return None, None
    record = here.record
    given = blocks.copper_in(here.model, here.pickup, here.coil, last.turns)
    end = (float(last.body["end"]) - given.straight) / 2.0 - given.inner
    if end <= 0.0 or record is None or record.packing != "hand":
        return None, None
    overall = given.overall / math.sqrt(1.0 + given.strain)
    packing = last.turns * math.pi * overall**2 / (4.0 * end * given.height)
    belly = None
    if last.body.get("side") is not None:
        belly = (float(last.body["side"]) / 2.0 - given.inner) / end - 1.0
    if belly is not None and not -0.05 < belly < 0.6:
        belly = None  # calipers across a lead, or a slip of the finger
    return (packing if 0.3 < packing < PERFECT else None), belly


# ---- all coils ----


def _taught(book: Book, without: str) -> Iterable[Taught]:
    for serial in book.coils():
        if serial == without:
            continue
        events = book.events(coil=serial)
        state = fold_coil(events, serial)
        if state.begun is None:
            continue
        try:
            yield taught(state, events, wound_set(book, state))
        except LodestringError:
            continue  # a set that can no longer be read teaches nothing


def _hand(coils: Sequence[Taught]) -> Hand | None:
    packing = _mean("packing", [c.packing for c in coils if c.packing is not None])
    belly = _mean("belly", [c.belly for c in coils if c.belly is not None])
    pace = _mean("pace", [c.pace for c in coils if c.pace is not None])
    if packing is None and belly is None and pace is None:
        return None
    if packing is not None:  # nothing packs closer than a perfect stack
        packing = Learned(packing.value, min(packing.half_width, PERFECT - packing.value), packing.coils)
    return Hand(packing, belly, None, pace)


def _mean(what: str, values: Sequence[float]) -> Learned | None:
    """Mean, and where the next coil's value lies nine times in ten."""
    if not values:
        return None
    mean, count = statistics.fmean(values), len(values)
    least = REPEATS[what] * abs(mean)
    if count == 1:
        return Learned(mean, FIRST[what] * max(abs(mean), 0.05), 1)
    t = _T90.get(count - 1, 1.75)
    half = t * statistics.stdev(values) * math.sqrt(1.0 + 1.0 / count)
    first = FIRST[what] * max(abs(mean), 0.05)
    return Learned(mean, max(least, min(half, 2.0 * first)), count)


def _words(hand: Hand | None, left: Sequence[object]) -> Iterable[str]:
    for what, found in (
        ("packing", hand.packing if hand else None),
        ("belly", hand.belly if hand else None),
        ("pace", hand.pace if hand else None),
    ):
        if found is not None:
            yield f"{what} learned from {found.coils} coil{'' if found.coils == 1 else 's'} of this hand"
    if left:
        yield f"{len(left)} spool{'' if len(left) == 1 else 's'} weighed or sampled"


# ---- for the coil on the winder ----


def _spool_events(book: Book) -> int:
    return sum(len(book.events(spool=name)) for name in book.spools())


@lru_cache(maxsize=16)
def _hand_without(book: Book, serial: str, coils: tuple[str, ...], spool_events: int) -> Hand | None:
    """What the other coils have taught, as it was when this page was first asked for; `coils` and `spool_events` say
    when that is no longer so. Asked at every press."""
    return _hand(list(_taught(book, serial)))


def _spool_of(book: Book, state: CoilState) -> Spools | None:
    """The coil's own spool, where a sample was read that fits its wire: it tells the wire's diameter."""
    from lodestring.folder.winding_spool import sampled

    found = sampled(book, str((state.begun or {}).get("spool", "")))
    return None if found is None else Spools((found,))
