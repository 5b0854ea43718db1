"""A set file and the workshop file beside it -> a Model and its assessment, or every problem with file, line and
path.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from lodestring.assess.buildable import obstacles
from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment, assess
from lodestring.assess.store import Store
from lodestring.design.learned import Hand, Spools
from lodestring.design.pickup_set import PickupSet
from lodestring.design.read import Loaded, read_set, read_workshop
from lodestring.design.workshop import Workshop
from lodestring.errors import DomainError, SetFileError

WORKSHOP = "workshop.toml"
BOOK = "book.sqlite"
Learned = tuple[Hand | None, Spools | None]


@dataclass(frozen=True)
class OpenSet:
    """A set that was read and can be computed."""

    loaded: Loaded[PickupSet]
    workshop: Loaded[Workshop] | None
    model: Model


def open_set(path: Path, store: Store | None = None) -> OpenSet:
    """Read a set file and, where there is one, `workshop.toml` in the same folder. Raises SetFileError, FileProblem."""
    loaded = read_set(path)
    return opened(loaded, workshop_beside(path.parent), store, learned_beside(path.parent))


def workshop_beside(folder: Path) -> Loaded[Workshop] | None:
    """The workshop file of a folder, None where there is none. Raises SetFileError."""
    beside = folder / WORKSHOP
    return read_workshop(beside) if beside.is_file() else None


def learned_beside(folder: Path) -> Learned:
    """What the book of a folder has taught of hand and spools; nothing where there is no book, or none to be read."""
    if not (folder / BOOK).is_file():
        return None, None
    from lodestring.folder.winding_learned import learned_here  # the book is loaded where there is one

    found = learned_here(folder)
    return found.hand, found.spools


def opened(
    loaded: Loaded[PickupSet],
    workshop: Loaded[Workshop] | None,
    store: Store | None = None,
    learned: Learned = (None, None),
) -> OpenSet:
    """A set that was read, with its model. `learned`: what the book has taught. Raises SetFileError with everything
    that keeps it from being computed."""
    hand, spools = learned
    inputs = Inputs(
        design=loaded.record,
        workshop=None if workshop is None else workshop.record,
        hand=hand,
        spools=spools,
        hashes={
            "set": loaded.document.sha256,
            "workshop": None if workshop is None else workshop.document.sha256,
            "hand": _print_of(hand),
            "spools": _print_of(spools),
        },
    )
    model = Model(inputs, store)
    problems = [loaded.problem(o.path, o.must, o.came, o.attempt) for o in obstacles(model)]
    if problems:
        raise SetFileError(loaded.document.file, problems)
    return OpenSet(loaded, workshop, model)


def _print_of(record: Hand | Spools | None) -> str | None:
    """A content hash of what was learned: its records print all they hold."""
    return None if record is None else "sha256:" + hashlib.sha256(repr(record).encode()).hexdigest()


def assess_here(path: Path, store: Store | None = None) -> Assessment:
    """The assessment of a set file in its folder. Raises SetFileError, FileProblem."""
    opened = open_set(path, store)
    try:
        return assess(opened.model)
    except DomainError as error:
        problem = opened.loaded.problem((), error.must, error.came, error.attempt)
        raise SetFileError(opened.loaded.document.file, [problem]) from None
