"""In which units a folder's figures are said: read from its workshop file, and written there for a page's form."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from lodestring.design.read import read_workshop
from lodestring.design.toml_read import decode, digest, read_bytes
from lodestring.design.toml_write import apply_changes, write_new, write_raw
from lodestring.errors import FileProblem, LodestringError
from lodestring.folder.open_set import WORKSHOP
from lodestring.quantity.chosen import ForceIn, LengthIn, MassIn, WireIn

TABLE = "shown"
BEGINNING = "# What belongs to the maker and not to one set. Keep it beside your set files.\nformat = 1\n\n[shown]\n"
BOM = b"\xef\xbb\xbf"
AS_USUAL = "as usual"

_ASKED: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    # key of the table, label, what may be chosen
    ("length", "lengths", get_args(LengthIn)),
    ("wire", "beside a wire's name", get_args(WireIn)),
    ("mass", "masses", get_args(MassIn)),
    ("force", "pull on wire and strings", get_args(ForceIn)),
)
USUAL = {"length": "as usual: mm", "wire": "nothing", "mass": "as usual: g", "force": "as usual: gf, mN"}
_turns = threading.Lock()


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice of the form: key in the table, label, what is chosen ("" for as usual), values with their words."""

    key: str
    label: str
    chosen: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The form. `digest`: state of the workshop file it was made for, "" where there is none; `problem`: why it cannot
    be used now."""

    choices: tuple[Choice, ...]
    digest: str
    problem: str = ""


def chosen(folder: Path) -> Chosen:
    """What the workshop file says; where it cannot be read, its first problem."""
    try:
        raw = _raw(folder)
        record = None if raw is None else read_workshop(raw, WORKSHOP).record.shown
    except LodestringError as error:
        return Chosen((), "", f"{str(error).splitlines()[0]}.")
    now = {} if record is None else record.model_dump()
    return Chosen(
        tuple(
            Choice(key, label, now.get(key) or "", (("", USUAL[key]), *((v, v) for v in values)))
            for key, label, values in _ASKED
        ),
        "" if raw is None else digest(raw),
    )


def choose(folder: Path, wanted: Mapping[str, str], expected: str) -> None:
    """Write a choice into the workshop file: all else in it stays, letter for letter; it is made where there is none.

    wanted: value by key, "" for as usual; a key that is left out stays as it is. expected: `Chosen.digest` of the form.
    Raises FileProblem where the file has been changed since, or the system refuses; SetFileError where a value is
    unknown or the file has problems of its own. Nothing is then written.
    """
    known = [key for key, _, _ in _ASKED]
    for key in wanted:
        if key not in known:
            raise FileProblem("a choice of units must be of something that has one", f'"{key[:40]}"', ", ".join(known))
    path = folder / WORKSHOP
    with _turns:
        raw = _raw(folder)
        if ("" if raw is None else digest(raw)) != expected:
            raise FileProblem(
                f"{WORKSHOP} must be as it was when this page was made", "a file that was changed since", "once more"
            )
        if raw is None:
            text = BEGINNING + "".join(f"{key} = {_source(value)}\n" for key, value in wanted.items() if value)
            read_workshop(text.encode(), WORKSHOP)
            write_new(path, text)
            return
        text, now = decode(raw, WORKSHOP), read_workshop(raw, WORKSHOP).record.shown
        there = {} if now is None else now.model_dump(exclude_none=True)
        changes = {f"{TABLE}.{k}": _source(v) if v else None for k, v in wanted.items() if v != there.get(k, "")}
        if not changes:
            return
        new = (BOM if raw.startswith(BOM) else b"") + apply_changes(text, changes, WORKSHOP).encode()
        read_workshop(new, WORKSHOP)
        write_raw(path, new, expected)


def _raw(folder: Path) -> bytes | None:
    path = folder / WORKSHOP
    return read_bytes(path, WORKSHOP) if path.is_file() else None


def _source(value: str) -> str:
    """A TOML string of one line; what does not belong in one is refused by the reader, in words."""
    from lodestring.folder.typed import quoted

    return quoted(value)
