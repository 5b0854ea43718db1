"""The shelf: the plain set files of the maker's folder. Nothing else is kept of a design, and nothing is deleted."""

from __future__ import annotations

import os
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from lodestring.design.read import read_set
from lodestring.design.toml_read import digest, read_bytes
from lodestring.design.toml_write import write_new
from lodestring.errors import FileProblem
from lodestring.folder.places import (
    OURS,
    bin_folder,
    check_name,
    history_path,
    is_set_name,
    kept_folder,
    lock_of,
    refused,
    set_path,
    suggested,
)

BOM = "\ufeff"


@dataclass(frozen=True, slots=True)
class Entry:
    """One set file. `problem` is "" or the first sentence that keeps it from being read; counts are 0 then.

    `usable` is False for a file whose name no set can have: it is shown, and can be renamed by hand only.
    `modified` is UTC, to the second.
    """

    name: str
    title: str
    problem: str
    digest: str
    modified: str
    strings: int = 0
    pickups: int = 0
    coils: int = 0
    scale: str = ""
    usable: bool = True


@dataclass(frozen=True, slots=True)
class Binned:
    """What lies in the bin: its folder's name, the set's name, when it was binned."""

    id: str
    name: str
    at: str


def shelf(folder: Path) -> tuple[Entry, ...]:
    """Every set file of the folder by name. Raises FileProblem where the folder cannot be read."""
    try:
        paths = sorted(p for p in folder.iterdir() if p.suffix == ".toml" and not p.name.startswith("."))
    except OSError as error:
        came = error.strerror or type(error).__name__
        raise FileProblem(f'"{folder}" must be a folder that can be read', came, "another folder") from None
    return tuple(_entry(p) for p in paths if p.stem != "workshop" and not p.is_dir())


def _entry(path: Path) -> Entry:
    modified, raw, problem = "", b"", ""
    usable = is_set_name(path.stem)
    if not usable:
        problem = (
            f"the name of a set is small letters, digits and -; try renaming the file to {suggested(path.stem)}.toml"
        )
    try:
        raw = read_bytes(path, path.name)
        modified = datetime.fromtimestamp(path.stat().st_mtime, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        design = read_set(raw, path.name).record
    except (FileProblem, OSError) as error:
        return Entry(
            path.stem,
            _title(raw) or path.stem,
            problem or str(error).splitlines()[0],
            digest(raw) if raw else "",
            modified,
            usable=usable,
        )
    coils = sum(len(p.coil or {}) for p in design.pickup.values())
    counts = (len(design.instrument.strings), len(design.pickup), coils, design.instrument.scale.text)
    return Entry(path.stem, design.title, problem, digest(raw), modified, *counts, usable)


def _title(raw: bytes) -> str:
    try:
        data: dict[str, Any] = tomllib.loads(raw.decode("utf-8"))
    except (ValueError, RecursionError):
        return ""
    return str(data.get("title", ""))[:200]


# ---- new, copy, rename, bin ----


def new_set(folder: Path, name: str, text: str) -> str:
    """Write a new set file; its digest. Raises FileProblem for a name that is taken or none, SetFileError for a text
    that cannot be read."""
    path = set_path(folder, name)
    read_set(text.encode("utf-8", "surrogatepass"), path.name)
    return _write(folder, name, text)


def import_text(folder: Path, name: str, raw: bytes | str) -> str:
    """A set file from elsewhere as a new set, letter for letter; its digest. Errors as `new_set`."""
    data = raw.encode("utf-8", "surrogatepass") if isinstance(raw, str) else raw
    read_set(data, f"{check_name(name)}.toml")
    return _write(folder, name, data.decode("utf-8"))


def export(folder: Path, name: str) -> bytes:
    """The bytes of the set file. Raises SetFileError where it is gone."""
    return read_bytes(set_path(folder, name), f"{name}.toml")


def copy_set(folder: Path, name: str, new: str) -> str:
    """A copy under another name, its undo history not with it. Errors as `new_set`, but what is in it is not judged."""
    raw = export(folder, name)
    check_name(new)
    try:
        return _write(folder, new, raw.decode("utf-8"))
    except UnicodeDecodeError:
        raise FileProblem("a set file to copy must be UTF-8 text", f'"{name}.toml", which is not') from None


def rename_set(folder: Path, name: str, new: str) -> None:
    """Another name for a set, with its history and kept states. A set of that name is never written over."""
    old, path = set_path(folder, name), set_path(folder, new)
    with lock_of(folder, name), lock_of(folder, new):
        _must_be_there(old)
        try:
            if not old.is_symlink():
                os.link(old, path)  # fails where the name is taken, which a rename would not
                os.unlink(old)
            elif os.path.lexists(path):
                raise FileExistsError
            else:
                old.rename(path)
        except FileExistsError:
            raise _taken(new) from None
        except OSError:
            if os.path.lexists(path) and os.path.lexists(old) and not path.samefile(old):
                raise _taken(new) from None
            try:
                old.rename(path)  # a file system without links
            except OSError as error:
                raise refused(old, error) from None
        for was, becomes in zip(_beside(folder, name), _beside(folder, new), strict=True):
            _move(was, becomes)


def bin_set(folder: Path, name: str) -> str:
    """Move a set with its history and kept states into the bin; the name of its folder there. Nothing is deleted."""
    path = set_path(folder, name)
    with lock_of(folder, name):
        _must_be_there(path)
        home = _new_bin(folder, name)
        try:
            path.rename(home / "set.toml")
        except OSError as error:
            raise refused(path, error) from None
        history, states = _beside(folder, name)
        _move(history, home / "history.jsonl")
        _move(states, home / "kept")
        return home.name


def binned(folder: Path) -> tuple[Binned, ...]:
    """What is in the bin, the newest first."""
    try:
        homes = [p for p in bin_folder(folder).iterdir() if (p / "set.toml").is_file()]
    except OSError:
        return ()
    found = []
    for home in homes:
        name, _, at = home.name.partition("@")
        found.append(Binned(home.name, name, at.partition("_")[0]))
    return tuple(sorted(found, key=lambda b: (b.at, b.id), reverse=True))


def take_out(folder: Path, id: str, name: str = "") -> str:
    """Put a binned set back under its name or another; the name. Raises FileProblem where the name is taken."""
    item = next((b for b in binned(folder) if b.id == id), None)
    if item is None:
        raise FileProblem("that set must be in the bin", "one that is not")
    new = name or item.name
    path, home = set_path(folder, new), bin_folder(folder) / item.id
    with lock_of(folder, new):
        if os.path.lexists(path):
            raise _taken(new)
        try:
            (home / "set.toml").rename(path)
        except OSError as error:
            raise refused(path, error) from None
        history, states = _beside(folder, new)
        _move(home / "history.jsonl", history)
        _move(home / "kept", states)
    return new


def tidy(folder: Path, older: float = 60.0) -> int:
    """Move what a power cut left of files being written, older than so many seconds, into the bin; how many."""
    count = 0
    for path in folder.glob(".*.toml.*.tmp"):
        try:
            if time.time() - path.stat().st_mtime >= older:
                home = bin_folder(folder) / "left-over"
                home.mkdir(parents=True, exist_ok=True)
                path.rename(next(_free(home, path.name)))
                count += 1
        except OSError:
            continue  # it is in nobody's way
    return count


# ---- inside ----


def _write(folder: Path, name: str, text: str) -> str:
    """A new file; a history left by an earlier set of that name goes to the bin, else undo would lead back into it."""
    path = set_path(folder, name)
    with lock_of(folder, name):
        made = write_new(path, text)
        left = [p for p in _beside(folder, name) if p.exists()]
        if left:
            home = _new_bin(folder, name)
            for was in left:
                _move(was, home / was.name)
        return made


def _beside(folder: Path, name: str) -> tuple[Path, Path]:
    return history_path(folder, name), kept_folder(folder, name)


def _move(was: Path, becomes: Path) -> None:
    """Move what belongs to a set, if there is any; what lies in the way goes to the bin under a free name."""
    if not was.exists():
        return
    try:
        becomes.parent.mkdir(parents=True, exist_ok=True)
        if becomes.exists():
            home = next(p for p in becomes.parents if p.name == OURS) / "bin"
            home.mkdir(exist_ok=True)
            becomes.rename(next(_free(home, becomes.name)))
        was.rename(becomes)
    except OSError as error:
        raise refused(was, error) from None


def _new_bin(folder: Path, name: str) -> Path:
    at = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    for home in _free(bin_folder(folder), f"{name}@{at}"):
        try:
            home.mkdir(parents=True)
        except FileExistsError:
            continue
        except OSError as error:
            raise refused(home, error) from None
        return home
    raise AssertionError("names do not run out")


def _free(home: Path, name: str) -> Iterator[Path]:
    """`name`, `name_2`, `name_3` ... as far as they are free."""
    number = 1
    while True:
        path = home / (name if number == 1 else f"{name}_{number}")
        if not path.exists():
            yield path
        number += 1


def _must_be_there(path: Path) -> None:
    if not os.path.lexists(path):
        raise FileProblem(f'"{path.name}" must be in the folder', "no such file", "looking at the shelf again")


def _taken(name: str) -> FileProblem:
    return FileProblem(f'no set may be called "{name}" yet', "one that is, which is left alone", "another name")
