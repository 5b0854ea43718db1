"""Ears with screw holes at both ends of a part: sizes from the screw's standard."""

from __future__ import annotations

from lodestring.parts.choices import Choices
from lodestring.parts.contour import Ear
from lodestring.parts.fit import Calibration, fitted
from lodestring.parts.records import Hole
from lodestring.reference import screw

OVER_SCREW = 2e-3
"""Material round a screw's hole [m]: common practice, no source."""


def ear_for(chosen: Choices, machine: Calibration) -> tuple[Ear, float, float]:
    """(ear, screw's clearance hole [m], its drawn size) for the chosen screw, medium series or normal fit."""
    hole = screw(chosen.screw).clearance_hole.nominal
    drawn = fitted(hole, "to size", "hole", "upright", machine).drawn
    radius = hole / 2 + OVER_SCREW
    return Ear(radius + 0.5e-3, radius), hole, drawn


def screws_of(chosen: Choices, reach: float, hole: float, drawn: float) -> tuple[Hole, ...]:
    """The screws' holes at both ends."""
    return tuple(Hole(f"screw {chosen.screw}", x, 0.0, hole, drawn, "to size") for x in (reach, -reach))
