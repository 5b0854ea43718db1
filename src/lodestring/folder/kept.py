"""States kept to compare: the whole set file under a label of the maker's, `.lodestring/kept/NAME/ID.json`."""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from lodestring.design.toml_read import digest
from lodestring.design.toml_write import write_new
from lodestring.errors import FileProblem
from lodestring.folder.places import bin_folder, kept_folder, now, refused

LONGEST = 80
MOST = 50
_ID = re.compile(r"[0-9a-f]{12}")


@dataclass(frozen=True, slots=True)
class Kept:
    """One kept state: its id, the maker's label, when (UTC), and the bytes of the set file as they were."""

    id: str
    label: str
    at: str
    raw: bytes

    @property
    def digest(self) -> str:
        return digest(self.raw)


def keep(folder: Path, name: str, raw: bytes, label: str) -> Kept:
    """Keep a state. Raises FileProblem for a label that is none, for more than 50 states, where the disk refuses."""
    label = " ".join(label.split()) or f"as of {now()}"
    if len(label) > LONGEST or not label.isprintable():
        raise FileProblem(f"a label is one line of at most {LONGEST} letters", f"{len(label)} letters", "a shorter one")
    if len(kept(folder, name)) >= MOST:
        raise FileProblem(f"a set keeps at most {MOST} states", "one more", "forgetting one that is done with")
    state = Kept(secrets.token_hex(6), label, now(), raw)
    body = {"v": 1, "label": label, "at": state.at, "text": raw.decode("utf-8", "surrogateescape")}
    home = kept_folder(folder, name)
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refused(home, error) from None
    write_new(home / f"{state.id}.json", json.dumps(body) + "\n")
    return state


def kept(folder: Path, name: str) -> tuple[Kept, ...]:
    """Every kept state that can be read, the oldest first."""
    try:
        paths = sorted(kept_folder(folder, name).glob("*.json"))
    except OSError:
        return ()
    found = [state for path in paths if (state := _read(path)) is not None]
    return tuple(sorted(found, key=lambda s: s.at))


def kept_state(folder: Path, name: str, id: str) -> Kept:
    """One kept state. Raises FileProblem where there is none of that id."""
    found = next((s for s in kept(folder, name) if s.id == id), None)
    if found is None:
        raise FileProblem("that state must be among the kept ones", "one that is not, or no longer", "another")
    return found


def forget(folder: Path, name: str, id: str) -> None:
    """Take a state out of the list; its file moves to the bin. Raises FileProblem where there is none of that id."""
    state = kept_state(folder, name, id)
    path = kept_folder(folder, name) / f"{state.id}.json"
    home = bin_folder(folder) / "forgotten"
    try:
        home.mkdir(parents=True, exist_ok=True)
        path.rename(home / f"{name}-{state.id}.json")
    except OSError as error:
        raise refused(path, error) from None


def _read(path: Path) -> Kept | None:
    try:
        body = json.loads(path.read_bytes())
        raw = body["text"].encode("utf-8", "surrogateescape")
        whole = body["v"] == 1 and _ID.fullmatch(path.stem)
        return Kept(path.stem, str(body["label"]), str(body["at"]), raw) if whole else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
