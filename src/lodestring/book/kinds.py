"""The kinds of events and what their bodies hold (contract 5). A kind that is not known here is kept and shown.

New keys may be added to a body; none is taken away or changes its meaning. So a body is checked for what it must hold
and for the types of what is known, and unknown keys are let through.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from lodestring.book.problem import BookProblem

Check = Callable[[Any], str]
"""Empty, or what the value must be."""

MOST_TURNS = 10_000_000
TEXT = 4000
DEVICES = 1000
"""Pages that may have counted one coil: each page that is opened is a device of its own."""
_SHA = re.compile(r"[0-9a-f]{64}")
_ID = re.compile(r"[0-9a-f]{32}")


def text(most: int = 200) -> Check:
    """A text of so many letters."""
    return lambda v: "" if isinstance(v, str) and len(v) <= most else f"a text of at most {most} letters"


def number(low: float = -math.inf, high: float = math.inf) -> Check:
    """A finite number within limits."""

    def check(v: Any) -> str:
        fine = isinstance(v, (int, float)) and not isinstance(v, bool) and math.isfinite(v) and low <= v <= high
        return "" if fine else f"a number from {low:g} to {high:g}"

    return check


def integer(low: int, high: int) -> Check:
    """A whole number within limits."""

    def check(v: Any) -> str:
        fine = isinstance(v, int) and not isinstance(v, bool) and low <= v <= high
        return "" if fine else f"a whole number from {low} to {high}"

    return check


def one_of(*words: str) -> Check:
    """One of some words."""
    return lambda v: "" if v in words else f"one of {', '.join(words)}"


def yes_or_no(v: Any) -> str:
    """True or false."""
    return "" if isinstance(v, bool) else "true or false"


def sha(v: Any) -> str:
    """A content hash, or nothing."""
    return "" if v is None or (isinstance(v, str) and _SHA.fullmatch(v)) else "64 hexadecimal digits"


def event_id(v: Any) -> str:
    """Id of an event."""
    return "" if isinstance(v, str) and _ID.fullmatch(v) else "32 hexadecimal digits"


def covers(v: Any) -> str:
    """For each device its highest number that is included."""
    fine = (
        isinstance(v, dict)
        and len(v) <= DEVICES
        and all(isinstance(n, int) and not isinstance(n, bool) and n >= 0 for n in v.values())
    )
    return "" if fine else f"numbers by device, at most {DEVICES} of them"


def table(v: Any) -> str:
    """A table of its own."""
    return "" if isinstance(v, dict) else "a table"


def _value(v: Any) -> str:
    return "" if number()(v) == "" or text(40)(v) == "" else "a number or a word"


_TURNS = integer(-MOST_TURNS, MOST_TURNS)
_LENGTH = number(0.0, 1.0)
_MASS = number(0.0, 10.0)

_BEGIN: Mapping[str, Check] = {
    "serial": text(32), "set": sha, "path": text(128), "target": integer(1, MOST_TURNS),
    "turns_per_crank": integer(1, 10_000),
}  # fmt: skip
_BEGIN_MAY: Mapping[str, Check] = {
    "workshop": sha, "spool": text(32), "unwind": yes_or_no, "counts": one_of("cranks", "turns"), "winder": text(32),
    "name": text(64), "again": text(32),
}  # fmt: skip
_SNAP_MAY: Mapping[str, Check] = {
    "cause": text(80), "overrun": integer(0, MOST_TURNS), "found_end": yes_or_no, "removed": integer(0, MOST_TURNS),
}  # fmt: skip
_MEASURE_MAY: Mapping[str, Check] = {
    "unit": text(12), "instrument": text(80), "temperature": number(0.0, 500.0), "at": table, "half_width": number(0.0),
}  # fmt: skip

# kind: (keys it must hold, keys it may hold). Lengths m, masses kg, temperatures K, as everywhere inside.
KINDS: Mapping[str, tuple[Mapping[str, Check], Mapping[str, Check]]] = {
    "coil.begin": (_BEGIN, _BEGIN_MAY),
    "coil.turns": (
        {"turns": _TURNS, "by": one_of("tap", "key", "typed", "sensor")},
        {"total": integer(0, MOST_TURNS), "start": text(32)},
    ),
    "coil.count": (
        {"turns": _TURNS, "covers": covers},
        {"reading": text(40), "why": one_of("typed", "reset", "estimate", "start"), "low": _TURNS, "high": _TURNS},
    ),
    "coil.check": ({}, {"end": _LENGTH, "side": _LENGTH, "spool_mass": _MASS}),
    "coil.snag": ({}, {"text": text()}),
    "coil.snap": ({"then": one_of("spliced", "kept", "scrapped")}, _SNAP_MAY),
    "coil.aim": ({"target": integer(1, MOST_TURNS)}, {}),
    "coil.wire_end": ({"end": one_of("start", "finish")}, {"text": text()}),
    "coil.wax": ({"temperature": number(0.0, 500.0), "minutes": number(0.0, 1e4)}, {}),
    "coil.end": ({"state": one_of("wound", "scrapped", "kept short", "unwound", "potted", "fitted")}, {}),
    "spool.begin": ({"wire": text(80)}, {"film": text(20), "enamel": text(40), "mass": _MASS, "empty": _MASS}),
    "spool.weigh": ({"mass": _MASS}, {"half_width": _MASS}),
    "spool.sample": ({"metres": number(0.01, 1e5), "ohm": number(0.0, 1e9)}, {"temperature": number(0.0, 500.0)}),
    "measure": ({"quantity": text(40), "value": _value}, _MEASURE_MAY),
    "note": ({"text": text(TEXT)}, {}),
    "photo": ({"sha256": sha}, {"text": text()}),
    "counter.take": ({"device": text(32), "covers": covers}, {}),
    "counter.admit": ({"device": text(32), "to": integer(0, 2**53 - 1)}, {}),
    "device.name": ({"label": text(40)}, {}),
    "void": ({"event": event_id}, {}),
}


def check_body(kind: str, body: Mapping[str, Any]) -> None:
    """Raises BookProblem where a known kind's body lacks something or holds another type; unknown kinds pass."""
    if kind not in KINDS:
        return
    must, may = KINDS[kind]
    for key, check in must.items():
        if key not in body:
            raise BookProblem(f"the body of {kind} holds {', '.join(must)}", f"none of the name {key}", "filling it in")
        _check(kind, key, body[key], check)
    for key, check in may.items():
        if body.get(key) is not None:
            _check(kind, key, body[key], check)


def _check(kind: str, key: str, value: Any, check: Check) -> None:
    wanted = check(value)
    if wanted:
        raise BookProblem(f"{key} of {kind} is {wanted}", f'"{str(value)[:40]}"', "correcting it")
