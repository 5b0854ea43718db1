"""A wire that snapped: what is on the coil now, and the three ways on, each with its figures (trade.md 4)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.book.store import Book
from lodestring.errors import QuantityError
from lodestring.folder.winding_count import counter_zero, covers
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_set import WoundSet
from lodestring.folder.winding_spool import known, left
from lodestring.making.cards import Card, cards
from lodestring.making.coil_as_it_is import AsItIs, as_it_is
from lodestring.making.counter import turns_at
from lodestring.making.spool_left import Holds, fits
from lodestring.making.winding_plan import grouped
from lodestring.quantity.figures import Figure, figure

CAUSES = (
    "jerk at a restart",
    "edge of the spool",
    "edge of a plate",
    "felt too tight",
    "kink or loop in the wire",
    "not known",
)
FEW = 0.02
"""A coil short of its target by less than this share differs by less than a hand's own spread of 5 to 8 per cent of
resistance (trade.md, common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Splice:
    """Splice and go on: `possible` where the end was found and there is a coil to go on with."""

    possible: bool
    sentence: str
    card: Card


@dataclass(frozen=True, slots=True)
class StopHere:
    """Keep the coil as it is: every figure as drawn and as it is."""

    possible: bool
    sentence: str
    rows: tuple[AsItIs, ...]


@dataclass(frozen=True, slots=True)
class StartAgain:
    """Wind it anew: metres needed with the reserve, metres left; `fits` "yes", "perhaps", "no" or "unknown"."""

    fits: str
    sentence: str
    needed: Figure | None
    left: Figure | None


@dataclass(frozen=True, slots=True)
class SnapOptions:
    """`turns`: on the coil after the overrun and what was taken off. `count`: body of the `coil.count` to send first;
    `snap`: body of the `coil.snap`, to which the page adds `then` ("spliced", "kept", "scrapped") and `cause`.
    """

    turns: int
    sentence: str
    count: Mapping[str, Any]
    snap: Mapping[str, Any]
    causes: tuple[str, ...]
    splice: Splice
    stop: StopHere
    again: StartAgain


def snap_options(
    folder: Path,
    book: Book,
    serial: str,
    *,
    reading: str = "",
    overrun: int = 0,
    found_end: bool = True,
    removed: int = 0,
) -> SnapOptions:
    """The choice at a snap. reading: what the counter shows, "" where the count on the page is right; overrun: empty
    turns after the break, in turns; removed: turns taken off to find the end.

    Raises BookProblem, QuantityError where more is taken off than was wound.
    """
    state, here = wound(book, serial)
    if overrun < 0 or removed < 0:
        raise QuantityError("turns run empty and turns taken off are counted from 0", f"{overrun} and {removed}")
    shown = state.turns if not reading.strip() else turns_at(reading, here.winder, counter_zero(state, here))
    turns = shown - overrun - removed
    if turns < 0:
        raise QuantityError(
            "the coil keeps 0 turns or more", f"{grouped(shown)} less {grouped(overrun)} less {grouped(removed)}"
        )
    count = {"turns": turns, "covers": covers(state), "why": "typed"}
    if reading.strip():
        count["reading"] = reading.strip()[:40]
    body = {"overrun": overrun, "found_end": found_end, "removed": removed}
    short = here.target - turns
    return SnapOptions(
        turns,
        f"{grouped(turns)} turns are on the coil, {grouped(max(0, short))} short of {grouped(here.target)}.",
        count,
        body,
        CAUSES,
        _splice(turns, found_end),
        _stop(here, turns),
        _again(folder, book, here),
    )


def _splice(turns: int, found_end: bool) -> Splice:
    card = cards()["splice"]
    if turns == 0:
        return Splice(False, "Nothing is on the coil: begin anew with a fresh start wire.", card)
    if not found_end:
        return Splice(
            False, "Without the coil's end there is nothing to splice to: take turns off until you have it.", card
        )
    return Splice(True, f"Splice at turn {grouped(turns)} and go on; the joint is kept in the book.", card)


def _stop(here: WoundSet, turns: int) -> StopHere:
    if here.model is None or turns == 0:
        return StopHere(False, "There is no coil yet to keep.", ())
    rows = as_it_is(here.model, here.pickup, here.coil, turns)
    short = (here.target - turns) / here.target
    sentence = f"Keep it with {grouped(turns)} turns, {100 * short:.0f} % short: the figures beside those as drawn."
    if 0.0 <= short < FEW:
        sentence += " That is within what one hand's coils differ by."
    return StopHere(True, sentence, rows)


def _again(folder: Path, book: Book, here: WoundSet) -> StartAgain:
    if here.model is None:
        return StartAgain("unknown", "An old coil cannot be wound again without a set.", None, None)
    path, units = here.path, here.model.inputs.units
    need = here.model.fact(f"{path}.wire_for_spool")
    bare = here.model.fact(f"{path}.wire_length").number
    there = _there(folder, book, here)
    needed = figure(need.number, "m", need.low, need.high, units)
    on_spool = None if there is None else figure(there.metres, "m", there.low, there.high, units)
    answer = fits(bare, need.number, there)
    words = {
        "yes": "the spool holds enough for a new coil in one piece",
        "perhaps": "the spool holds enough only without its reserve; weigh it before you decide",
        "no": "the spool does not hold a new coil in one piece",
        "unknown": "what is left on the spool is not known; weigh it, full and empty",
    }
    has = "" if on_spool is None else f", {on_spool.text} left"
    return StartAgain(answer, f"{needed.text} needed{has}: {words[answer]}.", needed, on_spool)


def _there(folder: Path, book: Book, here: WoundSet) -> Holds | None:
    """Metres left. Turns taken off at this snap still count as wound, so they are gone from the spool already."""
    if not here.spool or here.model is None:
        return None
    return left(known(folder, book, here.spool), here.model)
