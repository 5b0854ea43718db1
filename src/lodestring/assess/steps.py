"""The steps of an assessment: each a pure function of one frozen record that holds only the floats it uses."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.layout.pole_row import Row, RowIn, pole_row
from lodestring.layout.string_lines import (
    StringsIn,
    axis_through,
    corrected,
    crossings,
    string_lines,
)
from lodestring.physics import winding, wire


@dataclass(frozen=True, slots=True)
class CrossingsIn:
    """String lines, the pickup's place under the outer strings, the coil's offset, and a paper tape where there is
    one.
    """

    strings: StringsIn
    first: float
    last: float
    offset: float
    tape: tuple[float, ...] | None


def crossings_step(given: CrossingsIn) -> tuple[float, ...]:
    """x of each string on the coil's own line, in the pickup's frame."""
    lines = string_lines(given.strings)
    axis = axis_through(lines, given.first, given.last)
    plain = crossings(lines, axis, given.offset)
    if given.tape is None:
        return plain
    return corrected(plain, crossings(lines, axis), given.tape)


def row_step(given: RowIn) -> Row:
    """Pole pieces and the coil's inner obround."""
    return pole_row(given)


@dataclass(frozen=True, slots=True)
class StretchIn:
    """Pull on the wire [N], bare diameter [m], and the law of soft copper: proof stress, strength [Pa], elongation
    [1].
    """

    tension: float
    bare: float
    proof: float
    strength: float
    elongation: float
    factor: float


def stretch_step(given: StretchIn) -> float:
    """Lasting strain [1]; never more than the elongation at break, where the wire parts."""
    stress = given.tension / wire.section(given.bare)
    strain = given.factor * wire.strain_under(stress, given.proof, given.strength, given.elongation)
    return min(strain, given.elongation)


@dataclass(frozen=True, slots=True)
class CopperIn:
    """One coil as copper. Lengths in metres, SI throughout; `strain` is the lasting stretch of the wire."""

    straight: float
    inner: float
    height: float
    turns: int
    bare: float
    overall: float
    packing: float
    belly: float
    strain: float
    resistivity: float
    density: float
    enamel_density: float


@dataclass(frozen=True, slots=True)
class Copper:
    """What follows from `CopperIn`: depth [m], lengths [m], masses [kg], resistance at 20 C [ohm]."""

    depth_end: float
    depth_side: float
    outer_length: float
    outer_width: float
    mean_turn: float
    length: float
    length_off_spool: float
    copper_mass: float
    enamel_mass: float
    resistance: float
    passes: float


def copper_step(given: CopperIn) -> Copper:
    """Size, wire and resistance of a coil. Stretched wire is thinner: both diameters shrink by sqrt(1 + strain)."""
    grown = 1.0 + given.strain
    overall = given.overall / grown**0.5
    depth = winding.coil_depth(given.turns, overall, given.packing, given.height)
    side = depth * (1.0 + given.belly)
    mean = winding.mean_turn_length(given.straight, given.inner, depth)
    length = given.turns * mean
    off_spool = length / grown
    return Copper(
        depth_end=depth,
        depth_side=side,
        outer_length=given.straight + 2.0 * (given.inner + depth),
        outer_width=2.0 * (given.inner + side),
        mean_turn=mean,
        length=length,
        length_off_spool=off_spool,
        copper_mass=wire.copper_mass(given.density, given.bare, off_spool),
        enamel_mass=wire.enamel_mass(given.enamel_density, given.bare, given.overall, off_spool),
        resistance=wire.resistance_per_metre(given.resistivity, given.bare) * grown * length,
        passes=winding.passes_side_by_side(given.turns, overall, given.height),
    )


@dataclass(frozen=True, slots=True)
class TimeIn:
    """Turns, turns per second while cranking, number of pauses and seconds at each."""

    turns: int
    pace: float
    pauses: int
    pause: float


def time_step(given: TimeIn) -> float:
    """Seconds at the winder."""
    return given.turns / given.pace + given.pauses * given.pause
