"""What can go wrong, and how it is said.

    LodestringError            one sentence: what must hold, what came, what to try
      QuantityError            a text is not the quantity that was asked for
      CatalogueError           a catalogue row is incomplete, or a name is not in the catalogue
      DomainError              a value lies outside what a formula can mean
      FileProblem              a file cannot be read or written as a whole
        SetFileError           a set or workshop file does not say something buildable (many problems at once)

Nothing in here knows a file format or a formula; every room may import it.
"""

from __future__ import annotations

from dataclasses import dataclass


class LodestringError(Exception):
    """The root. `must` says what must hold, `came` what was found, `attempt` what to try."""

    def __init__(self, must: str, came: str = "", attempt: str = "") -> None:
        self.must = must
        self.came = came
        self.attempt = attempt
        super().__init__(sentence(must, came, attempt))


def sentence(must: str, came: str = "", attempt: str = "") -> str:
    """Join the three parts into one line: `must; came ...; try ...`."""
    parts = [must]
    if came:
        parts.append(f"came {came}")
    if attempt:
        parts.append(f"try {attempt}")
    return "; ".join(parts)


class QuantityError(LodestringError):
    """A text is not the quantity that was asked for."""


class CatalogueError(LodestringError):
    """A catalogue row is incomplete, or a name is not in the catalogue."""


class DomainError(LodestringError):
    """A value lies outside what a formula can mean."""


class FileProblem(LodestringError):
    """A file cannot be read or written as a whole."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a file: where (line counted from 1, key path), and the three-part sentence."""

    path: str
    must: str
    came: str = ""
    attempt: str = ""
    line: int | None = None

    def sentence(self) -> str:
        return sentence(self.must, self.came, self.attempt)


class SetFileError(FileProblem):
    """All problems of one file, together."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = problems
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One line a problem: `file:line: key.path: sentence`."""
        out = []
        for p in self.problems:
            place = self.file if p.line is None else f"{self.file}:{p.line}"
            out.append(f"{place}: {p.path}: {p.sentence()}" if p.path else f"{place}: {p.sentence()}")
        return out
