"""Where things of a set lie in the maker's folder. A set is asked for by name, never by a path.

NAME.toml                         the set file, the only thing that counts
.lodestring/history/NAME.jsonl    steps for undo and redo
.lodestring/kept/NAME/ID.json     states kept to compare
.lodestring/bin/NAME-TIME/        what was binned, with its history and kept states
"""

from __future__ import annotations

import re
import threading
from datetime import UTC, datetime
from pathlib import Path

from lodestring.errors import FileProblem
from lodestring.folder.open_set import WORKSHOP

OURS = ".lodestring"
_NAME = re.compile(r"[a-z][a-z0-9-]{0,31}")
RESERVED = (Path(WORKSHOP).stem, "con", "prn", "aux", "nul", *(f"{p}{n}" for p in ("com", "lpt") for n in range(1, 10)))
"""The workshop file's name, and names that one system keeps for devices whatever their ending."""

_locks: dict[str, threading.RLock] = {}
_guard = threading.Lock()


def check_name(name: str) -> str:
    """`name` if a set may be called so, else FileProblem."""
    if not _NAME.fullmatch(name):
        raise FileProblem(
            "the name of a set is a small letter, then small letters, digits or -, 32 at most",
            f'"{name[:60]}"' if name else "nothing",
            suggested(name),
        )
    if name in RESERVED:
        what = "the name of the workshop file" if name == RESERVED[0] else "a name that some systems keep for devices"
        raise FileProblem("a set needs a name of its own", f'"{name}", {what}', f"{name}-set")
    return name


def suggested(text: str) -> str:
    """A legal name near to a text, "first-set" where nothing is left of it."""
    word = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-0123456789")[:32].strip("-")
    return word if word and word not in RESERVED else "first-set"


def is_set_name(name: str) -> bool:
    """Whether a set may be called so."""
    return bool(_NAME.fullmatch(name)) and name not in RESERVED


def set_path(folder: Path, name: str) -> Path:
    """Path of the set file. Raises FileProblem for a name that is none."""
    return folder / f"{check_name(name)}.toml"


def history_path(folder: Path, name: str) -> Path:
    """Path of a set's undo history."""
    return folder / OURS / "history" / f"{check_name(name)}.jsonl"


def kept_folder(folder: Path, name: str) -> Path:
    """Folder of a set's kept states."""
    return folder / OURS / "kept" / check_name(name)


def bin_folder(folder: Path) -> Path:
    """Folder of what was binned."""
    return folder / OURS / "bin"


def lock_of(folder: Path, name: str) -> threading.RLock:
    """One lock for each set of this process, so that two pages on one set take turns."""
    key = str(set_path(folder, name).resolve())
    with _guard:
        return _locks.setdefault(key, threading.RLock())


def now() -> str:
    """The time, UTC, to the second: `2026-01-31T18:05:00Z`."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def refused(path: Path, error: Exception) -> FileProblem:
    """What the system said of a file or folder, as a sentence."""
    came = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return FileProblem(f'"{path.name}" must be writable', came, "its permissions and the space on the disk")
