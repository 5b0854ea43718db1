"""A set or workshop file on disk -> a frozen record, or all its problems at once with lines and key paths."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from lodestring.design.cross import problems_of
from lodestring.design.describe import fields_at, rows
from lodestring.design.fields import EXAMPLES, shown
from lodestring.design.pickup_set import PickupSet
from lodestring.design.toml_lines import dotted, line_of
from lodestring.design.toml_read import Document, read_toml
from lodestring.design.workshop import Workshop
from lodestring.errors import Problem, SetFileError

R = TypeVar("R", bound=BaseModel)
FORMAT = 1
KeyPath = tuple[str | int, ...]


@dataclass(frozen=True)
class Loaded(Generic[R]):
    """A record with the document it was read from."""

    record: R
    document: Document

    def problem(self, path: KeyPath, must: str, came: str = "", attempt: str = "") -> Problem:
        """A problem at `path`, with its line."""
        return Problem(dotted(path), must, came, attempt, line_of(self.document.lines, path))


def read_set(source: Path | bytes, file: str = "") -> Loaded[PickupSet]:
    """Read a set file. Raises `SetFileError` with every problem found, `FileProblem` where it cannot be read at all."""
    document = read_toml(source, file or str(source))
    record = _validate(PickupSet, document)
    loaded = Loaded(record, document)
    problems = [loaded.problem(p.path, p.must, p.came, p.attempt) for p in problems_of(record)]
    if problems:
        raise SetFileError(document.file, problems)
    return loaded


def read_workshop(source: Path | bytes, file: str = "") -> Loaded[Workshop]:
    """Read a workshop file; errors as `read_set`."""
    document = read_toml(source, file or str(source))
    return Loaded(_validate(Workshop, document), document)


def _validate(model: type[R], document: Document) -> R:
    _check_format(document)
    try:
        return model.model_validate(_tuples(document.data))
    except ValidationError as error:
        problems = list(_problems(model, error, document))
        raise SetFileError(document.file, sorted(problems, key=lambda p: p.line or 0)) from None


def _check_format(document: Document) -> None:
    """A file of a later format is refused as a whole: its keys may mean something else."""
    value = document.data.get("format")
    line = line_of(document.lines, ("format",))
    if value is None:
        raise SetFileError(
            document.file, [Problem("format", "a file says its format", "none", f"format = {FORMAT} as first line", 1)]
        )
    if type(value) is not int or not 1 <= value <= FORMAT:
        attempt = "a newer version of lodestring" if type(value) is int and value > FORMAT else f"format = {FORMAT}"
        raise SetFileError(
            document.file,
            [Problem("format", f"this version reads format {FORMAT}", shown(value), attempt, line)],
        )


def _tuples(value: Any) -> Any:
    """TOML arrays as tuples, which the strict records want."""
    if isinstance(value, Mapping):
        return {key: _tuples(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return tuple(_tuples(inner) for inner in value)
    return value


def _path(loc: tuple[int | str, ...]) -> KeyPath:
    """pydantic's place -> our key path: union tags dropped, list items counted from 1."""
    steps: list[str | int] = []
    for step in loc:
        if isinstance(step, int):
            steps.append(step + 1)
        elif step != "[key]" and not step.startswith(("(", "literal[", "constrained-", "float", "int[")):
            steps.append(step)
    return tuple(steps)


def _problems(model: type[BaseModel], error: ValidationError, document: Document) -> Iterator[Problem]:
    seen: set[tuple[str, str]] = set()
    for detail in error.errors(include_url=False):
        path = _path(detail["loc"])
        must, came, attempt = _sentence(model, path, detail)
        key = (dotted(path), must)
        if key not in seen:
            seen.add(key)
            yield Problem(dotted(path), must, came, attempt, line_of(document.lines, path))


def _sentence(model: type[BaseModel], path: KeyPath, detail: Any) -> tuple[str, str, str]:
    """One pydantic error in our three parts."""
    kind, value, ctx = detail["type"], detail["input"], detail.get("ctx", {})
    came = shown(value)
    if kind == "lodestring":
        return ctx["must"], ctx["came"], ctx["attempt"]
    if kind == "missing":
        return "must be given", "nothing", _example(model, path)
    if kind in BOUNDS:
        limit = next(iter(ctx.values()))
        return f"must be {BOUNDS[kind]} {limit:g}", came, ""
    if kind == "extra_forbidden":
        known = fields_at(model, path[:-1])
        near = difflib.get_close_matches(str(path[-1]), known, n=1)
        return (
            f"is not a key here (keys: {', '.join(known)})",
            f'"{path[-1]}"',
            near[0] if near else "one of those",
        )
    if kind == "literal_error":
        expected = ctx["expected"].replace("'", '"')
        near = difflib.get_close_matches(str(value), _quoted(expected), n=1, cutoff=0.5)
        return f"must be {expected}", came, f'"{near[0]}"' if near else ""
    if kind == "string_pattern_mismatch" and "[key]" in detail["loc"]:
        return "a name is a small letter, then small letters, digits or -, 32 at most", came, ""
    table = {
        "int_type": "must be a whole number, without quotes",
        "int_from_float": "must be a whole number",
        "float_type": "must be a bare number",
        "string_type": "must be text in quotes",
        "tuple_type": "must be a list in [ ]",
        "dict_type": "must be a table",
        "model_type": "must be a table in { } or under [ ]",
        "model_attributes_type": "must be a table in { } or under [ ]",
    }
    return table.get(kind, "must be: " + str(detail["msg"])[0].lower() + str(detail["msg"])[1:]), came, ""


BOUNDS = {
    "greater_than": "above",
    "greater_than_equal": "at least",
    "less_than": "below",
    "less_than_equal": "at most",
}


def _example(model: type[BaseModel], path: KeyPath) -> str:
    """A value that could stand at `path`: the first word of a choice, or an example of the quantity."""
    found = [row for row in rows(model) if _alike(row.path.split("."), path)]
    takes = found[0].takes if found else ""
    if takes.startswith('"'):
        return f"{path[-1]} = {takes.split(' | ')[0]}"
    for kind, example in sorted(EXAMPLES.items(), key=lambda row: -len(row[0].name)):  # mass per length before mass
        if takes.startswith(kind.name.lower().replace("_", " ")):
            return f'{path[-1]} = "{example}"'
    known = {"whole number": "7800", "a wire size": '"42 AWG"', "a note": '"F#3"'}
    return f"{path[-1]} = {known[takes]}" if takes in known else ""


def _alike(pattern: list[str], path: KeyPath) -> bool:
    return len(pattern) == len(path) and all(
        p in ("NAME", "N") or p == str(s) for p, s in zip(pattern, path, strict=True)
    )


def _quoted(expected: str) -> list[str]:
    return expected.split('"')[1::2]
