"""Where an axis is marked: steps of 1, 2 or 5, or the figures of a decade on a logarithmic axis."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.drawing.figures import NBSP, plain, prefix_for, unit_sign
from lodestring.quantity import Units
from lodestring.quantity.chosen import FINEST, nearest
from lodestring.quantity.unit_tables import INCH as EXACT_INCH

_DECADES: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...] = (
    ((1.0,), (2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)),
    ((1.0, 3.0), (2.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)),
    ((1.0, 2.0, 5.0), (3.0, 4.0, 6.0, 7.0, 8.0, 9.0)),
)

INCH = float(EXACT_INCH)


@dataclass(frozen=True, slots=True)
class Ticks:
    """Marked values with their words, and finer values with lines only. `power`: the prefix the words leave out."""

    at: tuple[float, ...]
    words: tuple[str, ...]
    fine: tuple[float, ...]
    power: int = 0


def step_for(span: float, most: int) -> float:
    """The smallest of 1, 2, 5 times a power of ten that cuts `span` into at most `most` steps."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= raw * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def multiples(low: float, high: float, step: float) -> tuple[float, ...]:
    """All whole multiples of `step` in [low, high], by counting, so that no rounding piles up."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(k * step for k in range(first, last + 1))


def linear(low: float, high: float, unit: str, most: int) -> Ticks:
    """At most about `most` marked steps between low and high; one SI prefix for the whole axis."""
    step = step_for(high - low, most)
    power = prefix_for(max(abs(low), abs(high)), unit)
    at = multiples(low, high, step)
    decimals = max(0, -math.floor(math.log10(step / 10.0**power) + 1e-9))
    words = tuple(plain(v / 10.0**power, decimals) for v in at)
    lead = round(step / 10.0 ** math.floor(math.log10(step) + 1e-9))
    fine = multiples(low, high, step / (4 if lead == 2 else 5))
    return Ticks(at, words, fine, power)


def inches(low: float, high: float, units: Units, most: int) -> Ticks:
    """As `linear`, of metres in inches: steps of 1, 2 or 5, or where fractions are chosen of 1/64, 1/32 ... 1/2, 1, 2.

    Steps finer than 1/64 are decimals in any case.
    """
    step = step_for((high - low) / INCH, most)
    halves = units.length == "inch fractions" and (high - low) / INCH / max(most, 1) > 1 / FINEST / 2
    if halves:
        step = max(2.0 ** math.ceil(math.log2((high - low) / INCH / max(most, 1)) - 1e-9), 1 / FINEST)
    at = multiples(low, high, step * INCH)
    if halves:
        words = tuple(nearest(v)[0] for v in at)
    else:
        words = tuple(plain(v / INCH, max(0, -math.floor(math.log10(step) + 1e-9))) for v in at)
    lead = round(step / 10.0 ** math.floor(math.log10(step) + 1e-9))
    return Ticks(at, words, multiples(low, high, step * INCH / (4 if halves or lead == 2 else 5)), 0)


def logarithmic(low: float, high: float, unit: str, most: int) -> Ticks:
    """Figures of each decade, as many as there is room for; each word carries its own prefix (`500`, `1 k`)."""
    decades = math.log10(high / low)
    if decades < 0.7:  # hardly a decade: even steps tell more
        return linear(low, high, unit, most)
    chosen = _DECADES[0]
    for choice in _DECADES:
        if len(choice[0]) * decades <= most:
            chosen = choice
    stride = max(1, math.ceil(decades / max(most, 1)))
    first, last = math.floor(math.log10(low) - 1e-9), math.ceil(math.log10(high) + 1e-9)
    at: list[float] = []
    fine: list[float] = []
    for power in range(first, last + 1):
        marked, finer = chosen
        (fine if power % stride else at).extend(v * 10.0**power for v in marked)
        fine.extend(v * 10.0**power for v in finer)
    inside = tuple(v for v in at if low * (1 - 1e-9) <= v <= high * (1 + 1e-9))
    return Ticks(
        inside,
        tuple(_short(v, unit) for v in inside),
        tuple(v for v in fine if low * (1 - 1e-9) <= v <= high * (1 + 1e-9)),
    )


def _short(value: float, unit: str) -> str:
    power = prefix_for(value, unit)
    scaled = value / 10.0**power
    decimals = max(0, -math.floor(math.log10(scaled) + 1e-9))
    # `1 k` is read rightly beside "Hz"; a bare `1 m` is not, so what is small says its whole unit.
    sign = unit_sign(unit, power) if power < 0 else unit_sign("1", power)
    return f"{plain(scaled, decimals)}{NBSP}{sign}".rstrip(NBSP)


def spread(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """Places near the wanted ones, in their order, at least `gap` apart and within [low, high].

    Runs that touch are pooled and centred on their mean, which moves labels as little as can be (least squares). If
    they cannot all fit, they are `gap` apart from `high` downwards.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    if (len(order) - 1) * gap > high - low:
        return _stacked(order, gap, high)
    pools: list[list[float]] = []  # [sum of (wanted - own offset), count, place of first]
    for i in order:
        pools.append([wanted[i], 1, 0.0])
        while True:
            total, count, _ = pools[-1]
            room = high - low - (count - 1) * gap
            pools[-1][2] = min(max(total / count, low), low + room)
            if len(pools) < 2 or pools[-2][2] + pools[-2][1] * gap <= pools[-1][2]:
                break
            total, count, _ = pools.pop()
            before = pools[-1]
            pools[-1] = [before[0] + total - before[1] * gap * count, before[1] + count, 0.0]
    places = [first + k * gap for _, count, first in pools for k in range(int(count))]
    out = [0.0] * len(order)
    for i, place in zip(order, places, strict=True):
        out[i] = place
    return out


def _stacked(order: list[int], gap: float, high: float) -> list[float]:
    out = [0.0] * len(order)
    for k, i in enumerate(reversed(order)):
        out[i] = high - k * gap
    return out
