"""Every finding that parts can raise: code, how weighty, until when, what it says. Joined to the others by folder/."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lodestring.design.finding import Finding
from lodestring.design.vocabulary import Severity, Stage


@dataclass(frozen=True, slots=True)
class Code:
    """One row of the second table of docs/findings.md."""

    code: str
    severities: tuple[Severity, ...]
    until: Stage
    help: str


CODES: tuple[Code, ...] = (
    Code("part-in-pieces", ("blocker",), "drawn", "a part falls apart, or is hollow where it should not be"),
    Code("part-off-size", ("blocker",), "drawn", "a part's solid is not as big as its figures say"),
    Code("part-holes-differ", ("blocker",), "drawn", "a hole is missing from a part's solid, or has another size"),
    Code("part-wall-thin", ("warning",), "drawn", "a wall or a web is thinner than its process makes well"),
    Code("part-hole-small", ("warning",), "drawn", "a hole is smaller than its process makes well"),
    Code("part-overhangs", ("note",), "drawn", "a part reaches out over nothing as it is laid: it needs support"),
    Code("no-room-for-eyelets", ("warning",), "drawn", "the plate has no free end for the wire's way out"),
    Code("fit-not-tested", ("note",), "drawn", "holes are drawn by what is usual: no test piece was answered"),
    Code("parts-touch", ("blocker", "warning"), "drawn", "two parts of a pickup have no room for each other"),
)


def finding(
    code: str, severity: Severity, about: str, sentence: str, attempt: str,
    change: Mapping[str, str] | None = None, weight: float = 0.0,
) -> Finding:  # fmt: skip
    """A finding of this room by its code."""
    row = next(c for c in CODES if c.code == code)
    if severity not in row.severities:
        raise ValueError(f"{code} is never a {severity}")
    return Finding(code, severity, about, sentence, attempt, row.until, change, weight)
