"""Size and wire of a coil while it grows, on rungs of so many turns: asked at every press, worked out once.

Each rung holds what the model expects there with its 90 % interval, and what each uncertain input does to it: the same
table of spreads that `--why` shows. Between rungs lies a parabola (depth grows with the turns, wire with their square),
so what is read between them is as good as what is worked out there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.assess import blocks
from lodestring.assess.model import Estimate, Model

Floats = NDArray[np.float64]
KINDS = ("end", "side", "wire")
"""Length over ends [m], width at mid-side [m], and mass of the wire on the coil [kg], enamel counted."""
RUNGS = 17
PAST = 1.3
"""The ladder goes on past the target, for an overrun and for a count that was lost."""
_METHODS = {"end": "coil.outline", "side": "coil.outline", "wire": "coil.mass"}


@dataclass(frozen=True, slots=True)
class Sight:
    """A size or mass to expect: value, 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class Ladder:
    """One coil while it grows.

    turns: rungs, shape (n,), from 0. values, low, high: by kind, shape (n,). moves: by kind, shape (n, inputs): how far
    each uncertain input moves the value from the middle to the end of its interval, mean of both ways. bare: size of
    the core (length, width), the coil at no turns. own: half-width (90 %) of the method itself: for sizes in metres,
    for wire as a share.
    """

    turns: Floats
    values: dict[str, Floats]
    low: dict[str, Floats]
    high: dict[str, Floats]
    moves: dict[str, Floats]
    names: tuple[str, ...]
    bare: tuple[float, float]
    own: dict[str, float]

    @property
    def most(self) -> float:
        """Turns of the last rung."""
        return float(self.turns[-1])

    def at(self, kind: str, turns: float) -> Sight:
        """What to expect at so many turns; beyond the last rung the last parabola goes on."""
        n = max(0.0, turns)
        if n == 0.0 and kind == "wire":
            return Sight(0.0, 0.0, 0.0)
        return Sight(*(float(_between(self.turns, row[kind], n)) for row in (self.values, self.low, self.high)))

    def value(self, kind: str, turns: Floats) -> Floats:
        """Expected values, shape of `turns`."""
        return _between(self.turns, self.values[kind], turns)

    def move(self, kind: str, turns: Floats) -> Floats:
        """What each input does to them, shape (turns, inputs)."""
        columns = [_between(self.turns, column, turns) for column in self.moves[kind].T]
        return np.stack(columns, axis=-1) if columns else np.zeros((*np.shape(turns), 0))


def ladder(model: Model, pickup: str, coil: str, target: int) -> Ladder:
    """The ladder of a coil up to `PAST` times its target or its own number of turns, whichever is more."""
    most = PAST * max(target, blocks.coil_of(model, pickup, coil).turns, 100)
    rungs = np.unique(np.round(np.linspace(0.0, most, RUNGS)))
    rungs[0] = 1.0  # the model has no coil of no turns
    inner = blocks.row(model, pickup, coil).inner
    found = {kind: [_estimate(model, pickup, coil, kind, int(n)) for n in rungs] for kind in KINDS}
    names = tuple(sorted({i.input.name for row in found.values() for e in row for i in e.influences}))
    return Ladder(
        rungs,
        {kind: np.array([e.value for e in row]) for kind, row in found.items()},
        {kind: np.array([e.low for e in row]) for kind, row in found.items()},
        {kind: np.array([e.high for e in row]) for kind, row in found.items()},
        {kind: np.array([_moves(e, names) for e in row]) for kind, row in found.items()},
        names,
        (inner.s + 2.0 * inner.r, 2.0 * inner.r),
        {kind: _own(_METHODS[kind]) for kind in KINDS},
    )


def _own(method: str) -> float:
    from lodestring.assess.uncertainty import methods

    found = methods()[method]
    return found.absolute or found.relative


def _estimate(model: Model, pickup: str, coil: str, kind: str, turns: int) -> Estimate:
    def compute(m: Model) -> float:
        wound = blocks.copper(m, pickup, coil, turns)
        if kind == "wire":
            return wound.copper_mass + wound.enamel_mass
        return wound.outer_length if kind == "end" else wound.outer_width

    return model.estimate(("rung", pickup, coil, turns, kind), compute, _METHODS[kind])


def _moves(estimate: Estimate, names: tuple[str, ...]) -> list[float]:
    by_name = {i.input.name: (i.at_high - i.at_low) / 2.0 for i in estimate.influences}
    return [by_name.get(name, 0.0) for name in names]


def _between(rungs: Floats, row: Floats, turns: float | Floats) -> Floats:
    """The parabola through the three rungs round each place."""
    n = np.asarray(turns, dtype=float)
    middle = np.clip(np.searchsorted(rungs, n), 1, len(rungs) - 2)
    a, b, c = (rungs[middle + k] for k in (-1, 0, 1))
    fa, fb, fc = (row[middle + k] for k in (-1, 0, 1))
    one, two = (fb - fa) / (b - a), (fc - fb) / (c - b)
    found: Floats = fa + (n - a) * (one + (n - b) * (two - one) / (c - a))
    return found
