"""What has to change along with a value, so that no field of a form is a dead end.

Steel pole pieces have no `up` and magnets need one: whoever picks "steel" would be refused, and taking `up` out first
would be refused too. So one step does both, says so, and one undo takes both back. Only values that could not stand are
taken out, and what is put in stands with the mark "assumed".
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lodestring.design.harness import NEEDS
from lodestring.folder.typed import quoted

Changes = dict[str, str | None]
SPREADS = ("span", "pitch", "outside", "centres")
STEEL, MAGNET = "low-carbon steel", "alnico 5"


def companions(data: Mapping[str, Any], path: str, value: Any) -> Changes:
    """Further changes that go with `path` set to `value` (None: taken out), as TOML source. `data` is the file now."""
    parts = path.split(".")
    holder, last = get(data, parts[:-1]), parts[-1]
    above = ".".join(parts[:-1])
    if not isinstance(holder, Mapping):
        return {}
    if parts[0] == "instrument":
        return _instrument(data, holder, parts, value)
    if parts[:1] == ["harness"]:
        return _harness(data, path, value)
    if last == "kind" and parts[-2] == "body":
        return _body(data, above, holder, parts, value)
    if last == "kind" and parts[-2] == "layout":
        return _layout(data, above, holder, parts, value)
    if last == "kind" and parts[-2] == "core":
        wall = (
            {"wall": '"1.2 mm"', "wrap": None}
            if value == "walled"
            else {"wrap": '"0.1 mm"', "wall": None, "length": None, "width": None}
        )
        return _put(above, holder, wall)
    if last == "kind" and parts[-2] == "potting":
        wax = {"paraffin": "80", "beeswax": "20", "temperature": '"62 C"'}
        return _put(above, holder, wax if value in ("wax", None) else dict.fromkeys(wax))
    if last == "size" and parts[-2] == "wire" and isinstance(value, str):
        return _film(above, holder, value)
    return {}


def get(data: Any, parts: list[str]) -> Any:
    """The value at a key path, list items counted from 1; None where there is none."""
    for part in parts:
        if isinstance(data, list):
            data = data[int(part) - 1] if part.isdigit() and 1 <= int(part) <= len(data) else None
        else:
            data = data.get(part) if isinstance(data, Mapping) else None
    return data


def _put(above: str, holder: Mapping[str, Any], wanted: Mapping[str, str | None]) -> Changes:
    """Of the wanted values those that are missing, of the unwanted (None) those that are there."""
    return {f"{above}.{key}": source for key, source in wanted.items() if (key in holder) == (source is None)}


def _instrument(data: Mapping[str, Any], holder: Mapping[str, Any], parts: list[str], value: Any) -> Changes:
    above, last = ".".join(parts[:-1]), parts[-1]
    if parts[1] in ("nut", "bridge") and last in SPREADS and value is not None:
        gone: dict[str, str | None] = {key: None for key in SPREADS if key != last}
        return _put(above, holder, gone if last == "outside" else {**gone, "gaps": None})
    if len(parts) == 4 and last in ("core", "wrap"):
        other = "wrap" if last == "core" else "core"
        if value is None:
            return _put(above, holder, {other: None})
        if other not in holder:
            thin = f"{holder.get('diameter', '0.040 in')}"
            return {f"{above}.{other}": '"nickel-plated steel"' if other == "wrap" else _half(thin)}
    if parts[1:] == ["frets"]:
        changes: Changes = _put("instrument", holder, {"action": None}) if value == 0 else {}
        for name, pickup in (data.get("pickup") or {}).items():
            gap = pickup.get("gap") if isinstance(pickup, Mapping) else None
            if value == 0 and isinstance(gap, Mapping) and gap.get("when") != "at rest":
                changes[f"pickup.{name}.gap.when"] = '"at rest"'
        return changes
    return {}


def _half(diameter: str) -> str:
    """About 0.45 of a diameter, in its own unit: a core, until it is measured."""
    from lodestring.errors import LodestringError
    from lodestring.quantity import Kind, read, show_value

    try:
        return quoted(show_value(0.45 * read(diameter, Kind.LENGTH).value, Kind.LENGTH, digits=2))
    except LodestringError:
        return '"0.4 mm"'


def _body(data: Any, above: str, holder: Mapping[str, Any], parts: list[str], value: Any) -> Changes:
    if value == holder.get("kind"):
        return {}
    poles = ".".join(parts[:-2])
    there = get(data, parts[:-2]) or {}
    changes: Changes = {f"{above}.grade": quoted(STEEL if value == "steel" else MAGNET)}
    changes |= _put(
        poles, there, {"up": None if value == "steel" else '"north"', **({"state": None} if value == "steel" else {})}
    )
    return changes


def _layout(data: Any, above: str, holder: Mapping[str, Any], parts: list[str], value: Any) -> Changes:
    poles, coil = ".".join(parts[:-2]), get(data, parts[:-3]) or {}
    there = get(data, parts[:-2]) or {}
    body = there.get("body") or {}
    steel = body.get("kind") == "steel"
    length = (coil.get("bobbin") or {}).get("plate", {}).get("length", "80 mm")
    own: dict[str, dict[str, str | None]] = {
        "two per string": {"apart": '"6 mm"'},
        "blade": {"length": _share(length), "thickness": '"3 mm"'},
        "listed": {"at": '[["-10 mm", "0 mm"], ["10 mm", "0 mm"]]'},
    }
    keys = ("apart", "length", "thickness", "at")
    changes = _put(above, holder, {**dict.fromkeys(keys), **own.get(str(value), {})})
    lists = {key: there.get(key) for key in ("up", "height", "state") if isinstance(there.get(key), list)}
    for key, was in lists.items():  # one for each pole piece: their number is another now
        changes[f"{poles}.{key}"] = quoted(was[0]) if was and isinstance(was[0], str) else '"charged"'
    if isinstance(body.get("length"), list) and body["length"]:
        changes[f"{poles}.body.length"] = quoted(str(body["length"][0]))
    if value == "none":
        changes |= _put(poles, there, {"body": None, "up": None, "height": None})
        changes = {k: v for k, v in changes.items() if v is None or k.startswith(above)}
        core = ".".join([*parts[:-3], "bobbin", "core"])
        if not {"length", "width"} <= set((coil.get("bobbin") or {}).get("core") or {}):
            changes[core] = f'{{ kind = "walled", wall = "1.2 mm", length = {_share(length)}, width = "6 mm" }}'
        return changes
    if not body:
        rod = "" if value == "blade" else 'diameter = "4.8 mm", '
        changes[f"{poles}.body"] = f'{{ kind = "magnet", grade = "{MAGNET}", {rod}length = "17 mm" }}'
        changes |= _put(poles, there, {"up": '"north"', "height": '"1.0 mm"'})
        return changes
    changes |= _put(f"{poles}.body", body, {"diameter": None if value == "blade" else '"4.8 mm"'})
    if not steel:
        changes |= _put(poles, there, {"up": '"north"'})
    return changes


def _share(length: str) -> str:
    from lodestring.errors import LodestringError
    from lodestring.quantity import Kind, read, show_value

    try:
        return quoted(show_value(0.75 * read(length, Kind.LENGTH).value, Kind.LENGTH, "mm", digits=2))
    except LodestringError:
        return '"60 mm"'


def _film(above: str, holder: Mapping[str, Any], size: str) -> Changes:
    """Gauges are sold single or heavy, metric sizes by grade."""
    metric = "awg" not in size.lower() and "swg" not in size.lower()
    film = holder.get("film", "single")
    if metric == str(film).startswith("grade"):
        return {}
    heavy = film in ("heavy", "grade 2")
    word = ("grade 2" if heavy else "grade 1") if metric else ("heavy" if heavy else "single")
    return {f"{above}.film": quoted(word)}


CONTROLS = {
    "volume": '{ value = "250k", taper = "audio" }',
    "tone": '{ value = "250k", taper = "audio", capacitor = "22 nF" }',
    "blend": '{ value = "250k" }',
}


def _netlist(pickups: Mapping[str, Any]) -> str:
    """Positions of an own netlist to start from: each pickup alone, straight to the jack."""
    rows = []
    for name, pickup in pickups.items():
        ends: list[tuple[str, str]] = [(f"{name}.hot", f"{name}.ground")]
        if pickup.get("coil"):
            ends = []
            for coil, record in pickup["coil"].items():
                start, finish = f"{name}.{coil}.start", f"{name}.{coil}.finish"
                ends.append((start, finish) if record.get("hot") == "start" else (finish, start))
        pairs = [("jack", ends[0][0]), (ends[-1][1], "ground")]
        if len(ends) == 2:
            series = pickup.get("connect") != "parallel"
            pairs += [(ends[0][1], ends[1][0])] if series else [("jack", ends[1][0]), (ends[0][1], "ground")]
        closed = ", ".join(f"[{quoted(a)}, {quoted(b)}]" for a, b in pairs)
        rows.append(f"{{ name = {quoted(name)}, closed = [{closed}] }}")
    return "[" + ", ".join(rows) + "]"


def _harness(data: Mapping[str, Any], path: str, value: Any) -> Changes:
    if path != "harness.circuit" or value is None:
        return {}
    harness = data.get("harness") or {}
    has = NEEDS.get(value, ())
    changes: Changes = {}
    for key in ("volume", "tone", "blend", "part"):
        if key in harness and key not in has:
            changes[f"harness.{key}"] = None
        if key in CONTROLS and key in has and key not in harness:
            changes[f"harness.{key}"] = CONTROLS[key]
    if isinstance(harness.get("volume"), list) and value != "two volumes, one tone" and "volume" in has:
        changes["harness.volume"] = CONTROLS["volume"]
    if value == "own netlist" or harness.get("circuit") == "own netlist":
        changes |= _put("harness", harness, {"positions": None, "lead_out": None})
    if value == "own netlist":
        changes["harness.part.load"] = '{ kind = "resistor", ends = ["jack", "ground"], resistance = "250k" }'
        changes["harness.positions"] = _netlist(data.get("pickup") or {})
    return changes
