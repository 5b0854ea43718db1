"""What an old coil was, from what it showed while it was unwound: turns, wire, mass, ohms per metre, resistance.

Each thing that was measured tells something by itself; where two tell the same, they are set side by side and must
agree. Nothing is made up for what was not measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.errors import CatalogueError
from lodestring.making.winding_ladder import Sight
from lodestring.making.winding_plan import OPPOSITE
from lodestring.physics import wire as physics
from lodestring.quantity import WireSize
from lodestring.quantity.figures import Figure, figure
from lodestring.reference import enamel, metal
from lodestring.reference import wire as catalogue_wire

DIAMETER_READ = 2e-6
"""m, 90 %: a micrometer over fine enamelled wire, several places (common practice, no source)."""
MASS_SHARE, OHMS_SHARE, TURN_SHARE = 0.01, 0.015, 0.05
"""Half-widths (90 %): scraps lost on the scale; a 10 m sample; a mean turn taken from the bobbin's sizes. Assumed."""
GAUGES, FILMS = range(36, 47), ("single", "heavy")
FILM = 1.1
"""Diameter over the enamel against bare, where it was not measured: single enamel of these gauges (reckoned from the
tables of magnet wire)."""


@dataclass(frozen=True, slots=True)
class OldCoil:
    """What was noted, SI; None where it was not. `unwound`: the way the bobbin was turned to take the wire off, seen
    from its top plate, while the wire came off to a fixed place."""

    turns: float | None = None
    turns_half: float = 0.0
    unwound: str = ""
    overall: float | None = None
    bare: float | None = None
    mass: float | None = None
    ohm_per_metre: float | None = None
    resistance: float | None = None
    mean_turn: float | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """One thing the coil was: what it was, the figure, and what it follows from."""

    what: str
    text: str
    by: str


@dataclass(frozen=True, slots=True)
class WhatItWas:
    """Everything that follows; `wire`: the likely sizes; `words`: what does not go together."""

    told: tuple[Told, ...]
    wire: tuple[str, ...]
    words: tuple[str, ...]


def what_it_was(seen: OldCoil) -> WhatItWas:
    """What follows from what was noted."""
    lengths = tuple(_lengths(seen))
    wires, words = _wires(seen)
    told = [*_plain(seen), *_lengths_told(lengths), *_turn_told(seen, lengths)]
    if wires:
        told.append(Told("wire", " or ".join(wires), ", ".join(_wire_witnesses(seen))))
    words += _disagree(lengths)
    return WhatItWas(tuple(told), tuple(wires), tuple(words))


def _plain(seen: OldCoil) -> Iterator[Told]:
    if seen.turns is not None:
        half = seen.turns_half
        yield Told(
            "turns", figure(seen.turns, "1", seen.turns - half, seen.turns + half).whole, "counted as they came off"
        )
    if seen.unwound in OPPOSITE:
        # Taking off is laying on run backward: a bobbin turned clockwise to unwind was turned anticlockwise to wind,
        # and wire from a fixed place lies the other way round than the bobbin turns.
        yield Told("wound", f"{seen.unwound} seen from the top, start to finish", "the way it came off")
    if seen.resistance is not None:
        yield Told("resistance", figure(seen.resistance, "ohm").text, "measured before it came off")


def _lengths(seen: OldCoil) -> Iterator[tuple[str, Sight]]:
    """Length of the wire [m] by each way that what was noted allows."""
    if seen.mass is not None:
        found = _kilograms_per_metre(seen)
        if found is not None:
            share = math.hypot(MASS_SHARE, (found.high - found.low) / (2.0 * found.value))
            yield "its mass and diameter", _spread(seen.mass / found.value, share)
    if seen.resistance is not None and seen.ohm_per_metre is not None:
        yield (
            "its resistance and ohms per metre",
            _spread(seen.resistance / seen.ohm_per_metre, math.hypot(OHMS_SHARE, 0.01)),
        )
    if seen.turns is not None and seen.mean_turn is not None:
        share = math.hypot(TURN_SHARE, seen.turns_half / max(seen.turns, 1.0))
        yield "its turns and mean turn", _spread(seen.turns * seen.mean_turn, share)


def _kilograms_per_metre(seen: OldCoil) -> Sight | None:
    """Copper by ohms per metre (no diameter is needed: mass per metre = density times resistivity over ohms per metre),
    enamel by what the overall diameter adds; or both by diameters."""
    copper = metal("copper")
    density, rho = copper.density.nominal, copper.resistivity.nominal
    bare = seen.bare
    share = OHMS_SHARE
    if seen.ohm_per_metre is not None:
        bare = math.sqrt(4.0 * rho / (math.pi * seen.ohm_per_metre))
    elif bare is not None:
        share = 2.0 * DIAMETER_READ / bare
    if bare is None:
        return None
    overall = seen.overall if seen.overall is not None and seen.overall > bare else FILM * bare
    film = enamel("polyurethane").density.nominal * (physics.section(overall) - physics.section(bare))
    value = density * physics.section(bare) + film
    return _spread(value, math.hypot(share, 0.3 * film / value))  # which enamel it is, is not known


def _lengths_told(lengths: tuple[tuple[str, Sight], ...]) -> Iterator[Told]:
    for by, sight in lengths:
        yield Told("wire on it", _figure(sight, "m").whole, by)


def _turn_told(seen: OldCoil, lengths: tuple[tuple[str, Sight], ...]) -> Iterator[Told]:
    if seen.turns is None or seen.turns <= 0.0:
        return
    for by, sight in lengths:
        if "turns" not in by:
            share = math.hypot((sight.high - sight.low) / (2.0 * sight.value), seen.turns_half / seen.turns)
            yield Told("mean turn", _figure(_spread(sight.value / seen.turns, share), "m").whole, f"turns and {by}")


def _wires(seen: OldCoil) -> tuple[list[str], list[str]]:
    """Gauges that all that was measured of the wire allows, and a word where none does."""
    if not _wire_witnesses(seen):
        return [], []
    named = seen.overall is not None
    found = [
        f"{number} AWG {film}" if named else f"{number} AWG"
        for number in GAUGES
        for film in FILMS
        if _allowed(seen, number, film)
    ]
    if found:
        return list(dict.fromkeys(found)), []
    return [], ["What was measured of the wire fits no gauge together: measure again, the enamel off for bare ends."]


def _allowed(seen: OldCoil, number: int, film: str) -> bool:
    """Whether a wire of the tables could have given everything that was measured of it."""
    try:
        row = catalogue_wire(WireSize("AWG", number, None, f"{number} AWG"), film)
    except CatalogueError:
        return False  # the tables do not have it
    rho = metal("copper").resistivity.nominal
    least, most = (physics.resistance_per_metre(rho, d) for d in (row.bare.high, row.bare.low))
    return (
        _between(seen.ohm_per_metre, (1.0 - OHMS_SHARE) * least, (1.0 + OHMS_SHARE) * most)
        and _between(seen.bare, row.bare.low - DIAMETER_READ, row.bare.high + DIAMETER_READ)
        and _between(seen.overall, row.overall.low - DIAMETER_READ, row.overall.high + DIAMETER_READ)
    )


def _between(value: float | None, low: float, high: float) -> bool:
    return value is None or low <= value <= high


def _wire_witnesses(seen: OldCoil) -> list[str]:
    given = (
        ("ohms per metre", seen.ohm_per_metre),
        ("bare diameter", seen.bare),
        ("diameter over the enamel", seen.overall),
    )
    return [word for word, value in given if value is not None]


def _disagree(lengths: tuple[tuple[str, Sight], ...]) -> list[str]:
    words = []
    for i, (by, one) in enumerate(lengths):
        for other_by, other in lengths[i + 1 :]:
            if one.high < other.low or other.high < one.low:
                words.append(
                    f"The wire's length by {by} and by {other_by} do not agree: "
                    "shorted turns, lost wire, or a wrong count."
                )
    return words


def _spread(value: float, share: float) -> Sight:
    return Sight(value, value / (1.0 + share), value * (1.0 + share))


def _figure(sight: Sight, unit: str) -> Figure:
    return figure(sight.value, unit, sight.low, sight.high)
