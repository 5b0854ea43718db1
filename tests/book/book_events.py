"""Makers of events for tests."""

from __future__ import annotations

from typing import Any

from lodestring.book.event import Event, read_event

BEGIN = {"serial": "c", "set": None, "path": "pickup.bridge.coil.main", "target": 7800, "turns_per_crank": 1}


def event(
    number: int, kind: str, body: dict[str, Any], *, device: str = "phone", n: int = 0, lamport: int = 0,
    coil: str = "c", spool: str = "", at: str = "2026-11-25T06:00:00Z",
) -> Event:  # fmt: skip
    """Event number so-and-so: its id is the number; n and lamport are the number too unless given."""
    about = {"spool": spool} if spool else {"coil": coil}
    return read_event(
        {
            "v": 1, "id": f"{number:032x}", "device": device, "n": n or number, "lamport": lamport or number, "at": at,
            "kind": kind, "body": body, **about,
        }
    )  # fmt: skip


def turns(number: int, k: int = 1, **envelope: Any) -> Event:
    """Some turns by a tap."""
    return event(number, "coil.turns", {"turns": k, "by": "tap"}, **envelope)
