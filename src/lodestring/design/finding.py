"""A finding: something the figures say that the maker should know before it is too late to mend."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lodestring.design.vocabulary import SEVERITIES, Severity, Stage


@dataclass(frozen=True, slots=True)
class Finding:
    """One blocker, warning or note.

    `about` is the key path it concerns; `attempt` says what to do; `change` holds the cure as TOML source text by key
    path where the cure is a value (None where it is not); `until` is the last stage at which the cure is possible.
    """

    code: str
    severity: Severity
    about: str
    sentence: str
    attempt: str
    until: Stage
    change: Mapping[str, str] | None = None
    weight: float = field(default=0.0, compare=False)
    """Orders findings of one severity: the larger, the earlier. Not part of the contract's JSON."""

    def as_json(self) -> dict[str, Any]:
        return {
            "code": self.code,
            "severity": self.severity,
            "about": self.about,
            "sentence": self.sentence,
            "try": self.attempt,
            "change": None if self.change is None else dict(self.change),
            "until": self.until,
        }


def by_weight(findings: list[Finding]) -> list[Finding]:
    """Blockers first, then warnings, then notes; within one severity the weightiest first, else as they came."""
    return sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), -f.weight))
