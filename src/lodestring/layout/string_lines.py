"""Where each string runs between nut and bridge, and where it crosses a pickup's long axis.

Frame of the instrument: x to the right seen from above with the nut up, y from the bridge line to the nut, metres.
Positions are listed from string 1 on; string 1 lies at +x on a right-handed instrument, at -x on a left-handed one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.errors import DomainError


@dataclass(frozen=True, slots=True)
class Spread:
    """How strings are spread at one end: `way` names which one measure is given (metres).

    way: "span" | "pitch" | "outside" | "equal gaps" | "centres"; `measure` for the first four, `centres` for the last.
    """

    way: str
    measure: float = 0.0
    centres: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class StringsIn:
    """Everything the string lines need, in metres."""

    scale: float
    nut: Spread
    bridge: Spread
    diameters: tuple[float, ...]
    left_handed: bool = False


@dataclass(frozen=True, slots=True)
class StringLines:
    """x of each string's centre at the nut and at the bridge line, string 1 first."""

    scale: float
    nut: tuple[float, ...]
    bridge: tuple[float, ...]

    def x(self, index: int, y: float) -> float:
        """x of string `index` (from 0) at height y above the bridge line."""
        return self.bridge[index] + (self.nut[index] - self.bridge[index]) * y / self.scale


@dataclass(frozen=True, slots=True)
class Axis:
    """A pickup's long axis: it crosses the centre line (x = 0) at `y`, turned by `angle` from x (anticlockwise)."""

    y: float
    angle: float = 0.0


def spread_positions(spread: Spread, diameters: tuple[float, ...]) -> tuple[float, ...]:
    """Positions from string 1 (positive) to the last (negative), the outer two centred on zero. Raises DomainError.

    "outside" puts centres at equal steps inside the outer edges; "equal gaps" puts equal air between neighbours.
    """
    n = len(diameters)
    if spread.way == "centres":
        distances = [abs(c - spread.centres[0]) for c in spread.centres]
        return tuple(distances[-1] / 2 - d for d in distances)
    if n == 1:
        return (0.0,)
    if spread.way == "equal gaps":
        gap = (spread.measure - math.fsum(diameters)) / (n - 1)
        if gap <= 0:
            raise DomainError(
                "the strings must fit beside each other within the outer edges",
                f"{math.fsum(diameters) * 1e3:.2f} mm of strings in {spread.measure * 1e3:.2f} mm",
            )
        at = 0.0
        positions: list[float] = []
        for before, this in zip((0.0, *diameters), diameters, strict=False):
            at += (before / 2 + gap + this / 2) if positions else 0.0
            positions.append(at)
        return tuple(positions[-1] / 2 - p for p in positions)
    span = {
        "span": spread.measure,
        "pitch": spread.measure * (n - 1),
        "outside": spread.measure - (diameters[0] + diameters[-1]) / 2,
    }[spread.way]
    if span <= 0:
        raise DomainError("the outer strings must be apart", f"a span of {span * 1e3:.2f} mm")
    return tuple(span / 2 - span * i / (n - 1) for i in range(n))


def string_lines(given: StringsIn) -> StringLines:
    """The string lines of an instrument."""
    sign = -1.0 if given.left_handed else 1.0
    nut, bridge = (tuple(sign * p for p in spread_positions(s, given.diameters)) for s in (given.nut, given.bridge))
    return StringLines(given.scale, nut, bridge)


def axis_through(lines: StringLines, first: float, last: float) -> Axis:
    """The axis that lies `first` from the bridge line under string 1 and `last` under the last string."""
    if first == last or len(lines.nut) == 1:
        return Axis((first + last) / 2)
    x1, xn = lines.x(0, first), lines.x(len(lines.nut) - 1, last)
    slope = (last - first) / (xn - x1)
    return Axis(first - slope * x1, math.atan(slope))


def crossings(lines: StringLines, axis: Axis, offset: float = 0.0) -> tuple[float, ...]:
    """Coordinate along the axis at which each string crosses it, or crosses its parallel `offset` toward the nut.

    The string x = b + k y meets the point (u cos a - v sin a, y0 + u sin a + v cos a) where
    u = (b + k (y0 + v cos a) + v sin a) / (cos a - k sin a).
    """
    c, s = math.cos(axis.angle), math.sin(axis.angle)
    out = []
    for nut, bridge in zip(lines.nut, lines.bridge, strict=True):
        k = (nut - bridge) / lines.scale
        out.append((bridge + k * (axis.y + offset * c) + offset * s) / (c - k * s))
    return tuple(out)


def corrected(
    interpolated: tuple[float, ...], on_axis: tuple[float, ...], tape: tuple[float, ...]
) -> tuple[float, ...]:
    """Crossings with a paper tape's readings in place of the interpolation.

    `tape` are string centres read at the pickup's own axis (any zero, string 1 first), `on_axis` what interpolation
    gives there, `interpolated` what it gives where the crossings are wanted. The tape moves each string by its own
    difference; the outer two keep the tape's middle on the interpolation's middle.
    """
    measured = spread_positions(Spread("centres", centres=tape), (0.0,) * len(tape))
    middle = (on_axis[0] + on_axis[-1]) / 2
    sign = math.copysign(1.0, on_axis[0] - on_axis[-1])
    return tuple(p + (middle + sign * m - a) for p, m, a in zip(interpolated, measured, on_axis, strict=True))
