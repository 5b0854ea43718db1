"""What became of a change, for a page or a command to tell."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.errors import Problem


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two texts for one file: `mine` is what this change would have made, `theirs` is on disk under `digest`."""

    mine: str
    theirs: str
    digest: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a change. `done` False: nothing was written, and `problems` or `conflict` says why.

    `digest`: of the file as it is now. `changed`: key paths that were changed, those that had to go along last.
    `words`: sentences for the maker that are no problem of the set.
    """

    done: bool
    digest: str
    problems: tuple[Problem, ...] = ()
    conflict: Conflict | None = None
    changed: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
