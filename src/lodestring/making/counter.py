"""The winder's own counter: what it shows <-> turns on the coil, and what one crank tells of a winder.

A counter counts cranks or turns. One that counts cranks of a geared winder shows a fifth, say, of the turns. It may be
set back to zero in the middle of a coil; `zero` is the number of turns the coil had where the counter would read zero
(negative where it stood at some number before the first turn).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from lodestring.design.workshop import Winder
from lodestring.errors import QuantityError
from lodestring.making.winding_plan import grouped
from lodestring.making.winding_plan import reading as shown_reading

LARGEST = 10_000_000
"""Turns no coil of this trade comes near; a longer number is a slip of the finger."""
SPACES = "\u202f\u00a0\u2009 "
_SPACED = re.compile(rf"\d{{1,3}}(?:[{SPACES}]\d{{3}})+")
_AND_TURNS = re.compile(rf"(?P<cranks>[\d{SPACES}]+?)\s*(?:and|\+)\s*(?P<turns>\d+)(?:\s*turns?(?:\s+more)?)?")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_UNIT = re.compile(r"\s*(?:cranks?|turns?)\s*$")


@dataclass(frozen=True, slots=True)
class Crank:
    """What one crank (or a few) told of a winder."""

    counts: Literal["cranks", "turns"]
    turns_per_crank: int
    spindle: Literal["same", "reversed"]
    sentence: str


def unit_of(winder: Winder | None) -> str:
    """What the counter counts: "cranks" or "turns"."""
    return "turns" if winder is None else winder.counts


def reading_at(turns: int, winder: Winder | None, zero: int = 0) -> str:
    """What the counter shows when `turns` are on the coil. Below its zero it shows a number with a minus."""
    since = turns - zero
    return shown_reading(since, winder) if since >= 0 else f"\u2212{shown_reading(-since, winder)}"


def turns_at(text: str, winder: Winder | None, zero: int = 0) -> int:
    """Turns on the coil when the counter shows `text`: `1 560`, `1 560 and 3 turns more`, `312.4` (cranks).

    Raises QuantityError with a sentence for what is no reading of this counter.
    """
    return zero + _counted(text, winder)


def _counted(text: str, winder: Winder | None) -> int:
    plain = " ".join(text.split()).strip()
    minus = plain[:1] in ("-", "\u2212")
    plain = plain.lstrip("-\u2212").strip()
    crank = winder.turns_per_crank if winder is not None and winder.counts == "cranks" else 1
    found = _AND_TURNS.fullmatch(plain)
    if found is not None and crank > 1:
        count = _whole(found["cranks"], text) * crank + _within(int(found["turns"][:9]), crank, text)
    else:
        count = _turns(_UNIT.sub("", plain), crank, text)
    if count > LARGEST:
        raise QuantityError(f"a reading stands for at most {grouped(LARGEST)} turns", _quoted(text))
    return -count if minus else count


def _within(rest: int, crank: int, text: str) -> int:
    if rest >= crank:
        raise QuantityError(f"turns beyond whole cranks are fewer than the {crank} of a crank", _quoted(text))
    return rest


def _whole(text: str, typed: str) -> int:
    joined = text.strip()
    if _SPACED.fullmatch(joined):
        joined = re.sub(f"[{SPACES}]", "", joined)
    if not joined.isascii() or not joined.isdigit() or len(joined) > 12:
        raise QuantityError("the counter's reading is a number", _quoted(typed), "1560")
    return int(joined)


def _turns(plain: str, crank: int, typed: str) -> int:
    if _NUMBER.fullmatch(plain) is None or plain.isdigit():
        return _whole(plain, typed) * crank
    whole, _, part = plain.replace(",", ".").partition(".")
    if len(part) == 3 and len(whole) <= 3 and int(whole):
        raise QuantityError(
            "a comma or point before exactly three digits may part thousands or decimals, so it is not guessed",
            _quoted(typed),
            f"{whole}{part}",
        )
    turns = float(f"{whole[:12]}.{part[:12]}") * crank
    if abs(turns - round(turns)) > 0.5 * 10.0 ** -len(part) * crank + 1e-9:
        what = "turns are whole" if crank == 1 else f"a crank has {crank} turns, and turns are whole"
        raise QuantityError(what, _quoted(typed), f"{plain.partition('.')[0]}")
    return round(turns)


def _quoted(text: str) -> str:
    return f'"{text[:40]}"' if text.strip() else "nothing"


def crank_once(counter_added: str, spindle_turns: str, way: str, cranks: str = "1") -> Crank:
    """A winder from cranking slowly and looking: what its counter added, how often the spindle went round, and
    whether it went round the same way as the crank. `cranks`: how many were made; ten tell a gear train better.

    Raises QuantityError where the three do not go together.
    """
    made, added, round_ = (
        _plain(t, w)
        for t, w in ((cranks, "cranks made"), (counter_added, "added by the counter"), (spindle_turns, "spindle turns"))
    )
    if way not in ("same", "reversed"):
        raise QuantityError('the spindle turns "same" as the crank, or "reversed"', _quoted(way))
    if round_ < made:
        raise QuantityError(
            "the spindle turns at least once for a crank",
            f"{grouped(round_)} turns for {grouped(made)} cranks",
            "counting again, slowly",
        )
    geared = round_ / made
    crank = round(geared)
    slip = 1 if made >= 10 else 0  # who counts fifty turns may be one off; who counts five is not
    if abs(round_ - made * crank) > slip:
        raise QuantityError(
            "a winder makes a whole number of turns for a crank",
            f"{geared:g}",
            "ten cranks from the same position of the handle, counted again",
        )
    if abs(added - made * crank) <= (slip if crank > 1 else 0):
        counts: Literal["cranks", "turns"] = "turns"
    elif added == made:
        counts = "cranks"
    else:
        raise QuantityError(
            "the counter counts cranks or turns",
            f"{grouped(added)} for {grouped(made)} cranks and {grouped(round_)} turns",
            "setting the counter to zero, then cranking again",
        )
    spindle: Literal["same", "reversed"] = "same" if way == "same" else "reversed"
    gear = "one turn of the bobbin" if crank == 1 else f"{crank} turns of the bobbin"
    round_way = "the same way as the crank" if spindle == "same" else "the other way round than the crank"
    what = "turns" if crank == 1 else counts
    return Crank(
        counts, crank, spindle, f"One crank is {gear}, the counter counts {what}, the spindle turns {round_way}."
    )


def _plain(text: str, what: str) -> int:
    joined = "".join(text.split())
    if not joined.isascii() or not joined.isdigit() or not 0 < int(joined[:9]) <= 100_000 or len(joined) > 9:
        raise QuantityError(f"the number of {what} is a whole number above 0", _quoted(text), "1")
    return int(joined)
