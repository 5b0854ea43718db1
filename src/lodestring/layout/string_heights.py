"""How high each string runs over the pole pieces, from what a maker measures. Metres.

A gap is measured from the top of the pole piece to the UNDERSIDE of the string at the two outer strings, with the
last fret pressed or at rest. The strings between lie on the arc of the radius. Pressing the last fret lowers the string
over the pickup; the lift back to rest follows from the action over fret 12, the string running straight from saddle to
nut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HeightsIn:
    """x of the strings on the pickup's axis and z of the pole tops under them, string 1 first; gaps at the outer
    strings; radius (0: flat); `lift` of each string from the measured state to rest; string diameters."""

    x: tuple[float, ...]
    tops: tuple[float, ...]
    first: float
    last: float
    radius: float
    lift: tuple[float, ...]
    diameters: tuple[float, ...]


def string_centres(given: HeightsIn) -> tuple[float, ...]:
    """z of each string's centre at rest, in the frame of the pole tops' z."""
    x1, xn = given.x[0], given.x[-1]
    z1, zn = given.tops[0] + given.first, given.tops[-1] + given.last
    out = []
    for x, lift, diameter in zip(given.x, given.lift, given.diameters, strict=True):
        share = 0.0 if x1 == xn else (x - x1) / (xn - x1)
        arc = (x - x1) * (xn - x) / (2.0 * given.radius) if given.radius else 0.0
        out.append(z1 + share * (zn - z1) + arc + lift + diameter / 2.0)
    return tuple(out)


def lift_to_rest(action: float, place: float, scale: float, frets: int) -> float:
    """How much higher an open string runs at `place` from the bridge than with the last fret pressed.

    Over the line of the frets an open string stands 2 a (1 - y / S) high, a over fret 12; pressed at y_n = S
    2^(-n/12) it stands 2 a (1 - y / y_n). The nut is taken as level with the frets.
    """
    pressed = scale * math.exp2(-frets / 12.0)
    return 2.0 * action * place * (1.0 / pressed - 1.0 / scale)


def sag(half_span: float, radius: float) -> float:
    """How far the outer strings lie under the middle of the radius: half-span^2 / (2 R)."""
    return half_span**2 / (2.0 * radius)
