"""Lists with one value a string or a pole piece, made to fit when a string comes or goes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lodestring.folder.companions import Changes
from lodestring.folder.typed import source


def string_lists(data: Mapping[str, Any], by: int, number: int) -> Changes:
    """Lists with one value a string made to fit one string more or fewer; `number` is the string that goes or comes."""
    changes: Changes = {}

    def fit(path: str, values: Any, each: int = 1) -> None:
        if isinstance(values, list) and len(values) >= each * number - (each if by > 0 else 0):
            at = each * (number - 1)
            new = values[:at] + values[at + each :] if by < 0 else [*values[:at], *values[at - each : at], *values[at:]]
            changes[path] = source(new)

    for end in ("nut", "bridge"):
        centres = (data["instrument"].get(end) or {}).get("centres")
        if isinstance(centres, list) and by > 0:
            continue  # where the new string lies, nobody can guess: the reader asks for it
        fit(f"instrument.{end}.centres", centres)
    for name, pickup in (data.get("pickup") or {}).items():
        fit(f"pickup.{name}.string_centres", pickup.get("string_centres") if by < 0 else None)
        for coil, record in (pickup.get("coil") or {}).items():
            if record.get("strings") is not None:
                served = [s - (s > number) for s in record["strings"] if s != number] if by < 0 else record["strings"]
                if served and served != record["strings"]:
                    changes[f"pickup.{name}.coil.{coil}.strings"] = source(served)
                continue
            poles = record.get("poles") or {}
            each = {"one per string": 1, "two per string": 2}.get(str((poles.get("layout") or {}).get("kind")), 0)
            if each:
                above = f"pickup.{name}.coil.{coil}.poles"
                for key in ("up", "height", "state"):
                    fit(f"{above}.{key}", poles.get(key), each)
                fit(f"{above}.body.length", (poles.get("body") or {}).get("length"), each)
    return changes
