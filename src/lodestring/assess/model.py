"""The Model: named inputs in, lazy facts with intervals out.

A block is a memoised piece of the assessment that notes which inputs were read for it. A shifted model is the same
model with one input at the end of its interval; it shares inputs and store, so only the steps whose records change run
again. Facts are propagated by re-running at both ends of every input that was read, in quadrature, each half
separately;
positive quantities on a log scale. Correlated facts need no covariance: they are propagated as themselves.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from lodestring.assess.store import Store
from lodestring.assess.uncertainty import Input, given_input, methods
from lodestring.design.learned import Hand, Spools, Stock
from lodestring.design.pickup_set import PickupSet
from lodestring.design.workshop import Workshop
from lodestring.quantity import USUAL, Quantity, Units

if TYPE_CHECKING:
    from lodestring.assess.key import Key

T = TypeVar("T")
Value = float | str
Shift = tuple[str, int]
NARROW = 0.06
"""Inputs known within this share of their value, end to end, are mirrored for smooth and dear figures."""
FACT_SIZE = 8192
"""Bytes a kept fact is reckoned at: its text, a dozen influences, and the print of what it depends on."""


@dataclass(frozen=True)
class Inputs:
    """Everything an assessment is made from, each with its content hash ("sha256:...") or None."""

    design: PickupSet
    workshop: Workshop | None = None
    hand: Hand | None = None
    stock: Stock | None = None
    spools: Spools | None = None
    hashes: dict[str, str | None] = field(default_factory=dict, hash=False, compare=False)

    @property
    def units(self) -> Units:
        """In which units figures are said."""
        chosen = None if self.workshop is None else self.workshop.shown
        return USUAL if chosen is None else chosen.units


@dataclass(frozen=True, slots=True)
class Influence:
    """What one input does to a fact: the fact at the input's lower and upper end."""

    input: Input
    at_low: float
    at_high: float

    def reach(self, value: float, log: bool) -> tuple[float, float]:
        """How far down and up (in ln units if `log`) this input alone moves the fact."""
        if log:
            moves = [math.log(v / value) if v > 0.0 else -math.inf for v in (self.at_low, self.at_high)]
        else:
            moves = [self.at_low - value, self.at_high - value]
        return min(*moves, 0.0), max(*moves, 0.0)


@dataclass(frozen=True, slots=True)
class Fact:
    """A value with its 90 % interval and where it comes from. Text facts have no interval."""

    key: str
    value: float | str
    low: float | None
    high: float | None
    unit: str | None
    basis: str
    method: str
    source: tuple[str, ...] = ()
    at: tuple[tuple[str, float], ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def number(self) -> float:
        """The value of a numeric fact. Raises TypeError for a text fact."""
        if isinstance(self.value, str):
            raise TypeError(f"{self.key} is text")
        return self.value


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its 90 % interval, what moves it (strongest first), and the inputs that matter to it."""

    value: float
    low: float
    high: float
    influences: tuple[Influence, ...]
    inputs: tuple[Input, ...]


class Model:
    """One set with its workshop and what has been learned; see the module's docstring."""

    def __init__(
        self, inputs: Inputs, store: Store | None = None, shift: Shift | None = None, base: Model | None = None
    ):
        self.inputs = inputs
        self.store = store if store is not None else Store()
        self._shift = shift
        self._base = base
        self._inputs: dict[str, Input] = {} if base is None else base._inputs
        self._sides: dict[Shift, Model] = {} if base is None else base._sides
        self._blocks: dict[Hashable, tuple[object, frozenset[str]]] = {}
        self._reading: list[set[str]] = []
        self._facts: dict[str, Fact] = {}
        self._ends: dict[frozenset[str], tuple[list[Input], list[tuple[Input, Model, Model]]]] = {}
        self._prints: dict[tuple[str, ...], str] = {}
        self._specs: dict[str, Key] | None = None
        self._influences: dict[str, tuple[Influence, ...]] = {}

    # ---- reading inputs ----

    def read(self, name: str, make: Callable[[], Input]) -> float:
        """The named input's value in this model; `make` builds the input the first time it is asked for."""
        found = self._inputs.get(name)
        if found is None:
            found = self._inputs[name] = make()
        if self._reading:
            self._reading[-1].add(name)
        if self._shift is not None and self._shift[0] == name:
            return found.at(self._shift[1])
        return found.value

    def given(self, name: str, quantity: Quantity) -> float:
        """A value of the set or workshop file by its key path."""
        return self.read(name, lambda: given_input(name, quantity))

    def input(self, name: str) -> Input:
        """A named input that has been read."""
        return self._inputs[name]

    def block(self, key: Hashable, make: Callable[[], T]) -> T:
        """A memoised piece of the assessment; notes the inputs read for it, those of inner blocks included.

        A shifted model takes a block from its base where the shifted input was not read for it, and notes nothing.
        """
        found = self._blocks.get(key)
        if found is None:
            found = self._blocks[key] = self._shifted_block(key, make) if self._base else self._noted_block(make)
        if self._reading:
            self._reading[-1] |= found[1]
        return found[0]  # type: ignore[return-value]

    def _noted_block(self, make: Callable[[], object]) -> tuple[object, frozenset[str]]:
        self._reading.append(set())
        try:
            result = make()
        finally:
            names = self._reading.pop()
        return result, frozenset(names)

    def _shifted_block(self, key: Hashable, make: Callable[[], object]) -> tuple[object, frozenset[str]]:
        same = None if self._base is None else self._base._blocks.get(key)
        if same is not None and self._shift is not None and self._shift[0] not in same[1]:
            return same
        return make(), frozenset()

    def nominal(self) -> Model:
        """The unshifted model."""
        return self if self._base is None else self._base

    def at_end(self, name: str, side: int) -> Model:
        """This model with one input at the lower (-1) or upper (+1) end of its interval."""
        key = (name, side)
        found = self._sides.get(key)
        if found is None:
            found = self._sides[key] = Model(self.inputs, self.store, key, self._base or self)
        return found

    def _ends_of(self, names: frozenset[str]) -> tuple[list[Input], list[tuple[Input, Model, Model]]]:
        """The inputs of these names in order, and of each uncertain one the models at both its ends."""
        found = self._ends.get(names)
        if found is None:
            inputs = [self._inputs[n] for n in sorted(names)]
            ends = [(i, self.at_end(i.name, -1), self.at_end(i.name, 1)) for i in inputs if not i.certain]
            found = self._ends[names] = (inputs, ends)
        return found

    # ---- facts ----

    def keys(self) -> tuple[str, ...]:
        """Every key this set has, in the order of the set file."""
        return tuple(self.specs())

    def specs(self) -> dict[str, Key]:
        """The row of the key table behind each key of this set."""
        if self._specs is None:
            from lodestring.assess.keys import instances

            self._specs = instances(self)
        return self._specs

    def fact(self, key: str) -> Fact:
        """The fact of `key`, computed once. Raises KeyError where the set has no such fact."""
        found = self._facts.get(key)
        if found is None:
            spec = self.specs()[key]
            found, self._influences[key] = self.store.kept_as(
                (key, self._print_of(() if spec.wide else spec.scope)), "fact", lambda: self._make(key, spec), FACT_SIZE
            )
            self._facts[key] = found
        return found

    def fact_at(self, key: str) -> float:
        """A numeric fact's value in this model: for a shifted model what its base found at that end of the input.

        For facts that are made of other facts. The inputs that move them are noted as read.
        """
        base = self if self._base is None else self._base
        value = base.fact(key).number
        for influence in base.influences(key):
            name = influence.input.name
            base._inputs.setdefault(name, influence.input)
            if self._reading:
                self._reading[-1].add(name)
            if self._shift is not None and self._shift[0] == name:
                return influence.at_high if self._shift[1] > 0 else influence.at_low
        return value

    def _print_of(self, scope: tuple[str, ...]) -> str:
        """What a fact of this scope can depend on, as text: instrument, its pickup (or all), workshop, records."""
        found = self._prints.get(scope[:1])
        if found is None:
            inputs, design = self.inputs, self.inputs.design
            pickups = design.pickup.values() if not scope else [design.pickup[scope[0]]]
            records = [design.instrument, *pickups]
            if not scope:
                records += [design.intent, *([design.harness] if design.harness else [])]
            lines = [record.model_dump_json() for record in records]
            if inputs.workshop is not None:  # units change what is said, not what is so
                lines.append(inputs.workshop.model_dump_json(exclude={"shown"}))
            text = "\n".join(lines)
            found = self._prints[scope[:1]] = f"{text}\n{inputs.hand}\n{inputs.spools}"
        return found

    def inputs_of(self, key: str) -> tuple[Input, ...]:
        """The inputs that are read for a key, without working out what each does to it."""
        spec = self.specs()[key]
        self.block(("inputs", key), lambda: spec.compute(self, spec.scope))
        return tuple(self._inputs[n] for n in sorted(self._blocks["inputs", key][1]))

    def influences(self, key: str) -> tuple[Influence, ...]:
        """What each input does to a numeric fact, the strongest first."""
        self.fact(key)
        return self._influences.get(key, ())

    def _make(self, key: str, spec: Key) -> tuple[Fact, tuple[Influence, ...]]:
        if spec.unit is None:
            value = self.block(key, lambda: spec.compute(self, spec.scope))
            names = self._blocks[key][1]
            return self._fact(key, spec, value, None, None, [self._inputs[n] for n in sorted(names)]), ()
        found = self.estimate(
            key, lambda m: float(spec.compute(m, spec.scope)), spec.method, spec.positive, spec.smooth, spec.remnant
        )
        low = max(found.low, spec.least)
        return self._fact(key, spec, found.value, low, found.high, list(found.inputs)), found.influences

    def _fact(
        self, key: str, spec: Key, value: Value, low: float | None, high: float | None, inputs: list[Input]
    ) -> Fact:
        return Fact(
            key,
            value,
            low,
            high,
            spec.unit,
            spec.basis,
            spec.method,
            source=tuple(dict.fromkeys(r for i in inputs for r in i.rows)),
            at=spec.at(self),
            warnings=tuple(i.warning for i in inputs if i.basis == "assumed"),
        )

    def estimate(
        self,
        key: Hashable,
        compute: Callable[[Model], float],
        method: str,
        positive: bool = True,
        smooth: bool = False,
        remnant: bool = False,
    ) -> Estimate:
        """Any number of this model with its 90 % interval: `compute` is run at both ends of every input it reads.

        `key` names the number among this model's blocks; `method` adds its own spread (see `methods`). Where the number
        is dear and goes smoothly (`smooth`), it is run at the upper end alone of inputs known within a few per cent;
        the lower end is its mirror image, exact for any power of the input (for decibels, of what they are of). A
        `remnant` is decibels of what two nearly equal shares leave of each other: amplitudes add up there, not
        decibels. What is 0 whatever the inputs, as a level against itself, is known exactly.
        """
        value = self.block(key, lambda: compute(self))
        inputs, ends = self._ends_of(self._blocks[key][1])
        log = positive and value > 0.0
        found = []
        for named, low, high in ends:
            above = compute(high)
            mirrored = smooth and named.high - named.low <= NARROW * abs(named.value)
            image = value * value / above if log else 2.0 * value - above
            found.append(Influence(named, image if mirrored else compute(low), above))
        own = methods()[method]
        down = up = _square(own.relative if log else own.relative * value) + _square(
            own.absolute / value if log else own.absolute
        )
        strength = {}
        for influence in found:
            below, above = influence.reach(value, log)
            down, up = down + below * below, up + above * above
            strength[influence.input.name] = above - below
        down, up = math.sqrt(down), math.sqrt(up)
        if remnant:
            down, up = _remnant(value, [i for f in found for i in (f.at_low, f.at_high)], down, up)
        moved = [i for i in found if strength[i.input.name] > 0.0]
        moved.sort(key=lambda i: -strength[i.input.name])
        if value == 0.0 and not moved:
            down = up = 0.0
        idle = {i.input.name for i in found} - {i.input.name for i in moved}
        return Estimate(
            value,
            value * math.exp(-down) if log else value - down,
            value * math.exp(up) if log else value + up,
            tuple(moved),
            tuple(i for i in inputs if i.name not in idle),
        )


def _remnant(value: float, ends: list[float], down: float, up: float) -> tuple[float, float]:
    """How far down and up [dB] a remnant may lie: each input moves its amplitude, the method its decibels."""
    amplitude = 10.0 ** (value / 20.0)
    moved = [10.0 ** (end / 20.0) - amplitude for end in ends]
    pairs = list(zip(moved[::2], moved[1::2], strict=True))
    higher = math.sqrt(math.fsum(max(a, b, 0.0) ** 2 for a, b in pairs))
    lower = math.sqrt(math.fsum(min(a, b, 0.0) ** 2 for a, b in pairs))
    least = max(amplitude - lower, 0.1 * amplitude)  # a null is never seen deeper than this below the figure
    return min(down, value - 20.0 * math.log10(least)), min(
        up, 20.0 * math.log10((amplitude + higher) / amplitude) + 0.3
    )


def _square(value: float) -> float:
    return value * value
