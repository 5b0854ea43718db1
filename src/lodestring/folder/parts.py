"""Sensible content for a part that is added, and what goes with one that is removed: pickups, coils, covers, controls.

Each is a set of changes in TOML source; every value put in stands marked "assumed" afterwards (see `sitting`). The
figures here are starts of common practice, no source: the findings say what they come to.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from lodestring.errors import FileProblem
from lodestring.folder.companions import Changes, get
from lodestring.folder.parts_added import MAKERS
from lodestring.folder.string_lists import string_lists
from lodestring.folder.typed import source


def added(data: Mapping[str, Any], path: str) -> Changes:
    """The changes that add a part at `path`. Raises FileProblem where there is one already or none belongs."""
    parts = path.split(".")
    each = len(parts) == 3 and parts[:2] == ["harness", "volume"] and parts[2].isdigit()
    if get(data, parts) is not None and not each:
        raise FileProblem("what is added must not be there yet", f'"{path}", which is', "another name")
    make = next((m for fits, m in MAKERS if fits(parts)), None)
    if make is None:
        raise FileProblem("this must be a part that can be added", f'"{path[:80]}"')
    return make(data, parts)


def removed(data: Mapping[str, Any], path: str) -> Changes:
    """The changes that take a part out, with what named it. Raises FileProblem where there is none or it must stay."""
    parts = path.split(".")
    if get(data, parts) is None:
        raise FileProblem("what is removed must be there", f'"{path[:80]}", which is not')
    if len(parts) == 2 and parts[0] == "pickup":
        if len(data["pickup"]) == 1:
            raise FileProblem("a set has at least one pickup", "its only one", "adding the other one first")
        return {path: None, **_unnamed(data, lambda n: n == parts[1] or n.startswith(f"{parts[1]}."), parts[1])}
    if len(parts) == 4 and parts[0] == "pickup" and parts[2] == "coil":
        if len(get(data, parts[:-1])) == 1:
            raise FileProblem("a pickup has at least one coil", "its only one", "adding the other one first")
        whole = ".".join(parts[:2])
        name = f"{parts[1]}.{parts[3]}"
        left = next(c for c in get(data, parts[:-1]) if c != parts[3])
        changes: Changes = {path: None, f"{whole}.connect": None}
        if "place" in (get(data, [*parts[:-1], left]) or {}):
            changes[f"{whole}.coil.{left}.place"] = None
        return {**changes, **_unnamed(data, lambda n: n == name, None)}
    if parts[:2] == ["harness", "positions"] and len(parts) == 3 and len(get(data, parts[:-1])) == 1:
        return {"harness.positions": None}
    if len(parts) == 3 and parts[:2] == ["instrument", "strings"]:
        return {path: None, **string_lists(data, -1, int(parts[2]))}
    return {path: None}


# ---- names of what goes ----


def _unnamed(data: Mapping[str, Any], gone: Callable[[str], bool], pickup: str | None) -> Changes:
    """Intent and selector without the names that go."""
    changes: Changes = {}
    intent = data.get("intent") or {}
    for key in ("cancel_hum", "out_of_phase"):
        pairs = intent.get(key)
        left = [p for p in pairs or () if not any(gone(n) for n in p)]
        if pairs is not None and left != pairs:
            changes[f"intent.{key}"] = source(left)
    if pickup is not None and (intent.get("level") or {}).get("reference") == pickup:
        changes["intent.level"] = None
    harness = data.get("harness") or {}
    positions = harness.get("positions")
    if positions is not None:
        left = []
        for position in positions:
            on = [n for n in position.get("on") or () if not gone(n)]
            if on:
                kept = {**position, "on": on}
                if "reversed" in kept:
                    kept["reversed"] = [n for n in kept["reversed"] if n in on]
                left.append(kept)
        if left != positions:
            changes["harness.positions"] = source(left) if left else None
    if (
        pickup is not None
        and len(data["pickup"]) == 2
        and harness.get("circuit") in ("two volumes, one tone", "blend, one tone")
    ):
        changes["harness.circuit"] = '"one volume, one tone"'
        if "blend" in harness:
            changes["harness.blend"] = None
        if isinstance(harness.get("volume"), list):
            changes["harness.volume"] = source(harness["volume"][0])
    elif pickup is not None and isinstance(harness.get("volume"), list):
        at = list(data["pickup"]).index(pickup)
        changes["harness.volume"] = source([v for i, v in enumerate(harness["volume"]) if i != at])
    return changes
