"""The faults a coil can have, each as another hypothesis about it: what it changes in the forward model, what it makes
of answers in words, how probable it was before, and what to do now.

The table is faults.toml; this turns each of its rows into hypotheses for one coil. One fault at a time is assumed.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from lodestring.assess import blocks, magnet_blocks
from lodestring.assess.model import Model
from lodestring.design.coil import Coil
from lodestring.design.vocabulary import STAGES, Stage
from lodestring.physics.magnet_state import MagnetCurve
from lodestring.proving.forward import CoilForward, Material
from lodestring.proving.measurement import NINETY, OPEN, Measurement
from lodestring.proving.spreads import Spread, Spreads, changed, of
from lodestring.quantity import WireSize
from lodestring.reference import band, gauge_number, magnet, metal
from lodestring.reference import wire as catalogue_wire

Chances = Mapping[str, float]
AS_DRAWN = "as-drawn"
WITHIN = 3.0
"""As drawn, wire is stretched by its tension within this factor (90 %). Assumed."""
UNSAID = 0.005
"""Chance of an answer that a row of the table does not name."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A row of the table. `cures` by stage; `until`: the last stage at which it can be mended; `plays`: the coil can be
    kept as it is."""

    id: str
    title: str
    family: str
    odds: float
    plays: bool
    until: Stage
    needs: str
    one_pole: bool
    breaks: bool
    says: Mapping[str, Chances]
    cures: Mapping[str, str]
    row: Mapping[str, Any]

    def cure(self, stage: Stage) -> str:
        """What to do now: that of this stage, else of the last one before it that says something."""
        reached = STAGES.index(stage)
        found = [self.cures[s] for s in STAGES if s in self.cures and STAGES.index(s) <= reached]
        return found[-1] if found else next(iter(self.cures.values()), "")


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files("lodestring.proving").joinpath("faults.toml").read_text(encoding="utf-8"))


@cache
def faults() -> Mapping[str, Fault]:
    """Every fault by id."""
    return MappingProxyType({row["id"]: _fault(row) for row in _table()["fault"]})


def _fault(row: Mapping[str, Any]) -> Fault:
    return Fault(
        row["id"],
        row["title"],
        row.get("family", row["id"]),
        row["odds"],
        row.get("plays", False),
        row["until"],
        row.get("needs", ""),
        row.get("one_pole", False),
        row.get("open", False),
        row.get("says", {}),
        row.get("cure", {}),
        row,
    )


def as_drawn_says() -> Mapping[str, Chances]:
    """Chances of answers in words for a coil as drawn."""
    found: Mapping[str, Chances] = _table()["as_drawn"]["says"]
    return found


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """One way a coil may be: as drawn (`fault` None), or with a fault, and what is believed of it then."""

    id: str
    title: str
    fault: Fault | None
    odds: float
    spreads: Spreads
    says: Mapping[str, Chances]
    material: Material | None = None
    starts: tuple[tuple[str, float], ...] = ()
    shows: tuple[str, ...] = ()
    """Names of the things the fault itself sets."""

    @property
    def family(self) -> str:
        return AS_DRAWN if self.fault is None else self.fault.family

    @property
    def breaks(self) -> bool:
        """Nothing passes through the coil."""
        return self.fault is not None and self.fault.breaks

    def chance(self, of_coil: CoilForward, taken: Sequence[Measurement]) -> float:
        """ln of the chance of all answers in words."""
        words = [m for m in taken if isinstance(m.value, str) and m.quantity != "shape"]
        numbers = [m for m in taken if not isinstance(m.value, str)]
        total = 0.0
        for m in numbers:  # a number where the meter might have shown none
            total += math.log(max(1.0 - self.says.get(m.quantity, {}).get(OPEN, 0.0), 1e-6))
        if self.fault is None or not self.fault.one_pole:
            return total + sum(math.log(self._of(of_coil, m, self.says)) for m in words)
        return total + self._one_of(of_coil, words)

    def _one_of(self, of_coil: CoilForward, words: Sequence[Measurement]) -> float:
        """The same where one pole piece of all, any of them, differs."""
        count = max(len(of_coil.tables.fields), 1)
        usual = as_drawn_says()
        each = []
        for wrong in range(1, count + 1):
            sum_here = 0.0
            for m in words:
                if m.quantity in ("kick", "compass") and m.at.pole is None:
                    here = self._of(of_coil, m, self.says) / count
                    sum_here += math.log(here + self._of(of_coil, m, usual) * (1.0 - 1.0 / count))
                else:
                    says = self.says if m.at.pole == wrong and m.quantity in ("kick", "compass") else usual
                    sum_here += math.log(self._of(of_coil, m, says))
            each.append(sum_here)
        most = max(each)
        return most + math.log(sum(math.exp(x - most) for x in each) / count)

    def _of(self, of_coil: CoilForward, m: Measurement, says: Mapping[str, Chances]) -> float:
        chances = says.get(m.quantity, {})
        return max(chances.get(said(of_coil, m), UNSAID), 1e-6)


def said(of_coil: CoilForward, m: Measurement) -> str:
    """An answer as the table names it: a kick or an end as drawn or the other."""
    if m.quantity not in ("kick", "compass") or m.value == "none":
        return str(m.value)
    t = of_coil.tables
    if m.quantity == "kick":
        drawn = t.kick
    else:
        drawn = t.up[min((m.at.pole or 1), len(t.up)) - 1] if t.up else ""
    return "drawn" if m.value == drawn else "other"


def hypotheses(model: Model, of_coil: CoilForward, stage: Stage = "fitted") -> tuple[Hypothesis, ...]:
    """As drawn, and every fault that this coil can have at a stage."""
    t = of_coil.tables
    record = blocks.coil_of(model, t.pickup, t.coil)
    usual = as_drawn_says()
    of_coil = replace(of_coil, spreads=_as_drawn(of_coil.spreads))
    out = [Hypothesis(AS_DRAWN, "as drawn", None, 1.0, of_coil.spreads, usual)]
    for fault in faults().values():
        if not _can(model, of_coil, fault, record):
            continue
        says = {**usual, **fault.says}
        if fault.breaks:
            says["pole_resistance"] = usual["pole_resistance"]
        for name, title, odds, spreads, material, shows in _variants(model, of_coil, fault, record):
            odds *= fault.row.get("at", {}).get(stage, 1.0)
            starts = tuple((s["name"], float(s["z"])) for s in fault.row.get("starts", ()))
            out.append(Hypothesis(name, title, fault, odds, spreads, says, material, starts, shows))
    return tuple(out)


def _as_drawn(spreads: Spreads) -> Spreads:
    """The same with a stretch no farther from the tension's than `WITHIN`: more is the fault "stretched"."""
    stretch = of(spreads, "stretch")
    return changed(spreads, replace(stretch, sigma=min(stretch.sigma, math.log(WITHIN) / NINETY)))


def _can(model: Model, of_coil: CoilForward, fault: Fault, record: Coil) -> bool:
    body = record.poles.body
    magnets = body is not None and body.kind == "magnet"
    need = {
        "": True,
        "magnets": magnets,
        "pair": of_coil.other is not None,
        "cover": model.inputs.design.pickup[of_coil.tables.pickup].cover is not None,
    }[fault.needs]
    if "magnets" in fault.row:
        need = magnets and body is not None and body.grade != fault.row["magnets"]
    return need


Variant = tuple[str, str, float, Spreads, Material | None, tuple[str, ...]]


def _variants(model: Model, of_coil: CoilForward, fault: Fault, record: Coil) -> Iterator[Variant]:
    base, row = of_coil.spreads, fault.row
    if "wires" in row:
        own = record.wire.size.number
        number = round(gauge_number(of(base, "bare").centre)) if own is None else own
        near = [(number + step, math.exp(-0.4 * (abs(step) - 1))) for step in row["wires"]]
        for other, odds in near:
            found = wire_spreads(WireSize("AWG", other, None, f"{other} AWG"), record.wire.film)
            title = f"{other} AWG in place of {record.wire.size.label}"
            yield f"{fault.id}-{other}", title, fault.odds * odds / 2.0, changed(base, *found), None, ("bare",)
        return
    if "film" in row:
        other = {"single": "heavy", "heavy": "single", "grade 1": "grade 2", "grade 2": "grade 1"}[record.wire.film]
        found = wire_spreads(record.wire.size, other)
        title = f"{other} enamel in place of {record.wire.film}"
        yield fault.id, title, fault.odds, changed(base, *found), None, ("film",)
        return
    if "magnets" in row or "steel" in row:
        material, mu = _material(model, of_coil, row, record)
        yield fault.id, fault.title, fault.odds, changed(base, mu), material, ()
        return
    new = tuple(_change(of_coil, c) for c in row.get("change", ()))
    yield fault.id, fault.title, fault.odds, changed(base, *new), None, tuple(s.name for s in new)


def _change(of_coil: CoilForward, row: Mapping[str, Any]) -> Spread:
    if "geometry" in row:
        return Spread(row["name"], row["geometry"] * ring_coupling(of_coil), row["sigma"])
    if "factor" in row:
        base = of(of_coil.spreads, row["name"]) if row["name"] != "strength" else Spread("strength", 1.0, 0.1)
        return replace(base, centre=base.centre * row["factor"], sigma=row["sigma"])
    return Spread(row["name"], row["centre"], row["sigma"], row.get("log", True))


def ring_coupling(of_coil: CoilForward) -> float:
    """k^2 of the coil with a closed sheet round it, as high as the window and 0.5 mm outside the last turn."""
    import numpy as np

    t = of_coil.tables
    air = float(np.exp(np.polyval(t.air, (t.copper.inner + t.depth) / t.depth)))
    poles = float(np.exp(np.polyval(t.poles, (t.copper.inner + t.depth) / t.depth))) if t.answer is not None else 0.0
    mutual, own = t.ring
    mutual += poles * float(t.sections.whole_poles[-1])
    return mutual**2 / ((air + poles) * (own + poles * float(t.sections.own_poles[-1])))


def wire_spreads(size: WireSize, film: str) -> tuple[Spread, Spread]:
    """Bare diameter and enamel of a wire by the standard's limits."""
    found = catalogue_wire(size, film)
    bare, over = found.bare, found.overall
    nominal = over.nominal - bare.nominal
    ends = sorted((over.low - bare.low, over.high - bare.high))
    low, high = max(min(ends[0], nominal * 0.95), 1e-7), max(ends[1], nominal * 1.05)
    return (
        Spread("bare", bare.nominal, max(math.log(bare.high / bare.low) / (2.0 * NINETY), 0.005)),
        Spread("film", nominal, math.log(high / low) / (2.0 * NINETY)),
    )


def _material(model: Model, of_coil: CoilForward, row: Mapping[str, Any], record: Coil) -> tuple[Material, Spread]:
    """Another material of the pole pieces: what it is, and its permeability."""
    if "steel" in row:
        steel = metal(row["steel"])
        mu = steel.relative_permeability
        return Material(1.0 / steel.resistivity.nominal, 0.0), _mu(mu.nominal, mu.low, mu.high)
    grade = magnet(row["magnets"])
    mu = grade.recoil_permeability
    ratio = field_ratio(model, of_coil.tables.pickup, of_coil.tables.coil, row["magnets"])
    return Material(1.0 / grade.resistivity.nominal, ratio), _mu(max(mu.nominal, 1.001), mu.low, mu.high)


def _mu(nominal: float, low: float, high: float) -> Spread:
    return Spread("permeability", nominal, max(math.log(max(high, low) / max(low, 1.0)) / (2.0 * NINETY), 0.02))


def field_ratio(model: Model, pickup: str, coil: str, grade: str) -> float:
    """Field at the face of a coil's magnets were they of another grade, against that of their own grade."""
    base = model.nominal()
    drawn = blocks.coil_of(base, pickup, coil).poles.body
    known = [_BENCH.get(g) for g in (grade, "" if drawn is None else drawn.grade)]
    if known[0] and known[1]:  # what probes show on the bench, where it is known of both
        one, other = (band(f"field.{row}.face").spread().nominal for row in known)
        return one / other
    before = base.block(("proving natural", pickup, coil), lambda: _natural(base, pickup, coil, ""))
    after = base.block(("proving natural", pickup, coil, grade), lambda: _natural(base, pickup, coil, grade))
    return after / before if before else 1.0


_BENCH = {"alnico 2": "alnico-2-3-rod", "alnico 3": "alnico-2-3-rod", "alnico 5": "alnico-5-rod"}


def _natural(model: Model, pickup: str, coil: str, grade: str) -> float:
    """Mean effective remanence [T] of a coil's magnets among each other, of their own grade or another."""
    magnets = magnet_blocks.upright_magnets(model, pickup, coil)
    if grade:
        row = magnet(grade)
        energy = row.energy_product or row.remanence
        curve = MagnetCurve(
            row.remanence.nominal, row.coercivity_b.nominal, energy.nominal, max(row.recoil_permeability.nominal, 1.0)
        )
        magnets = [replace(m, curve=curve) for m in magnets]
    found = model.store.kept(magnet_blocks.magnets_step, magnet_blocks.MagnetsIn(tuple(magnets)))
    return sum(abs(x) for x in found) / len(found)
