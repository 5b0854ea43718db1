"""What is put in when a part is added: starts of common practice, no source. The findings say what they come to."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import Any

from lodestring.errors import FileProblem
from lodestring.folder.companions import CONTROLS, Changes, get
from lodestring.folder.string_lists import string_lists
from lodestring.folder.typed import quoted, source
from lodestring.quantity import Kind, read

OTHER = {"clockwise": "anticlockwise", "anticlockwise": "clockwise", "north": "south", "south": "north"}
FIXED: dict[str, str] = {
    "housing": '{ length = "84 mm", width = "19 mm", depth = "20 mm", corner = "9 mm" }',
    "potting": '{ paraffin = 80, beeswax = 20, temperature = "62 C" }',
    "cover": '{ material = "nickel silver", thickness = "0.5 mm", grounded_to = "ground" }',
    "baseplate": '{ material = "nickel silver", thickness = "0.8 mm", grounded_to = "ground" }',
    "foil": '{ material = "copper", thickness = "0.05 mm", ends = "open", grounded_to = "ground" }',
    "inductance": '{ value = "2.4 H ± 5 %", frequency = "1 kHz", mode = "series" }',
    "bleed": '{ capacitor = "1 nF", resistor = "150k" }',
    "lead_out": '{ length = "0.3 m", per_metre = "120 pF/m" }',
    "cable": '{ length = "5 m", per_metre = "100 pF/m" }',
    "input": '{ resistance = "1M" }',
    **CONTROLS,
}
"""Parts that are the same wherever they are added."""


def _pickup(data: Mapping[str, Any], parts: list[str]) -> Changes:
    """A pickup like the last one, its coils and magnets the other way round, a way off toward the nut."""
    name = parts[1]
    if len(data["pickup"]) >= 6:
        raise FileProblem("a set has at most 6 pickups", "one more")
    made = [p for p in data["pickup"].values() if p.get("coil")]
    record = made[-1] if made else next(iter(data["pickup"].values()))
    new = copy.deepcopy(dict(record))
    new["place"] = _free_place(data)
    if not made:
        new = {
            "place": new["place"],
            **({"gap": new["gap"]} if "gap" in new else {}),
            "coil": {"main": _plain_coil(data)},
        }
    for coil in (new.get("coil") or {}).values():
        coil["wound"] = OTHER.get(coil.get("wound"), "clockwise")
        up = coil.get("poles", {}).get("up")
        if up is not None:
            coil["poles"]["up"] = [OTHER[u] for u in up] if isinstance(up, list) else OTHER[up]
    for bar in (new.get("bar") or {}).values():
        bar["magnetised"] = {"+": "-", "-": "+"}[bar["magnetised"][0]] + bar["magnetised"][1:]
    new.pop("string_centres", None)
    changes = _spread(f"pickup.{name}", new)
    harness = data.get("harness") or {}
    if isinstance(harness.get("volume"), list):
        changes["harness.volume"] = source([*harness["volume"], harness["volume"][-1]])
    if harness.get("circuit") == "blend, one tone" and len(data["pickup"]) == 2:
        changes |= {
            "harness.circuit": '"two volumes, one tone"',
            "harness.blend": None,
            "harness.volume": CONTROLS["volume"],
        }
    if harness.get("positions") and harness.get("circuit") != "own netlist":
        changes[f"harness.positions.{len(harness['positions']) + 1}"] = source({"name": name, "on": [name]})
    return changes


def _free_place(data: Mapping[str, Any]) -> str:
    """A place 60 mm nearer to the nut than the last pickup, or midway to the bridge where that would be past it."""

    def metres(text: Any) -> float:
        return read(text["first"] if isinstance(text, Mapping) else text, Kind.LENGTH).value

    places = sorted(metres(p["place"]) for p in data["pickup"].values())
    scale = read(data["instrument"]["scale"], Kind.LENGTH).value
    frets = data["instrument"].get("frets", 0)
    end = scale / 2 ** (frets / 12) if frets else 0.6 * scale
    wanted = places[-1] + 0.06
    if wanted + 0.010 > end:
        gaps = [(b - a, (a + b) / 2) for a, b in zip([0.0, *places], [*places, end], strict=True)]
        wanted = max(gaps)[1]
    return f"{wanted * 1e3:.0f} mm"


def _plain_coil(data: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "turns": 7600,
        "wound": "anticlockwise",
        "hot": "finish",
        "tension": "18 gf",
        "wire": {"size": "42 AWG", "enamel": "polyurethane", "film": "single"},
        "bobbin": {
            "window": "10.5 mm",
            "core": {"kind": "on rods", "wrap": "0.1 mm"},
            "plate": {"material": "vulcanised fibre", "length": "80 mm", "width": "17 mm", "thickness": "2.4 mm"},
        },
        "poles": {
            "layout": {"kind": "one per string"},
            "body": {"kind": "magnet", "grade": "alnico 5", "diameter": "4.8 mm", "length": "17 mm"},
            "up": "south",
            "height": "1.0 mm",
        },
    }


def _coil(data: Mapping[str, Any], parts: list[str]) -> Changes:
    """The other coil of a pair, beside the one that is there: wound the other way, magnets the other way up."""
    whole, name = ".".join(parts[:2]), parts[3]
    pickup = get(data, parts[:2])
    if not isinstance(pickup, Mapping) or not pickup.get("coil"):
        raise FileProblem("the pickup of a new coil must be one that is made", f'"{whole}"', "adding a pickup")
    if len(pickup["coil"]) != 1:
        raise FileProblem("a pickup has one or two coils", "a third")
    first, coil = next(iter(pickup["coil"].items()))
    new = copy.deepcopy(dict(coil))
    width = read(coil["bobbin"]["plate"]["width"], Kind.LENGTH).value
    away = f"{1e3 * width / 2 + 0.5:.1f} mm"
    new = {"place": f"-{away}", **{k: v for k, v in new.items() if k != "place"}}
    new["wound"] = OTHER.get(coil.get("wound"), "anticlockwise")
    up = coil["poles"].get("up")
    if up is not None:
        new["poles"]["up"] = [OTHER[u] for u in up] if isinstance(up, list) else OTHER[up]
    return {
        f"{whole}.coil.{first}.place": quoted(away),
        f"{whole}.connect": '"series"',
        **_spread(f"{whole}.coil.{name}", new),
        **_hum(data, f"{parts[1]}.{first}", f"{parts[1]}.{name}"),
    }


def _hum(data: Mapping[str, Any], one: str, other: str) -> Changes:
    pairs = list((data.get("intent") or {}).get("cancel_hum") or [])
    pairs = [p for p in pairs if one not in p]
    return {"intent.cancel_hum": source([*pairs, [one, other]])}


def _spread(above: str, record: Mapping[str, Any]) -> Changes:
    """A record key by key: tables that the examples write as sections become sections, the rest stands in braces."""
    changes: Changes = {}
    for key, value in record.items():
        path = f"{above}.{key}"
        if key in ("coil", "bar") or (isinstance(value, Mapping) and key in ("bobbin", "poles", "measured")):
            for name, inner in value.items():
                if key in ("coil", "bar"):
                    changes |= _spread(f"{path}.{name}", inner)
                else:
                    changes[f"{path}.{name}"] = source(inner)
        else:
            changes[path] = source(value)
    return changes


def _bar(data: Mapping[str, Any], parts: list[str]) -> Changes:
    """A bar magnet under the coil of the same name, or under the first: just below its pole pieces or its plates."""
    pickup = get(data, parts[:2])
    coils = (pickup or {}).get("coil") or {}
    if not coils:
        raise FileProblem("a bar belongs to a pickup that is made", f'"{".".join(parts[:2])}"')
    coil = coils.get(parts[3]) or next(iter(coils.values()))

    def mm(text: Any) -> float:
        return 1e3 * read(text[0] if isinstance(text, list) else text, Kind.LENGTH).value

    bobbin, poles = coil["bobbin"], coil["poles"]
    low = -(mm(bobbin["window"]) + 2 * mm(bobbin["plate"]["thickness"]))
    if poles.get("body"):
        low = min(low, mm(poles["height"]) - mm(poles["body"]["length"]))
    others = pickup.get("bar") or {}
    way = "-z" if any(b.get("magnetised") == "+z" for b in others.values()) else "+z"
    place = coil.get("place", "0 mm")
    bar = {
        "size": [f"{0.85 * mm(bobbin['plate']['length']):.0f} mm", "6 mm", "4 mm"],
        "centre": ["0 mm", place, f"{low - 2.0:g} mm"],
        "magnetised": way,
        "grade": "ferrite C5",
    }
    return _spread(".".join(parts), bar)


def _gap(data: Mapping[str, Any], parts: list[str]) -> Changes:
    if data["instrument"].get("frets"):
        return {".".join(parts): '{ first = "1.8 mm", last = "2.2 mm", when = "last fret pressed" }'}
    return {".".join(parts): '{ first = "3 mm", last = "3 mm", when = "at rest" }'}


def _string(data: Mapping[str, Any], parts: list[str]) -> Changes:
    strings = data["instrument"]["strings"]
    if parts[2] != str(len(strings) + 1):
        raise FileProblem(
            "a new string is the last one", f"string {parts[2]}", f"instrument.strings.{len(strings) + 1}"
        )
    return {".".join(parts): source(strings[-1]), **string_lists(data, 1, len(strings) + 1)}


def _volumes(data: Mapping[str, Any], parts: list[str]) -> Changes:
    """One volume control for each pickup in place of one for all alike."""
    volume = (data.get("harness") or {}).get("volume") or {"value": "250k", "taper": "audio"}
    if isinstance(volume, list):
        raise FileProblem("each pickup has its own volume already", f"{len(volume)} of them")
    return {"harness.volume": source([volume] * len(data["pickup"]))}


def _position(data: Mapping[str, Any], parts: list[str]) -> Changes:
    harness = data.get("harness") or {}
    names = {p.get("name") for p in harness.get("positions") or ()}
    new: dict[str, Any] = {"name": next(n for i in range(1, 99) if (n := f"position-{i}") not in names)}
    new |= {"closed": []} if harness.get("circuit") == "own netlist" else {"on": list(data["pickup"])}
    if not harness.get("positions"):
        return {"harness.positions": source([new])}
    return {f"harness.positions.{len(harness['positions']) + 1}": source(new)}


def _harness(data: Mapping[str, Any], parts: list[str]) -> Changes:
    circuit = "two volumes, one tone" if len(data["pickup"]) > 1 else "one volume, one tone"
    return {
        "harness.circuit": quoted(circuit),
        **{f"harness.{k}": FIXED[k] for k in ("volume", "tone", "cable", "input")},
        "harness.strings": '"grounded"',
    }


def _fixed(data: Mapping[str, Any], parts: list[str]) -> Changes:
    return {".".join(parts): FIXED[parts[-1]]}


Maker = Callable[[Mapping[str, Any], list[str]], Changes]
MAKERS: tuple[tuple[Callable[[list[str]], bool], Maker], ...] = (
    (lambda p: len(p) == 2 and p[0] == "pickup", _pickup),
    (lambda p: len(p) == 4 and p[0] == "pickup" and p[2] == "coil", _coil),
    (lambda p: len(p) == 4 and p[0] == "pickup" and p[2] == "bar", _bar),
    (lambda p: len(p) == 3 and p[0] == "pickup" and p[2] == "gap", _gap),
    (lambda p: len(p) == 3 and p[0] == "pickup" and p[2] in ("housing", "potting", "cover", "baseplate"), _fixed),
    (lambda p: len(p) == 4 and p[0] == "pickup" and p[2:] == ["measured", "inductance"], _fixed),
    (lambda p: len(p) == 5 and p[0] == "pickup" and p[2] == "coil" and p[4] == "foil", _fixed),
    (lambda p: len(p) == 3 and p[:2] == ["instrument", "strings"], _string),
    (
        lambda p: p == ["instrument", "action"],
        lambda d, p: {"instrument.action": '{ first = "1.6 mm", last = "2.0 mm" }'},
    ),
    (lambda p: p == ["harness"], _harness),
    (lambda p: len(p) == 3 and p[:2] == ["harness", "volume"] and p[2].isdigit(), _volumes),
    (lambda p: len(p) == 3 and p[:2] == ["harness", "positions"], _position),
    (
        lambda p: len(p) == 3 and p[:2] == ["harness", "part"],
        lambda d, p: {".".join(p): '{ kind = "resistor", ends = ["jack", "ground"], resistance = "250k" }'},
    ),
    (lambda p: p[0] == "harness" and p[-1] == "bleed", _fixed),
    (lambda p: len(p) == 2 and p[0] == "harness" and p[1] in FIXED, _fixed),
    (lambda p: p == ["intent", "level"], lambda d, p: {"intent.level.reference": quoted(next(iter(d["pickup"])))}),
)
"""What can be added where, and what makes it."""
