"""The bytes of a set file -> an assessment, or every problem that keeps it from one. Nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lodestring.assess.model import Model
from lodestring.assess.report import Assessment
from lodestring.assess.store import Store
from lodestring.design.read import read_set
from lodestring.errors import FileProblem, LodestringError, Problem, SetFileError
from lodestring.folder.open_set import learned_beside, opened, workshop_beside
from lodestring.quantity import USUAL, Units


@dataclass(frozen=True, slots=True)
class Judged:
    """A text read and checked: its assessment, or None and the problems. `words` are no problem of the set."""

    assessment: Assessment | None
    problems: tuple[Problem, ...]
    words: tuple[str, ...] = ()
    units: Units = USUAL
    """in which units the workshop file wants figures said"""


def judge(raw: bytes, folder: Path, file: str, check: Store, store: Store) -> Judged:
    """Read a set and check that it can be computed, in the workshop of the folder. The check runs on the store `check`,
    the assessment will run on `store`. A workshop file that cannot be read is left out of account, with a word."""
    words: tuple[str, ...] = ()
    try:
        workshop = workshop_beside(folder)
    except FileProblem as error:
        workshop, words = None, (f"the workshop file is left out of account: {str(error).splitlines()[0]}",)
    chosen = None if workshop is None else workshop.record.shown
    units = USUAL if chosen is None else chosen.units
    try:
        found = opened(read_set(raw, file), workshop, check, learned_beside(folder))
    except SetFileError as error:
        return Judged(None, tuple(error.problems), words, units)
    except LodestringError as error:
        return Judged(None, (problem_of(error),), words, units)
    return Judged(Assessment(Model(found.model.inputs, store)), (), words, units)


def problem_of(error: LodestringError) -> Problem:
    """An error that names no field, as a problem of the set as a whole."""
    return Problem("", error.must, error.came, error.attempt)
