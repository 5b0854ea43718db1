"""The pace of a coil from the times of its events: while cranking, at pauses, and how long the rest will take."""

from __future__ import annotations

import statistics
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from lodestring.book.event import Event

SLOW = 0.3
"""An interval below this share of the usual pace held a pause."""
LONGEST_STEP = 1800.0
"""s: nobody cranks half an hour between two counts; what is longer held a rest, however many turns came."""
FASTEST = 50.0
"""Turns a second no winder of this trade reaches (3,000 a minute): such a step was a reading typed late."""
LEAST_STEPS = 3
USUAL_PAUSE = 60.0


@dataclass(frozen=True, slots=True)
class Paced:
    """Turns a second while cranking (None: not known yet) over so many turns; seconds at the winder so far, of which
    cranking; pauses and their usual length."""

    cranking: float | None
    cranked: int
    elapsed: float
    at_crank: float
    pauses: int
    pause: float

    def left(self, turns: int, pauses: int) -> float | None:
        """Seconds for so many turns and pauses more."""
        if self.cranking is None or self.cranking <= 0.0:
            return None
        return max(0, turns) / self.cranking + pauses * self.pause


def pace_of(events: Iterable[Event], voided: frozenset[str] = frozenset()) -> Paced:
    """The pace of a coil. Each step from one count to the next has turns and seconds; slow ones held a pause.

    The clocks are those of the devices: a step backward in time, and one of no turns, is passed over.
    """
    steps = list(_steps(events, voided))
    turning = [(dt, dn) for dt, dn in steps if dn > 0 and 0.0 < dt <= LONGEST_STEP and dn <= FASTEST * dt]
    usual = _usual(turning)
    if usual is None:
        return Paced(None, 0, sum(min(dt, LONGEST_STEP) for dt, _ in steps), 0.0, 0, USUAL_PAUSE)
    cranking = [(dt, dn) for dt, dn in turning if dn / dt >= SLOW * usual]
    seconds, turns = sum(dt for dt, _ in cranking), sum(dn for _, dn in cranking)
    pace = turns / seconds
    paused = [(dt, dn) for dt, dn in steps if 5.0 < dt <= LONGEST_STEP and (dn <= 0 or dn / dt < SLOW * usual)]
    rest = [dt - max(0, dn) / pace for dt, dn in paused]
    pause = statistics.median(rest) if len(rest) >= LEAST_STEPS else USUAL_PAUSE
    return Paced(pace, turns, seconds + sum(rest), seconds, len(rest), pause)


def _usual(steps: list[tuple[float, int]]) -> float | None:
    """The pace at which half of all turns were made, or faster."""
    if not steps:
        return None
    ranked = sorted(((dn / dt, dn) for dt, dn in steps), reverse=True)
    half, run = sum(dn for _, dn in ranked) / 2.0, 0
    for rate, turns in ranked:
        run += turns
        if run >= half:
            return rate
    return ranked[-1][0]


def _steps(events: Iterable[Event], voided: frozenset[str]) -> Iterable[tuple[float, int]]:
    """(seconds, turns) from each count to the next, in the order of the devices' clocks."""
    total, last_at, last_total = 0, None, 0
    for e in sorted((e for e in events if e.id not in voided), key=lambda e: (e.at, e.lamport, e.id)):
        if e.kind == "coil.turns":
            total += int(e.body["turns"])
        elif e.kind == "coil.count":
            total = int(e.body["turns"])
        elif e.kind not in ("coil.begin", "coil.check", "coil.snag", "coil.snap"):
            continue
        at = seconds_of(e.at)
        if last_at is not None and at > last_at:
            if e.kind == "coil.count" and e.body.get("why") in ("reset", "estimate", "start"):
                last_total = total  # a correction is no winding
            yield at - last_at, total - last_total
        if last_at is None or at > last_at:
            last_at, last_total = at, total
    return


def seconds_of(at: str) -> float:
    """Seconds of an event's time since 1970."""
    return datetime.fromisoformat(at.replace("Z", "+00:00")).timestamp()
