"""How many turns are on a coil whose count was lost, from its size and from the wire the spool has given off.

Every number of turns is weighed by how well it explains what was measured, all of it together: length over ends, width
at mid-side, mass of the spool, now and at earlier pauses of the same coil where the count was sure. What is uncertain
(packing, belly, wire, core ...) is uncertain by the one table of spreads, and is the same for all measurements of one
coil: that is why an earlier pause helps so much. Likelihoods are normal, linear in each input; sizes by the logarithm
of how far the coil has grown, since packing and wire act as factors on it. Beforehand all counts are equally likely.

Resistance says nothing here: until the wire is cut the coil's outer end is the spool, under enamel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.making.winding_ladder import Floats, Ladder

Z90 = 1.6448536269514722
"""Half-width of a normal 90 % interval in standard deviations."""
SIZE_READ = 0.15e-3
"""m, 90 %: calipers over soft turns (common practice, no source)."""
MASS_READ = 0.1e-3
"""kg, 90 %: a kitchen scale that shows tenths of a gram (common practice, no source)."""
DRIFT = 0.03
"""Share of the growth, 90 %: a hand packs one evening's turns a little closer than another's. Assumed; it lets size
alone tell a count of 5,000 to 8,000 to 300 to 500 turns once an earlier pause has shown the hand, as the bench has it
(common practice, no source)."""
LEAST_GROWN = 0.6e-3
"""m: a coil that has grown less than four readings' spread tells no count by its size."""
MOST_PAUSES = 4
"""Earlier pauses that are used, the last ones: more add nothing but work."""
STEPS = 1600


@dataclass(frozen=True, slots=True)
class Look:
    """What was measured at one moment. turns: None where the count is not known, that is: now.

    end, side: length over ends and width at mid-side [m], mass: of the spool on the scale [kg]; each with the
    half-width of its 90 % interval where one was given.
    """

    turns: float | None
    end: float | None = None
    side: float | None = None
    mass: float | None = None
    end_half: float = SIZE_READ
    side_half: float = SIZE_READ
    mass_half: float = MASS_READ


@dataclass(frozen=True, slots=True)
class Count:
    """Turns with the 90 % interval; `used`: what told them."""

    turns: float
    low: float
    high: float
    used: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """One observation: its value, which kind of thing, at how many turns (None: now), its own half-width; for a mass
    the turns at the weighing it is counted from."""

    kind: str
    value: float
    turns: float | None
    half: float
    since: float = 0.0
    since_half: float = 0.0


def lost_count(ladder: Ladder, now: Look, before: Sequence[Look] = (), at_least: float = 0.0) -> Count:
    """The count now. `before`: looks at known turns, in order; the first one with a mass (at 0 turns, say) is what the
    spool's loss is counted from.

    Raises DomainError where nothing was measured that tells a count.
    """
    rows = list(_rows(ladder, now, before))
    if not any(r.turns is None for r in rows):
        raise DomainError(
            "a lost count needs the coil's size, or the mass of a spool that was weighed before",
            "neither" if now.end is None and now.side is None else "a coil that has hardly grown",
            "length over ends, width at mid-side, and the spool on a scale",
        )
    counts = np.linspace(max(at_least, 1.0), ladder.most, STEPS)
    weight = _log_likelihood(ladder, rows, counts)
    weight = np.exp(weight - weight.max())
    share = np.cumsum((weight[1:] + weight[:-1]) / 2.0)
    share = np.concatenate([[0.0], share / share[-1]])
    low, middle, high = (float(np.interp(p, share, counts)) for p in (0.05, 0.5, 0.95))
    return Count(middle, low, high, tuple(dict.fromkeys(r.kind for r in rows if r.turns is None)))


def _rows(ladder: Ladder, now: Look, before: Sequence[Look]) -> Iterator[_Row]:
    looks = [look for look in before if look.turns is not None]
    first = next((look for look in looks if look.mass is not None), None)
    recent = looks[-MOST_PAUSES:]
    for look in [*recent, now]:
        for kind, bare in zip(("end", "side"), ladder.bare, strict=True):
            value = look.end if kind == "end" else look.side
            if value is not None and value - bare >= LEAST_GROWN:
                yield _Row(kind, value, look.turns, look.end_half if kind == "end" else look.side_half)
        if look.mass is not None and first is not None and first.mass is not None and look is not first:
            since = first.turns or 0.0
            yield _Row("wire", first.mass - look.mass, look.turns, look.mass_half, since, first.mass_half)


def _log_likelihood(ladder: Ladder, rows: list[_Row], counts: Floats) -> Floats:
    """ln of how well each count explains all rows together, up to a constant; shape of `counts`."""
    moves, gaps, own = [], [], []
    for row in rows:
        at = counts if row.turns is None else np.full_like(counts, row.turns)
        move, gap, half = _wire(ladder, row, at) if row.kind == "wire" else _size(ladder, row, at)
        moves.append(move)
        gaps.append(gap)
        own.append(half)
    spread = np.stack(moves, axis=1) / Z90  # (counts, rows, inputs)
    gap = np.stack(gaps, axis=1)
    shared = spread @ spread.transpose(0, 2, 1)
    noise = (np.stack(own, axis=1) / Z90) ** 2
    shared[:, range(len(rows)), range(len(rows))] += noise
    shared += _common_weighing(rows)
    _, log_size = np.linalg.slogdet(shared)
    solved = np.linalg.solve(shared, gap[..., None])[..., 0]
    found: Floats = -0.5 * (np.sum(gap * solved, axis=1) + log_size)
    return found


def _size(ladder: Ladder, row: _Row, at: Floats) -> tuple[Floats, Floats, Floats]:
    """Moves, gap and own spread of a size, all as ln of the coil's growth."""
    bare = ladder.bare[0 if row.kind == "end" else 1]
    grown = np.maximum(ladder.value(row.kind, at) - bare, 1e-7)
    seen = row.value - bare
    own = math.hypot(math.hypot(row.half, ladder.own[row.kind]) / seen, DRIFT)
    move = ladder.move(row.kind, at) / grown[:, None]
    return np.pad(move, ((0, 0), (0, 1))), math.log(seen) - np.log(grown), np.full_like(at, own)


def _wire(ladder: Ladder, row: _Row, at: Floats) -> tuple[Floats, Floats, Floats]:
    """Moves, gap and own spread of a spool's loss, kg; the method's own spread is one more thing all masses share."""
    since = np.full_like(at, row.since)
    gone = ladder.value("wire", at) - _none_at_zero(ladder.value("wire", since), row.since)
    move = ladder.move("wire", at) - _none_at_zero(ladder.move("wire", since), row.since)
    method = (ladder.own["wire"] * gone)[:, None]
    return np.concatenate([move, method], axis=1), row.value - gone, np.full_like(at, row.half)


def _none_at_zero(found: Floats, turns: float) -> Floats:
    return np.zeros_like(found) if turns == 0.0 else found


def _common_weighing(rows: list[_Row]) -> Floats:
    """Masses counted from one weighing share what that weighing was off."""
    first = np.array([r.since_half / Z90 if r.kind == "wire" else 0.0 for r in rows])
    found: Floats = np.outer(first, first)
    return found
