"""Findings: what the figures say that the maker should know while a cure is still possible.

Each module looks at one side of the job and yields findings; none computes a figure of its own.
"""

from __future__ import annotations

from lodestring.assess.findings import copper, fit, harness, poles, process, strings, usual, wiring
from lodestring.assess.model import Model
from lodestring.design.finding import Finding, by_weight


def find_all(model: Model) -> tuple[Finding, ...]:
    """Every finding of a set, the weightiest first."""
    rooms = (fit, poles, wiring, harness, copper, process, strings, usual)
    return tuple(by_weight([finding for room in rooms for finding in room.find(model)]))
