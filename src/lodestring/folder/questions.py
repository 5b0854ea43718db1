"""The five questions: what is asked, ready lists of strings, and the answers read into numbers, or what is wrong."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from lodestring.errors import LodestringError, Problem, SetFileError
from lodestring.quantity import Kind, Quantity, read, read_note

WOUND_FROM = 0.0215 * 0.0254
"""Strings this thick and thicker are taken as wound [m], unless their line says plain."""
_LINE = re.compile(r"(\S+)\s+(.*?)(?:\s+(plain|wound))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its id, what is asked, a line of help, an example of an answer."""

    id: str
    ask: str
    help: str
    example: str


@dataclass(frozen=True, slots=True)
class ReadyStrings:
    """A ready list: its strings as they would be typed, one a line."""

    id: str
    title: str
    kind: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeptAnswers:
    """Readings of a pickup that is kept, as typed. `inductance` may be left empty, then frequency and mode are too."""

    place: str
    resistance: str
    up: str
    kick: str
    inductance: str = ""
    frequency: str = ""
    mode: str = "series"


@dataclass(frozen=True, slots=True)
class Answers:
    """The five answers as typed. `strings`: a ready list's id, or one string a line; `kind` may be left to the list.

    `spacing_how`: "outer strings" or "string to string". `place`: one place, or two with a comma between.
    """

    title: str
    strings: str
    scale: str
    spacing: str
    place: str
    spacing_how: str = "outer strings"
    kind: str = ""
    housing_length: str = ""
    housing_width: str = ""
    housing_depth: str = ""
    housing_corner: str = ""
    kept: KeptAnswers | None = None


@dataclass(frozen=True, slots=True)
class StringGiven:
    """One string: note and diameter as typed, the diameter [m], and whether it is wound."""

    note: str
    diameter: str
    metres: float
    wound: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """The answers, read. Lengths in metres beside what was typed; `places` from the bridge outward."""

    title: str
    kind: str
    strings: tuple[StringGiven, ...]
    scale: Quantity
    spacing: Quantity
    by_pitch: bool
    places: tuple[Quantity, ...]
    housing: Mapping[str, Quantity]
    kept: KeptAnswers | None

    @property
    def pitch(self) -> float:
        """From string to string at the bridge [m]."""
        return self.spacing.value if self.by_pitch else self.spacing.value / max(len(self.strings) - 1, 1)


@cache
def _data() -> Mapping[str, Any]:
    return tomllib.loads(files("lodestring.folder").joinpath("first_set.toml").read_text(encoding="utf-8"))


def questions() -> tuple[Question, ...]:
    """The five, in order."""
    return tuple(Question(q["id"], q["ask"], q["help"], q["example"]) for q in _data()["question"])


def ready_strings() -> tuple[ReadyStrings, ...]:
    """The ready lists, in the order in which they are offered."""
    return tuple(
        ReadyStrings(id, row["title"], row["kind"], tuple(row["strings"])) for id, row in _data()["strings"].items()
    )


def kinds_of_instrument() -> Mapping[str, str]:
    """Title by id."""
    return {id: row["title"] for id, row in _data()["kind"].items()}


def assumed_of(kind: str) -> Mapping[str, Any]:
    """What is assumed for a kind of instrument."""
    return _data()["kind"][kind]  # type: ignore[no-any-return]


def asked(answers: Answers) -> Asked:
    """The answers read. Raises SetFileError with every problem, each at the name of the answer it belongs to."""
    problems: list[Problem] = []
    strings, kind = _strings(answers, problems)
    scale = _length("scale", answers.scale, problems, 0.25, 1.3)
    many = max(len(strings) - 1, 1)
    by_pitch = answers.spacing_how == "string to string"
    spacing = _length(
        "spacing", answers.spacing, problems, *((0.005, 0.03) if by_pitch else (0.005 * many, 0.03 * many))
    )
    places = [
        _length("place", p, problems, 0.012, 0.9) for p in re.split(r",\s+|;|\n| and ", answers.place) if p.strip()
    ]
    if not places:
        problems.append(Problem("place", "a pickup needs its place", "nothing", "45 mm"))
    if len(places) + (answers.kept is not None) > 2:
        problems.append(
            Problem("place", "a first set has one or two pickups", f"{len(places)} places", "45 mm, 160 mm")
        )
    housing = _housing(answers, problems)
    title = " ".join(answers.title.split()) or "My first set"
    if len(title) > 120 or not title.isprintable():
        problems.append(Problem("title", "a title is one line of at most 120 letters", f"{len(title)} letters"))
    if answers.kept is not None:
        _kept(answers.kept, problems)
    if problems or scale is None or spacing is None:
        raise SetFileError("", problems)
    good = sorted((p for p in places if p is not None), key=lambda p: p.value)
    return Asked(title, kind, tuple(strings), scale, spacing, by_pitch, tuple(good), housing, answers.kept)


def _length(name: str, text: str, problems: list[Problem], low: float, high: float) -> Quantity | None:
    """A length within bounds [m] in which it makes sense."""
    if not text.strip():
        problems.append(Problem(name, "this question needs an answer", "nothing"))
        return None
    try:
        found = read(text.strip(), Kind.LENGTH)
    except LodestringError as error:
        problems.append(Problem(name, error.must, error.came, error.attempt))
        return None
    if not low <= found.value <= high:
        must = f"this length lies between {low * 1e3:.0f} and {high * 1e3:.0f} mm"
        problems.append(Problem(name, must, f'"{text.strip()[:40]}"', "measuring again, or another unit"))
        return None
    return found


def _strings(answers: Answers, problems: list[Problem]) -> tuple[list[StringGiven], str]:
    ready = next((r for r in ready_strings() if r.id == answers.strings.strip()), None)
    lines = list(ready.lines) if ready else [x.strip() for x in re.split(r"\n|;", answers.strings) if x.strip()]
    found: list[StringGiven] = []
    notes: list[float] = []
    for number, line in enumerate(lines, 1):
        match = _LINE.fullmatch(line)
        if match is None:
            problems.append(
                Problem(
                    "strings", "a string is its note and its diameter", f'line {number}, "{line[:40]}"', "E4 0.010 in"
                )
            )
            continue
        try:
            notes.append(read_note(match.group(1)).frequency)
            diameter = read(match.group(2), Kind.LENGTH)
        except LodestringError as error:
            problems.append(Problem("strings", f"line {number}: {error.must}", error.came, error.attempt))
            continue
        if not 0.0001 <= diameter.value <= 0.005:
            problems.append(
                Problem("strings", f"line {number}: a string is 0.1 to 5 mm thick", f'"{match.group(2)}"', "0.010 in")
            )
            continue
        word = (match.group(3) or "").lower()
        wound = word == "wound" or (not word and diameter.value >= WOUND_FROM)
        found.append(StringGiven(match.group(1), match.group(2), diameter.value, wound))
    if not problems and not 3 <= len(found) <= 12:
        problems.append(
            Problem(
                "strings", "a first set is for 3 to 12 strings, one a line", str(len(found)), "a list, or E4 0.010 in"
            )
        )
    elif len(notes) > 1 and notes[0] < notes[-1]:
        problems.append(
            Problem(
                "strings",
                "string 1, the highest, comes first",
                f"{lines[0]} first, {lines[-1]} last",
                "the lines the other way round",
            )
        )
    kind = answers.kind or (ready.kind if ready else _guess(found))
    if kind not in kinds_of_instrument():
        problems.append(
            Problem("kind", f"the instrument is one of {', '.join(kinds_of_instrument())}", f'"{kind[:40]}"')
        )
        kind = "guitar"
    return found, kind


def _guess(strings: list[StringGiven]) -> str:
    if strings and min(s.metres for s in strings) >= 0.03 * 0.0254:
        return "bass"
    return "tenor" if len(strings) == 4 else "guitar"


def _housing(answers: Answers, problems: list[Problem]) -> Mapping[str, Quantity]:
    given = {k: getattr(answers, f"housing_{k}") for k in ("length", "width", "depth", "corner")}
    if not any(v.strip() for v in given.values()):
        return {}
    bounds = {"length": (0.03, 0.2), "width": (0.012, 0.12), "depth": (0.008, 0.08), "corner": (0.0, 0.05)}
    found = {}
    for key, text in given.items():
        if key == "corner" and not text.strip():
            continue
        length = _length(f"housing_{key}", text, problems, *bounds[key])
        if length is not None:
            found[key] = length
    return found


def _kept(kept: KeptAnswers, problems: list[Problem]) -> None:
    _length("kept_place", kept.place, problems, 0.012, 0.9)
    readings = [("resistance", kept.resistance, Kind.RESISTANCE)]
    if kept.inductance.strip():
        readings += [("inductance", kept.inductance, Kind.INDUCTANCE), ("frequency", kept.frequency, Kind.FREQUENCY)]
    for name, text, kind in readings:
        try:
            read(text.strip(), kind)
        except LodestringError as error:
            problems.append(Problem(f"kept_{name}", error.must, error.came, error.attempt))
    for name, word, words in (
        ("up", kept.up, ("north", "south")),
        ("kick", kept.kick, ("plus", "minus")),
        ("mode", kept.mode, ("series", "parallel")),
    ):
        if word not in words:
            problems.append(Problem(f"kept_{name}", f"this is {' or '.join(words)}", f'"{word[:40]}"'))
