"""A problem between fields, before its line is known."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A problem without a line yet."""

    path: tuple[str | int, ...]
    must: str
    came: str = ""
    attempt: str = ""
