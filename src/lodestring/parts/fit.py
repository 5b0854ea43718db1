"""Every hole and every peg gets its drawn size here: what goes in, how tight, and what this machine makes of it.

A printed hole comes out smaller than drawn by 0.1 to 0.4 mm, a peg larger (common practice, no source); a laser takes
its kerf. Until a test piece was tried, the catalogue's usual figures stand with their wide spread. Once it was, the
maker's answers replace them: sizes are then those into which the rod was found to slip or to press, moved along with
the nominal (that the offset is one and the same from 2 to 10 mm is assumed).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lodestring.errors import DomainError
from lodestring.parts.process import process
from lodestring.reference import Spread, catalogue
from lodestring.reference.naming import unknown_name

FitClass = Literal["slip", "hand press", "force", "to size"]
Feature = Literal["hole", "peg"]
Axis = Literal["upright", "lying"]
FITS: tuple[FitClass, ...] = ("slip", "hand press", "force", "to size")
FEATURES: tuple[Feature, ...] = ("hole", "peg")
AXES: tuple[Axis, ...] = ("upright", "lying")
READ = 0.05e-3
"""Half a step of the test piece [m]: no closer is a fit known from it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One row of a test piece as answered [m]: what was tried, and the drawn sizes that slip and that must be pressed.

    Raises DomainError where the answers cannot both be: a hole that slips is drawn wider than one that is pressed into,
    a peg that slips in thinner.
    """

    feature: Feature
    axis: Axis
    nominal: float
    slips: float
    pressed: float

    def __post_init__(self) -> None:
        looser = self.slips - self.pressed if self.feature == "hole" else self.pressed - self.slips
        if not looser > 0.0:
            raise DomainError(
                f"a {self.feature} that slips is drawn {'wider' if self.feature == 'hole' else 'thinner'} than one "
                "that must be pressed",
                f"slips at {self.slips * 1e3:.2f} mm, pressed at {self.pressed * 1e3:.2f} mm",
                "the two the other way round",
            )


@dataclass(frozen=True, slots=True)
class Calibration:
    """A machine: its process, what a test piece showed (none: not tried), and the kerf [m] where one was measured."""

    process: str = "filament"
    tried: tuple[Tried, ...] = ()
    kerf: float | None = None


@dataclass(frozen=True, slots=True)
class Fitted:
    """The size to draw [m], the interval in which the right one lies, and whether a test piece backs it."""

    drawn: float
    low: float
    high: float
    tested: bool


def room(fit: FitClass) -> Spread:
    """How much wider than what goes in the finished hole is [m]."""
    if fit not in FITS:
        raise unknown_name("a fit", fit, FITS)
    return catalogue().row(f"making.fit-{fit.replace(' ', '-')}")["room"].spread()


def fitted(nominal: float, fit: FitClass, feature: Feature, axis: Axis, calibration: Calibration) -> Fitted:
    """The diameter to draw for a hole that takes a body of `nominal` [m], or a peg that goes into a bore of `nominal`.

    `axis`: "upright" for a hole square to the bed or the sheet, "lying" for one along it. Raises DomainError for a
    nominal that is not positive or for a hole that would vanish, CatalogueError for an unknown fit.
    """
    if feature not in FEATURES or axis not in AXES:
        raise unknown_name("a feature or an axis", f"{feature}, {axis}", (*FEATURES, *AXES))
    wanted = room(fit)
    found = next((t for t in calibration.tried if (t.feature, t.axis) == (feature, axis)), None)
    if found is not None:
        offset = _tested_offset(found, fit)
        low, high = offset - READ, offset + READ
    else:
        stray = _stray(feature, axis, calibration)
        sign = 1.0 if feature == "hole" else -1.0
        ends = sorted(sign * (r + s) for r, s in ((wanted.low, stray.low), (wanted.high, stray.high)))
        offset, (low, high) = sign * (wanted.nominal + stray.nominal), ends
    drawn = nominal + offset
    if not (nominal > 0.0 and drawn > 0.0):
        raise DomainError(
            "a hole or a peg has a size above 0", f"{nominal * 1e3:.2f} mm, drawn {drawn * 1e3:.2f} mm", "a thicker one"
        )
    return Fitted(drawn, nominal + low, nominal + high, found is not None)


def _stray(feature: Feature, axis: Axis, calibration: Calibration) -> Spread:
    """How much smaller a hole, larger a peg comes out than drawn [m], before a test piece was tried."""
    rules = process(calibration.process)
    stray = rules.hole_small if feature == "hole" else rules.peg_large
    if calibration.kerf is not None:
        stray = Spread(-calibration.kerf, -calibration.kerf, -calibration.kerf)
    if axis == "upright":
        return stray
    more = rules.lying
    return Spread(stray.low + more.low, stray.nominal + more.nominal, stray.high + more.high)


def _tested_offset(tested: Tried, fit: FitClass) -> float:
    """Drawn size less nominal for a fit, from the two that were tried.

    A hole is to size midway between slipping and pressing; force is as much tighter than a hand press as the usual
    figures say.
    """
    slips, pressed = tested.slips - tested.nominal, tested.pressed - tested.nominal
    if fit == "slip":
        return slips
    if fit == "to size":
        return (slips + pressed) / 2
    if fit == "hand press":
        return pressed
    tighter = room("hand press").nominal - room("force").nominal
    return pressed - tighter if tested.feature == "hole" else pressed + tighter
