"""One event of the book: who saw what, when, about which coil or spool (contract 5, version 1).

An event is never changed. What a device sends is read here once, against limits that no honest event comes near.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.book.kinds import check_body
from lodestring.book.problem import BookProblem

VERSION = 1
LINE_BYTES = 64 * 1024
MOST = 2**53 - 1
"""The largest whole number that every device can hold exactly (ECMA-262, Number.MAX_SAFE_INTEGER)."""
DEEPEST = 8

_ID = re.compile(r"[0-9a-f]{32}")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,31}")
_AT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(?:\.\d{1,6})?Z", re.ASCII)
_KIND = re.compile(r"[a-z]{1,16}(?:\.[a-z_]{1,16})?")
_FIELDS = {"v", "id", "device", "n", "lamport", "at", "coil", "spool", "kind", "body"}


@dataclass(frozen=True, slots=True)
class Event:
    """One event. Exactly one of `coil` (a serial) and `spool` (a name) is filled. `n`: the device's own count, from 1;
    `lamport`: 1 + the highest it had seen; `at`: the device's time, UTC."""

    v: int
    id: str
    device: str
    n: int
    lamport: int
    at: str
    coil: str
    spool: str
    kind: str
    body: Mapping[str, Any]

    @property
    def order(self) -> tuple[int, str]:
        """What "last" means in the book: the greater (lamport, id)."""
        return self.lamport, self.id


def read_event(data: object) -> Event:
    """An event out of decoded JSON. Raises BookProblem, with a sentence, for what is none."""
    if not isinstance(data, dict):
        raise _bad("an event is an object with its envelope", type(data).__name__)
    unknown = sorted(str(key)[:40] for key in data if key not in _FIELDS)
    if unknown:
        raise _bad("the envelope of an event holds " + ", ".join(sorted(_FIELDS)), f"also {unknown[0]}")
    if whole(data.get("v"), "v", 1, 1_000_000) != VERSION:
        raise BookProblem(f"an event has version {VERSION}", f"{data['v']}", "a newer Lodestring")
    coil, spool = data.get("coil") or "", data.get("spool") or ""
    if bool(coil) == bool(spool):
        raise _bad("an event is about one coil or one spool", "both" if coil else "neither")
    body = data.get("body", {})
    if not isinstance(body, dict):
        raise _bad("the body of an event is an object", type(body).__name__)
    _check_depth(body, DEEPEST)
    kind = matched(data.get("kind"), "kind", _KIND)
    check_body(kind, body)
    return Event(
        VERSION,
        matched(data.get("id"), "id", _ID),
        matched(data.get("device"), "device", _NAME),
        whole(data.get("n"), "n", 1, MOST),
        whole(data.get("lamport"), "lamport", 1, MOST),
        matched(data.get("at"), "at", _AT),
        matched(coil, "coil", _NAME) if coil else "",
        matched(spool, "spool", _NAME) if spool else "",
        kind,
        body,
    )


def line(event: Event) -> str:
    """The event as one line of JSON, always the same letters for the same event."""
    told = {name: getattr(event, name) for name in ("v", "id", "device", "n", "lamport", "at", "kind")}
    told |= {"coil": event.coil} if event.coil else {"spool": event.spool}
    told["body"] = dict(event.body)
    return json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def parse_line(text: str) -> Event:
    """An event out of its line. Raises BookProblem for what is none, or is longer than a line may be."""
    if len(text.encode("utf-8", "surrogatepass")) > LINE_BYTES:
        raise _bad(f"an event has at most {LINE_BYTES // 1024} KiB", "a longer one")
    return read_event(parse_json(text))


def parse_json(text: str) -> Any:
    """JSON as the standard has it (RFC 8259): no NaN, no name twice, no number that is out of a computer's reach."""
    try:
        return json.loads(
            text, parse_constant=_no_number, parse_float=_finite, parse_int=_integer, object_pairs_hook=_once
        )
    except RecursionError:
        raise _bad("JSON is nested a few levels deep", "hundreds") from None
    except json.JSONDecodeError as error:
        raise _bad("a line is JSON", f"{error.msg} at letter {error.pos + 1}") from None


def matched(value: object, name: str, pattern: re.Pattern[str]) -> str:
    """A text of the shape that the envelope asks for. Raises BookProblem."""
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise _bad(f"{name} of an event has the shape {pattern.pattern}", f'"{str(value)[:40]}"')
    return value


def whole(value: object, name: str, low: int, high: int) -> int:
    """A whole number within limits. Raises BookProblem."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise _bad(f"{name} of an event is a whole number from {low} to {high}", f'"{str(value)[:40]}"')
    return value


def _check_depth(value: object, left: int) -> None:
    if left < 0:
        raise _bad("the body of an event is nested a few levels deep", "a deeper one")
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise _bad("names in a body are texts", type(key).__name__)
            _check_text(key)
            _check_depth(inner, left - 1)
    elif isinstance(value, list):
        for inner in value:
            _check_depth(inner, left - 1)
    elif isinstance(value, float) and not math.isfinite(value):
        raise _bad("numbers in a body are finite", str(value))
    elif isinstance(value, int) and not isinstance(value, bool) and abs(value) > MOST:
        raise _bad("numbers in a body are within reach of every device", "one of " + str(value.bit_length()) + " bits")
    elif isinstance(value, str):
        _check_text(value)
    elif value is not None and not isinstance(value, (int, float)):
        raise _bad("a body holds what JSON holds", type(value).__name__)


def _check_text(text: str) -> None:
    if any(0xD800 <= ord(letter) <= 0xDFFF for letter in text):
        raise _bad("texts in a body are Unicode", "half a pair of surrogates")


def _no_number(text: str) -> float:
    raise _bad("numbers of JSON are finite", text)


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise _bad("numbers of JSON are within reach of a computer", text[:20])
    return value


def _integer(text: str) -> int:
    if len(text) > 20:
        raise _bad("whole numbers have at most 20 digits", f"{len(text)} digits")
    return int(text)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise _bad("a name stands once in an object", "one that stands twice")
    return made


def _bad(must: str, came: str) -> BookProblem:
    return BookProblem(must, came, "sending it again from the page it was made on")
