"""The fields of a set file as a page shows them: groups with what is typed, choices, marks and problems."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from lodestring.design.fields import EXAMPLES
from lodestring.design.toml_lines import KeyPath
from lodestring.errors import Problem
from lodestring.folder.companions import get
from lodestring.folder.labels import Group, group_of, groups, table, titled
from lodestring.folder.said_again import also
from lodestring.folder.typed import PAIRS, Kind, kinds, typed_of
from lodestring.quantity import USUAL, Units
from lodestring.reference import names

NEW_NAMES = {
    "pickup": ("bridge", "neck", "middle"),
    "coil": ("front", "rear"),
    "bar": ("front", "rear"),
    "part": ("part-1",),
}


@dataclass(frozen=True, slots=True)
class Field:
    """One field. `typed` is what the file says, letter for letter, "" where it is left out; `default` then holds.

    `kind`: "length", "whole number", "text", "choice" ...; `choices` are all that is allowed, `suggestions` are not.
    """

    path: str
    label: str
    typed: str
    help: str
    kind: str
    choices: tuple[str, ...]
    suggestions: tuple[str, ...]
    unit_hint: str
    default: str
    required: bool
    assumed: bool
    problem: str
    also: str = ""
    """the same in the unit that figures are said in, "" where it is typed so: `= 1 9/16 in`"""


@dataclass(frozen=True, slots=True)
class Addable:
    """A part that can be added: the path to ask for, and its label."""

    path: str
    label: str


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """Fields that belong together. `id`: key path of their table ("" for the set itself); `parent`: the group above.

    `problem`: what is wrong with the table as a whole.
    """

    id: str
    title: str
    parent: str
    fields: tuple[Field, ...]
    add: tuple[Addable, ...]
    removable: bool
    problem: str


def field_groups(
    data: Mapping[str, Any], assumed: frozenset[KeyPath], problems: tuple[Problem, ...], units: Units = USUAL
) -> tuple[FieldGroup, ...]:
    """Every group of the set, in the order of the page: below its pickup a coil, below its coil a bobbin.

    `units`: in which a typed value is said once more beside it.
    """
    told: dict[str, str] = {}
    for problem in problems:
        told.setdefault(problem.path, problem.sentence())
    marks = frozenset(".".join(map(str, path)) for path in assumed)
    found = [(path, group) for group in groups() for path in _instances(data, group.at)]
    ids = {path for path, _ in found}
    ordered = sorted(found, key=lambda item: _order(item[0], data))
    return tuple(_group(path, group, data, marks, told, ids, units) for path, group in ordered)


def _order(path: str, data: Mapping[str, Any]) -> tuple[Any, ...]:
    """Place on the page: by the tables' order in board.toml, names in the order of the file."""
    rank = {g.at: i for i, g in enumerate(groups())}
    out: list[Any] = []
    parts, here, pattern = path.split(".") if path else [], data, ""
    for part in parts:
        named = f"{pattern}.NAME" in rank or any(a.startswith(f"{pattern}.NAME.") for a in rank)
        keys = list(here) if isinstance(here, Mapping) else []
        number = part.isdigit() and isinstance(here, list)
        step = "N" if number else "NAME" if named and pattern.rpartition(".")[2] in NEW_NAMES else part
        pattern = f"{pattern}.{step}".lstrip(".")
        best = min((i for a, i in rank.items() if a == pattern or a.startswith(f"{pattern}.")), default=99)
        out.append((best, int(part) if number else keys.index(part) if part in keys else 0))
        here = get(here, [part])
    return tuple(out)


def _instances(data: Mapping[str, Any], at: str) -> Iterator[str]:
    """The key paths in the file that a group's pattern fits."""
    if not at:
        yield ""
        return
    found: list[tuple[str, Any]] = [("", data)]
    for step in at.split("."):
        into: list[tuple[str, Any]] = []
        for path, here in found:
            if step == "N" and isinstance(here, list):
                into += [(f"{path}.{i}", item) for i, item in enumerate(here, 1)]
            elif step == "NAME" and isinstance(here, Mapping):
                into += [(f"{path}.{name}", item) for name, item in here.items()]
            elif isinstance(here, Mapping) and step in here:
                into.append((f"{path}.{step}", here[step]))
        found = into
    for path, here in found:
        if isinstance(here, Mapping):
            yield path.lstrip(".")


def _group(
    path: str,
    group: Group,
    data: Mapping[str, Any],
    marks: frozenset[str],
    told: Mapping[str, str],
    ids: set[str],
    units: Units,
) -> FieldGroup:
    parent = path
    while parent:
        parent = parent.rpartition(".")[0]
        if parent in ids:
            break
    fields = tuple(_fields(path, group, data, marks, told, units))
    shown = {f.path for f in fields}
    wrong = next((s for p, s in told.items() if _home(p, ids) == path and p not in shown), "")
    removable = group.remove
    parts = path.split(".")
    if parts[0] == "pickup" and len(parts) in (2, 4) and parts[-2] in ("pickup", "coil"):
        removable = len(get(data, parts[:-1])) > 1
    if parts[:2] == ["instrument", "strings"]:
        removable = len(data["instrument"]["strings"]) > 1
    return FieldGroup(
        path, titled(group.title, path, data), parent, fields, tuple(_addable(path, group, data)), removable, wrong
    )


def _home(path: str, ids: set[str]) -> str:
    """The group a problem's path belongs to."""
    while path and path not in ids:
        path = path.rpartition(".")[0]
    return path


def _addable(path: str, group: Group, data: Mapping[str, Any]) -> Iterator[Addable]:
    here = get(data, path.split(".")) if path else data
    if not isinstance(here, Mapping):
        return
    if not path:
        pickups = data.get("pickup")
        if isinstance(pickups, Mapping) and 1 <= len(pickups) < 6:
            yield Addable(f"pickup.{_new_name('pickup', pickups)}", "a pickup")
        if "harness" not in data:
            yield Addable("harness", "harness: controls, cable, jack")
        return
    for key, label in group.add:
        name, _, how = key.partition(".")
        there = here.get(name)
        if how == "+":
            yield Addable(f"{path}.{name}.{len(there or ()) + 1}", label)
        elif how == "*":
            most = {"coil": 1, "part": 99}.get(name, 6)
            made = there or {}
            kept, ready = "measured" in here, here.get("circuit") != "own netlist"
            barred = (name == "coil" and not made) or (name == "bar" and kept) or (name == "part" and ready)
            if len(made) <= most and not barred:
                yield Addable(f"{path}.{name}.{_new_name(name, made)}", label)
        elif there is None and _belongs(path, name, data):
            yield Addable(f"{path}.{name}", label)


def _belongs(path: str, name: str, data: Mapping[str, Any]) -> bool:
    """Whether an optional table may stand here as things are."""
    from lodestring.design.harness import NEEDS

    if path == "harness":
        circuit = (data.get("harness") or {}).get("circuit", "")
        if name in ("volume", "tone", "blend"):
            return name in NEEDS.get(circuit, ())
        return name != "lead_out" or circuit != "own netlist"
    if path == "harness.volume" and name == "1":
        return (data.get("harness") or {}).get("circuit") == "two volumes, one tone"
    if path == "instrument" and name == "action":
        return bool((data.get("instrument") or {}).get("frets"))
    if path.startswith("pickup.") and name in ("potting", "cover", "baseplate", "housing"):
        return "measured" not in (get(data, path.split(".")) or {})
    return True


def _new_name(kind: str, taken: Mapping[str, Any]) -> str:
    wanted = [*NEW_NAMES[kind], *(f"{kind}-{i}" for i in range(2, 99))]
    return next(name for name in wanted if name not in taken)


def _fields(
    path: str, group: Group, data: Mapping[str, Any], marks: frozenset[str], told: Mapping[str, str], units: Units
) -> Iterator[Field]:
    labels = table()["fields"]
    for pattern in kinds():
        if pattern in labels and group_of(pattern).at == group.at:
            tail = pattern.removeprefix(group.at).lstrip(".")
            for full in _filled(path, tail, data):
                if not _swallowed(full, data):
                    yield _field(full, pattern, data, marks, told, units)


def _filled(path: str, tail: str, data: Mapping[str, Any]) -> list[str]:
    """The field's paths: list numbers inside a group (a reading for each pole piece) as many as there are."""
    paths = [path]
    for step in tail.split("."):
        into = []
        for at in paths:
            here = get(data, at.split(".")) if at else data
            if step == "N":
                into += [f"{at}.{i}" for i in range(1, len(here) + 1)] if isinstance(here, list) else []
            else:
                into.append(f"{at}.{step}" if at else step)
        paths = into
    return paths


def _swallowed(path: str, data: Mapping[str, Any]) -> bool:
    """A value inside a table that is typed as one (a slanted place, a face reading) has a field only where the table
    is written out, and then it stands in place of the whole."""
    parts = path.split(".")
    here = get(data, parts)
    above = get(data, parts[:-1])
    if parts[-1] == "face" or (parts[-2:-1] and parts[-2] in PAIRS):
        return not (isinstance(above, Mapping) and parts[-1] in above) or parts[-1] == "face"
    return parts[-1] in PAIRS and isinstance(here, Mapping)


def _field(
    path: str, pattern: str, data: Mapping[str, Any], marks: frozenset[str], told: Mapping[str, str], units: Units
) -> Field:
    kind: Kind = kinds()[pattern]
    row, value = kind.row, get(data, path.split("."))
    above = get(data, path.split(".")[:-1])
    needed = row.required and isinstance(above, Mapping)
    return Field(
        path,
        table()["fields"][pattern],
        "" if value is None else typed_of(value),
        row.help,
        _word(kind),
        ()
        if kind.number and kind.choices
        else kind.choices
        if not kind.table and not kind.list_of and "length" not in row.takes
        else (),
        _suggestions(pattern, kind, path, data),
        _unit_hint(row.takes),
        row.default.strip('"'),
        needed,
        path in marks,
        _told(path, told),
        also(value, row.takes, units),
    )


def _told(path: str, told: Mapping[str, str]) -> str:
    """The problem at a field, or inside its value."""
    return told.get(path) or next((s for p, s in told.items() if p.startswith(f"{path}.")), "")


def _word(kind: Kind) -> str:
    if kind.choices and not (kind.table or kind.list_of or kind.number or " or " in kind.row.takes.replace("|", "")):
        return "choice"
    return kind.row.takes.replace('"', "").replace(" | ", " or ")


def _unit_hint(takes: str) -> str:
    """An example of the quantity a field takes, with its unit."""
    for kind, example in EXAMPLES.items():
        name = kind.name.lower().replace("_", " ")
        if name in takes.replace("list of ", "").split(" or "):
            return example
    return {"a note": "F#3", "a wire size": "42 AWG", "whole number": "7800"}.get(takes, "")


@cache
def _names(source: str) -> tuple[str, ...]:
    return names(source)


def _suggestions(pattern: str, kind: Kind, path: str, data: Mapping[str, Any]) -> tuple[str, ...]:
    source = table()["suggest"].get(pattern, "")
    if source == "ends":
        coils = get(data, path.split(".")[:2]) or {}
        ends = [f"{c}.{e}" for c in coils.get("coil") or {} for e in ("start", "finish")]
        return ("nothing", "ground", *ends)
    if source == "pickups":
        return tuple(data.get("pickup") or ())
    if source == "magnets or metals":
        steel = get(data, [*path.split(".")[:-1], "kind"]) == "steel"
        source = "metals" if steel else "magnets"
    if source:
        return _names(source)
    return kind.choices
