"""The coil as a stack of turns: how deep it gets, how long its wire is.

The coil is an obround: straight length s between the centres of two half circles, inner half-width r_i, window height
h.
Turns are taken as spread evenly over the cross-section, so that each thin shell holds turns in proportion to its
thickness. Packing k is enamelled wire area over window area: 0.907 (pi / (2 sqrt 3)) for perfect machine layers in a
hexagonal stack, 0.785 (pi / 4) for a square one, about 0.65 for a hand that scatters (common practice, no source).

Validity: many turns (hundreds); the long sides straight. Real long sides belly out by 10-20 % of the depth; a bulge of
0.5 mm over 52 mm adds 0.013 mm to a side (8 b^2 / 3 s), so the length of wire ignores it and only the size shows it.
"""

from __future__ import annotations

import math

from lodestring.errors import DomainError

PERFECT_LAYERS = math.pi / (2 * math.sqrt(3))
SQUARE_LAYERS = math.pi / 4


def coil_depth(turns: float, overall_diameter: float, packing: float, height: float) -> float:
    """Depth [m] from the first turn to the last at the round ends.

    turns N [1], overall (enamelled) diameter D [m], packing k [1], window height h [m]: depth = N pi D^2 / (4 k h).
    Raises DomainError unless 0 < k <= 0.9069 and h > 0.
    """
    if not 0.0 < packing <= PERFECT_LAYERS + 1e-9:
        raise DomainError("packing lies above 0 and at most at 0.9069, a perfect hexagonal stack", f"{packing:g}")
    if height <= 0.0:
        raise DomainError("the window has a height above 0", f"{height:g} m")
    return turns * math.pi * overall_diameter**2 / (4.0 * packing * height)


def turns_in(depth: float, overall_diameter: float, packing: float, height: float) -> float:
    """Number of turns (not rounded) that fill a coil to `depth` [m]: the inverse of `coil_depth`."""
    return depth * 4.0 * packing * height / (math.pi * overall_diameter**2)


def turn_length(straight: float, half_width: float) -> float:
    """Length [m] of one turn at `half_width` [m] from the coil's long axis: 2 s + 2 pi r."""
    return 2.0 * straight + 2.0 * math.pi * half_width


def mean_turn_length(straight: float, inner: float, depth: float) -> float:
    """Mean length [m] of a turn: (1/D) integral of (2 s + 2 pi r) dr from r_i to r_i + D = 2 s + pi (2 r_i + D)."""
    return 2.0 * straight + math.pi * (2.0 * inner + depth)


def length_to_turn(turn: float, turns: float, straight: float, inner: float, depth: float) -> float:
    """Length [m] of wire from the start to turn number `turn` of a coil that is `depth` deep after `turns`."""
    return turn * mean_turn_length(straight, inner, depth * turn / turns)


def passes_side_by_side(turns: float, overall_diameter: float, height: float) -> float:
    """Passes over the window if each laid its turns side by side: N D / h. A hand's own passes are fewer turns each."""
    return turns * overall_diameter / height
