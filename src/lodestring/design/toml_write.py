"""Write changes back into a TOML file so that nothing else in it, and nothing on disk, can be lost.

The new text is read again and compared with what was wanted before it replaces the old one; the replacement is one
step of the file system. Until that step the old file is untouched, after it the new one is complete.
"""

from __future__ import annotations

import contextlib
import copy
import os
import secrets
import tomllib
from collections.abc import Mapping
from typing import Any

from lodestring.design.toml_edit import remove, set_value, vanishes_with
from lodestring.design.toml_lines import KeyPath, dotted, scan, split_dotted
from lodestring.design.toml_read import decode, digest, read_bytes, read_toml
from lodestring.errors import FileProblem

_BOM = b"\xef\xbb\xbf"


def write_changes(path: str | os.PathLike[str], changes: Mapping[str, str | None], expected_sha256: str) -> str:
    """Apply `changes` to the file and return the new `sha256:...`.

    `changes`: dotted key path (list items counted from 1) -> TOML source text of the value, None to remove the key.
    `expected_sha256`: what the file was when it was opened. Raises FileProblem, and leaves the file as it was, if it
    is another by now, if a change cannot be made, or if the disk refuses.
    """
    file = os.fspath(path)
    raw = read_bytes(path, file)
    _must_be(raw, expected_sha256, file)
    old = decode(raw, file)
    new = apply_changes(old, changes, file)
    if new == old:
        return expected_sha256
    new_raw = (_BOM if raw.startswith(_BOM) else b"") + new.encode("utf-8")
    _replace(os.path.realpath(path), new_raw, expected_sha256, file)  # a link stays a link
    return digest(new_raw)


def write_raw(path: str | os.PathLike[str], raw: bytes, expected_sha256: str) -> str:
    """Put `raw` in place of the whole file, with the same care and errors as `write_changes`; returns its digest."""
    file = os.fspath(path)
    _must_be(read_bytes(path, file), expected_sha256, file)
    _replace(os.path.realpath(path), raw, expected_sha256, file)
    return digest(raw)


def apply_changes(text: str, changes: Mapping[str, str | None], file: str = "") -> str:
    """`text` with the changes made; comments, order, spacing and line ends of all the rest as they were.

    List numbers mean the list as it is in `text`. Raises FileProblem with a sentence if a change cannot be made.
    """
    data = read_toml(text.encode("utf-8"), file).data
    removals: list[KeyPath] = []
    for name, value in changes.items():
        path = _resolve(name, data)
        if value is None:
            _must_exist(path, name, data)
            removals.append(path)
            continue
        wanted = _value(name, value)
        spans = scan(text).spans
        if isinstance(_get(data, path), (dict, list)) and path not in spans:
            raise FileProblem(f"{name} must be changed key by key", "one value for a whole table", f"{name}.<key>")
        if isinstance(path[-1], int) and path[:-1] not in spans:
            must = f"a new [[{dotted(path[:-1])}]] must be written in an editor"
            raise FileProblem(must, "one value for a whole table")
        text = set_value(text, path, value.strip())
        _put(data, path, wanted)
    seen = scan(text)
    for path in sorted(removals, key=lambda p: (seen.lines[p], [str(n).zfill(9) for n in p]), reverse=True):
        if _exists(data, path):  # else it went with a table above it
            gone = vanishes_with(text, path)
            text = remove(text, path)
            _drop(data, gone)
    if not _same(read_toml(text.encode("utf-8"), file).data, data):
        raise FileProblem(
            "the changed file must differ only in what was asked for",
            "a text that reads otherwise; nothing was written",
            "the change by hand in an editor",
        )
    return text


def write_new(path: str | os.PathLike[str], text: str) -> str:
    """Write a file that does not exist yet, whole or not at all; returns its `sha256:...`. Else FileProblem."""
    file, raw = os.fspath(path), text.encode("utf-8")
    temporary = ""
    try:
        if os.path.lexists(path):
            raise FileExistsError
        temporary = _temporary(os.path.abspath(path), raw)
        _claim(temporary, path, raw)
    except FileExistsError:
        must = f"{file} must not exist yet"
        raise FileProblem(must, "a file or folder of that name, which is left alone", "another name") from None
    except (OSError, ValueError) as error:
        raise _refused(file, error) from None
    finally:
        _remove(temporary)
    _sync_folder(os.path.dirname(os.path.abspath(path)))
    return digest(raw)


def _resolve(name: str, data: Mapping[str, Any]) -> KeyPath:
    """Parts of the dotted name, those that count list items as numbers."""
    parts = split_dotted(name)
    if parts is None:
        raise FileProblem("a change must name a dotted key path", f"{name!r}", "for instance instrument.strings.3.note")
    path: KeyPath = ()
    here: Any = data
    for n, part in enumerate(parts):
        above = dotted(path) or "the file"
        if isinstance(here, dict):
            path, here = (*path, part), here.get(part, {})
        elif isinstance(here, list):
            last = n == len(parts) - 1
            number = int(part) if part.isascii() and part.isdigit() and len(part) < 9 else 0
            if not 1 <= number <= len(here) + last:
                must = f"{above} has {len(here)} items, and they must be counted from 1"
                raise FileProblem(must, f"{above}.{part}")
            path, here = (*path, number), here[number - 1] if number <= len(here) else None
        else:
            raise FileProblem(f"{name} must lead through tables and lists", f"{above}, which is a single value")
    return path


def _value(name: str, source: str) -> Any:
    """The value that one piece of TOML source stands for; it must be one value and nothing behind it."""
    source = source.strip()
    text = f"x = {source}"
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        data = {}
    if list(data) != ["x"] or scan(text).spans.get(("x",)) != (4, len(text)):
        shown = source if len(source) < 60 else source[:57] + "..."
        raise FileProblem(f"{name} must be given as one TOML value", repr(shown), '7200, or "42 AWG" with its quotes')
    return data["x"]


def _get(data: Any, path: KeyPath) -> Any:
    for part in path:
        if isinstance(part, int):
            data = data[part - 1] if isinstance(data, list) and part <= len(data) else None
        else:
            data = data.get(part) if isinstance(data, dict) else None
    return data


def _exists(data: Any, path: KeyPath) -> bool:
    return _get(data, path) is not None  # TOML has no null


def _must_exist(path: KeyPath, name: str, data: Mapping[str, Any]) -> None:
    if not _exists(data, path):
        raise FileProblem(f"{name} must be in the file to be taken out", "a file without it")


def _put(data: Any, path: KeyPath, value: Any) -> None:
    for part in path[:-1]:
        data = data[part - 1] if isinstance(part, int) else data.setdefault(part, {})
    last = path[-1]
    if isinstance(last, int) and last > len(data):
        data.append(copy.deepcopy(value))
    else:
        data[last - 1 if isinstance(last, int) else last] = copy.deepcopy(value)


def _drop(data: Any, path: KeyPath) -> None:
    holder, last = _get(data, path[:-1]), path[-1]
    del holder[last - 1 if isinstance(last, int) else last]


def _same(one: Any, other: Any) -> bool:
    """Deep equality that tells 1 from 1.0 and true, which == does not."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)


def _must_be(raw: bytes, expected_sha256: str, file: str) -> None:
    if digest(raw) != expected_sha256:
        must = f"{file} must be as it was when it was opened"
        raise FileProblem(must, "a file that something else has changed since", "opening it again, then the change")


def _replace(path: str, raw: bytes, expected_sha256: str, file: str) -> None:
    temporary = ""
    try:
        about = os.stat(path)
        if not about.st_mode & 0o222:
            raise PermissionError(0, "a file that is write-protected")
        temporary = _temporary(path, raw)
        os.chmod(temporary, about.st_mode & 0o7777)
        _must_be(read_bytes(path, file), expected_sha256, file)  # once more, as late as can be
        os.replace(temporary, path)
    except OSError as error:
        raise _refused(file, error) from None
    finally:
        _remove(temporary)
    _sync_folder(os.path.dirname(path))


def _temporary(path: str, raw: bytes) -> str:
    """A complete, synced file beside `path`, with the permissions a new file gets here; none at all on an error."""
    folder, name = os.path.split(path)
    temporary = os.path.join(folder, f".{name[:80]}.{secrets.token_hex(6)}.tmp")
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with open(handle, "wb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
    except BaseException:
        _remove(temporary)
        raise
    return temporary


def _claim(temporary: str, path: str | os.PathLike[str], raw: bytes) -> None:
    """Give the finished file its name; a link fails where the name is taken, a rename would not."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links (a memory stick): not atomic, but never over another file
        with open(path, "xb") as out:
            try:
                out.write(raw)
                out.flush()
                os.fsync(out.fileno())
            except BaseException:
                _remove(os.fspath(path))
                raise


def _remove(temporary: str) -> None:
    if temporary:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _sync_folder(folder: str) -> None:
    """Make the new name last through a power cut. The file is in place already, so a refusal changes nothing."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _refused(file: str, error: Exception) -> FileProblem:
    came = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return FileProblem(f"{file} must be writable", came, "its permissions and the space on the disk")
