"""Read a TOML file from disk with every guard a file from elsewhere needs.

What can be wrong with a file as a whole, and with single values that TOML allows and a set file does not (endless
numbers, dates, control characters), is said here, all at once. What the keys mean is not known here.
"""

from __future__ import annotations

import hashlib
import math
import os
import re
import stat
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from types import MappingProxyType
from typing import Any

from lodestring.design.toml_lines import KeyPath, Scan, dotted, line_at, line_of, scan
from lodestring.design.toml_slips import explain
from lodestring.errors import Problem, SetFileError

LARGEST = 256 * 1024
"""Bytes. A set of seven pickups with a comment on every line is below 40 KiB."""
DEEPEST = 16
"""Parts of a key path. The deepest path of a set file has nine."""

MOST = 50
"""Problems that are told; a file of 65,000 nan would else make a message of 7 MB."""

_INT64 = 2**63
_LONG_NUMBER = re.compile(r"[+-]?[0-9_]{40,}")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_BOM = b"\xef\xbb\xbf"
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True)
class Document:
    """One TOML file as read: `sha256` of the bytes on disk, `text` without byte order mark, its line ends as found."""

    file: str
    data: dict[str, Any]
    text: str
    sha256: str
    lines: Mapping[KeyPath, int]


def read_toml(source: str | os.PathLike[str] | bytes, file_name: str = "") -> Document:
    """Read a file (or its bytes). `file_name` is what messages call it; by default the path as given.

    Raises SetFileError, and nothing else, with every problem found: a file that is missing, a folder, unreadable,
    larger than 256 KiB, empty, binary or not UTF-8; a slip of TOML's grammar; nesting deeper than 16; numbers beyond
    64 bits, infinite or not a number; dates; control characters.
    """
    if isinstance(source, bytes):
        file, raw = file_name or "(text)", source
        if len(raw) > LARGEST:
            raise SetFileError(file, [_too_large(len(raw))])
    else:
        file = file_name or os.fspath(source)
        raw = read_bytes(source, file)
    text = decode(raw, file)
    return Document(file, _parse(text, file, found := scan(text, DEEPEST)), text, digest(raw), _frozen(found))


def digest(raw: bytes) -> str:
    """`sha256:` and the hexadecimal hash of the bytes."""
    return "sha256:" + hashlib.sha256(raw).hexdigest()


def read_bytes(path: str | os.PathLike[str], file: str) -> bytes:
    """The bytes of a regular file of at most 256 KiB, else SetFileError. The size is asked before reading."""
    try:
        about = os.stat(path)
        if stat.S_ISDIR(about.st_mode):
            raise SetFileError(file, [Problem("", "this must be a file", "a folder", "naming the .toml file in it")])
        if not stat.S_ISREG(about.st_mode):  # a pipe or device could keep us waiting for ever
            raise SetFileError(file, [Problem("", "this must be a plain file", "a device or pipe")])
        if about.st_size > LARGEST:
            raise SetFileError(file, [_too_large(about.st_size)])
        with open(path, "rb") as handle:
            raw = handle.read(LARGEST + 1)
    except FileNotFoundError:
        raise SetFileError(file, [_missing(path)]) from None
    except PermissionError:
        problem = Problem("", "this file must be readable", "one that this user may not read", "its permissions")
        raise SetFileError(file, [problem]) from None
    except (OSError, ValueError) as error:  # ValueError: a path with a NUL in it
        came = getattr(error, "strerror", None) or str(error)
        raise SetFileError(file, [Problem("", "this file must be readable", came)]) from None
    if len(raw) > LARGEST:  # it grew since it was asked
        raise SetFileError(file, [_too_large(len(raw))])
    return raw


def decode(raw: bytes, file: str) -> str:
    """UTF-8 text without byte order mark, else SetFileError with the line of the first byte that is not."""
    if raw.startswith(_UTF16):
        came = "UTF-16, as some editors call 'Unicode'"
        raise SetFileError(file, [Problem("", "this file must be UTF-8 text", came, "saving it as UTF-8")])
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        problem = Problem("", "this must be a text file", "binary data (a zero byte)", "naming the .toml file", line)
        raise SetFileError(file, [problem])
    raw = raw.removeprefix(_BOM)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        came = f"the byte 0x{raw[error.start]:02x}, which is not"
        problem = Problem("", "this file must be UTF-8 text", came, "saving it as UTF-8 in the editor", line)
        raise SetFileError(file, [problem]) from None


def _parse(text: str, file: str, found: Scan) -> dict[str, Any]:
    if found.stop is not None and found.stop.why == "deep":
        came = f"{_short(dotted(found.stop.path))} and deeper"
        must = f"tables and lists must be nested at most {DEEPEST} deep"
        raise SetFileError(file, [Problem("", must, came, "a flatter layout", line_at(text, found.stop.at))])
    readable, problems = _without_long_numbers(text, found)
    try:
        data = tomllib.loads(readable)
    except tomllib.TOMLDecodeError as error:
        raise SetFileError(file, [*problems, explain(text, str(error))]) from None
    except (ValueError, RecursionError) as error:  # what the scan above should have kept from tomllib
        came = str(error).split(";")[0]
        raise SetFileError(file, [*problems, Problem("", "this must be a TOML file", came)]) from None
    if not data:
        came = "only blank lines and comments" if text.strip() else "nothing"
        try_ = "starting from an example (lodestring new)"
        raise SetFileError(file, [Problem("", "this file must hold at least one key", came, try_)])
    problems += [_problem(path, wrong, found) for path, value in walk(data) if (wrong := _wrong(value))]
    problems += _control_names(found)
    if problems:
        raise SetFileError(file, _at_most(MOST, sorted(problems, key=lambda p: p.line or 0)))
    return data


def _at_most(most: int, problems: list[Problem]) -> list[Problem]:
    if len(problems) <= most:
        return problems
    more = Problem("", f"all of these must be mended, and {len(problems) - most:,} more like them")
    return [*problems[:most], more]


def walk(data: Mapping[str, Any]) -> Iterator[tuple[KeyPath, Any]]:
    """Every value that is neither table nor list, with its key path, in the order of the file. Does not recurse."""
    waiting: list[tuple[KeyPath, Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, Mapping):
            waiting += [((*path, key), inner) for key, inner in reversed(list(value.items()))]
        elif isinstance(value, list):
            waiting += [((*path, n), inner) for n, inner in reversed(list(enumerate(value, 1)))]
        else:
            yield path, value


def _without_long_numbers(text: str, found: Scan) -> tuple[str, list[Problem]]:
    """Python refuses whole numbers of more than 4300 digits without saying where: find them first, put 0 instead."""
    pieces, problems, last = [], [], 0
    for path, (start, end) in found.spans.items():
        value = text[start:end]
        if _LONG_NUMBER.fullmatch(value):
            digits = sum(c.isdigit() for c in value)
            problems.append(_problem(path, (_WHOLE, f"one of {digits:,} digits", ""), found))
            pieces += [text[last:start], "0".ljust(end - start)]
            last = end
    return "".join([*pieces, text[last:]]), problems


_WHOLE = "a whole number must be below 9,223,372,036,854,775,808 (64 bits)"


def _wrong(value: object) -> tuple[str, str, str] | None:
    """must, came, try for a value that TOML allows and no file of ours can mean."""
    if isinstance(value, int) and not -_INT64 <= value < _INT64:
        return _WHOLE, f"one of about {int(value.bit_length() * math.log10(2)) + 1:,} digits", ""
    if isinstance(value, float) and math.isnan(value):
        return "a number must have a value", "nan (not a number)", "leaving the key out when the value is unknown"
    if isinstance(value, float) and math.isinf(value):
        return "a number must be finite", "one that is infinite, or beyond about 1.8e308", "the size you mean"
    if isinstance(value, (date, time)):
        return "a value must be a text, a number, true or false", f"the date or time {value}", f'quotes: "{value}"'
    if isinstance(value, str) and (found := _CONTROL.search(value)):
        code = f"U+{ord(found.group()):04X}"
        return "a text must hold printable characters", f"one with the control character {code}", "taking it out"
    return None


def _control_names(found: Scan) -> list[Problem]:
    wrong = [path for path in found.lines if isinstance(path[-1], str) and _CONTROL.search(path[-1])]
    must = "a name must hold printable characters"
    return [_problem(path, (must, "one with a control character", "letters, digits and -"), found) for path in wrong]


def _problem(path: KeyPath, wrong: tuple[str, str, str], found: Scan) -> Problem:
    return Problem(_short(dotted(path)), *wrong, line=line_of(found.lines, path))


def _short(text: str, most: int = 120) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."


def _too_large(size: int) -> Problem:
    came = f"{size / 1024:,.0f} KiB"
    return Problem("", f"this file must be at most {LARGEST // 1024} KiB", came, "the set file, not a picture or a log")


def _missing(path: str | os.PathLike[str]) -> Problem:
    folder = Path(path).parent
    if not folder.is_dir():
        return Problem("", "this file must exist", f"a path into a folder that is not there: {folder}")
    near = sorted(p.name for p in folder.glob("*.toml"))[:5]
    hint = "one of " + ", ".join(near) if near else "lodestring new, which writes one to start from"
    return Problem("", "this file must exist", "a name that is not in the folder", hint)


def _frozen(found: Scan) -> Mapping[KeyPath, int]:
    return MappingProxyType(found.lines)
