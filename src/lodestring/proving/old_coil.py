"""Read an old coil: from its size, pole pieces, resistance, inductance, resonance and field to what it was wound with.

Every gauge, enamel and material of the pole pieces that it may be is fitted to all readings with the number of turns
left free; their probabilities are odds (assumed, old_coil.toml) times the probability of the readings. Old magnets may
have weakened, so their strength is left wide and the permeability speaks for the grade. Validity: rods in a row, one
coil by itself, no cover.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.errors import DomainError
from lodestring.proving.faults import _mu, field_ratio, wire_spreads
from lodestring.proving.forward import CoilForward, Material, forward
from lodestring.proving.measurement import Measurement
from lodestring.proving.posterior import Fit, Known, described, fit, numeric
from lodestring.proving.spreads import FREE, Spread, changed, of, with_turns
from lodestring.quantity import WireSize
from lodestring.reference import magnet, metal

OLD_STRENGTH = 0.25
"""How far an old magnet's field may lie from a new one's, ln units. Assumed."""
CLEAR = 0.9


@dataclass(frozen=True, slots=True)
class OldCoil:
    """What calipers say of an old coil [m]: outer length over the round ends and width at mid-side, window between the
    plates, rods (number, spacing, diameter, length, how far their tops stand over the top plate), plates (length,
    width, thickness) and what lies between rods and first turn. `up` and `kick` as measured, "" where not."""

    outer_length: float
    outer_width: float
    window: float
    rods: int
    spacing: float
    diameter: float
    rod_length: float
    height: float = 0.5e-3
    plate: tuple[float, float, float] = (0.080, 0.016, 2.4e-3)
    wrap: float = 0.1e-3
    wall: float | None = None
    up: str = ""
    kick: str = ""
    potted: bool = True

    def __post_init__(self) -> None:
        sizes = (self.outer_length, self.outer_width, self.window, self.spacing, self.diameter, self.rod_length)
        if not all(math.isfinite(x) and 0.0 < x < 0.5 for x in sizes):
            raise DomainError("the sizes of a coil lie above 0 and below 500 mm", f"{min(sizes):g} m")
        if not 1 <= self.rods <= 16:
            raise DomainError("a row has 1 to 16 rods", f"{self.rods}")
        inner = 0.5 * self.diameter + (self.wrap if self.wall is None else self.wall)
        if self.outer_width <= 2.0 * inner + 1e-4:
            raise DomainError(
                "the coil is wider than what it is wound on",
                f"{1e3 * self.outer_width:.2f} mm round {2e3 * inner:.2f} mm",
                "the width over the turns, at mid-side",
            )

    @property
    def depth(self) -> float:
        """Depth of the winding at the round ends [m], from its length."""
        inner = 0.5 * self.diameter + (self.wrap if self.wall is None else self.wall)
        return max(0.5 * (self.outer_length - (self.rods - 1) * self.spacing) - inner, 1e-4)


@dataclass(frozen=True, slots=True)
class Choice:
    """A gauge, enamel or material with its probability."""

    name: str
    probability: float


@dataclass(frozen=True, eq=False)
class Reading:
    """What an old coil was: choices by falling probability, turns and packing (90 %), what cannot be known and why, and
    the values of a set file to make it again, by key path under the coil, as TOML source text."""

    gauges: tuple[Choice, ...]
    enamels: tuple[Choice, ...]
    poles: tuple[Choice, ...]
    turns: Known
    packing: Known
    unknowable: tuple[str, ...]
    set_values: Mapping[str, str]
    best: Fit


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files("lodestring.proving").joinpath("old_coil.toml").read_text(encoding="utf-8"))


def read_old(old: OldCoil, taken: Iterable[Measurement]) -> Reading:
    """What an old coil was wound with. Needs its resistance; inductance narrows the turns, the field the magnets."""
    readings = tuple(taken)
    names = {m.quantity for m in readings}
    if not any(m.quantity == "resistance" and not isinstance(m.value, str) for m in readings):
        raise DomainError("an old coil is read from its resistance and more", ", ".join(sorted(names)) or "nothing",
                          "its resistance in ohms, with the temperature; then inductance in series mode")  # fmt: skip
    model, of_coil = _model(old, readings)
    rows = [(g, f, p) for g in _table()["gauges"] for f in _table()["films"] for p in _table()["poles"]]
    fits, scores = [], []
    near: Fit | None = None
    best = -math.inf
    for gauge, film, pole in rows:
        spreads, material = _spreads(model, of_coil, int(gauge), film, pole)
        found = fit(of_coil, spreads, numeric(readings), material, near=near, floor=best)
        near, best = (near or found), max(best, found.log_evidence)
        odds = _table()["gauges"][gauge] * _table()["films"][film] * pole["odds"]
        fits.append(found)
        scores.append(found.log_evidence + math.log(odds))
    most = max(scores)
    weights = [math.exp(s - most) for s in scores]
    total = math.fsum(weights)
    p = [w / total for w in weights]
    top = p.index(max(p))
    gauges = _choices([f"{g} AWG" for g, _, _ in rows], p)
    films = _choices([f for _, f, _ in rows], p)
    poles = _choices([x["material"] for _, _, x in rows], p)
    turns, packing = (_mixed(fits, p, n) for n in ("turns", "packing"))
    values = _values(old, fits[top], rows[top])
    return Reading(
        gauges, films, poles, turns, packing, _unknowable(names, gauges, films, poles, old), values, fits[top]
    )


def _choices(names: list[str], p: list[float]) -> tuple[Choice, ...]:
    found: dict[str, float] = {}
    for name, x in zip(names, p, strict=True):
        found[name] = found.get(name, 0.0) + x
    return tuple(sorted((Choice(n, x) for n, x in found.items() if x > 1e-3), key=lambda c: -c.probability))


def _mixed(fits: list[Fit], p: list[float], name: str) -> Known:
    """A value with its 90 % interval over all hypotheses that count: the widest ends of those within 90 per cent."""
    order = sorted(range(len(fits)), key=lambda i: -p[i])
    known = [described(fits[i]).of(name) for i in order]
    reached, low, high = 0.0, known[0].low, known[0].high
    for i, k in zip(order, known, strict=True):
        low, high = min(low, k.low), max(high, k.high)
        reached += p[i]
        if reached > 0.9:
            break
    return Known(name, known[0].value, low, high)


def _spreads(
    model: Model, of_coil: CoilForward, gauge: int, film: str, pole: Mapping[str, Any]
) -> tuple[tuple[Spread, ...], Material]:
    size = WireSize("AWG", gauge, None, f"{gauge} AWG")
    bare, enamel = wire_spreads(size, film)
    base = with_turns(of_coil.spreads, FREE)
    # turns that fill the same size go as one over the wire's area
    drawn = of(base, "bare").centre + of(base, "film").centre
    turns = of(base, "turns").centre * (drawn / (bare.centre + enamel.centre)) ** 2
    new = [bare, enamel, replace(of(base, "turns"), centre=turns)]
    if pole["kind"] == "steel":
        row = metal(pole["material"])
        mu = row.relative_permeability
        return changed(base, *new, _mu(mu.nominal, mu.low, mu.high)), Material(1.0 / row.resistivity.nominal, 0.0)
    grade = magnet(pole["material"])
    mu = grade.recoil_permeability
    ratio = field_ratio(model, "old", "main", pole["material"])
    new += [_mu(max(mu.nominal, 1.001), mu.low, mu.high), Spread("strength", 1.0, OLD_STRENGTH)]
    return changed(base, *new), Material(1.0 / grade.resistivity.nominal, ratio)


def _model(old: OldCoil, readings: tuple[Measurement, ...]) -> tuple[Model, CoilForward]:
    """A drawing of the old coil with the commonest wire and magnets, and as many turns as fill its size."""
    over = sum(s.centre for s in wire_spreads(WireSize("AWG", 42, None, "42 AWG"), "single"))
    turns = max(round(old.depth * 4.0 * 0.65 * old.window / (math.pi * over**2)), 200)
    model = Model(Inputs(read_set(_toml(old, turns).encode(), "old coil").record))
    return model, forward(model, "old", "main")


def _mm(metres: float) -> str:
    return f'"{1e3 * metres:.4f} mm"'


def _toml(old: OldCoil, turns: int) -> str:
    xs = [(i - 0.5 * (old.rods - 1)) * old.spacing for i in range(old.rods)]
    at = ", ".join(f'[{_mm(x)}, "0 mm"]' for x in xs)
    core = f'{{ kind = "on rods", wrap = {_mm(old.wrap)} }}' if old.wall is None else (
        f'{{ kind = "walled", wall = {_mm(old.wall)} }}')  # fmt: skip
    length, width, thick = old.plate
    width = max(width, old.outer_width + 1e-3)
    length = max(length, old.outer_length + 1e-3)
    span = max((old.rods - 1) * old.spacing, 0.01)
    potting = 'potting = { paraffin = 80, beeswax = 20, temperature = "62 C" }' if old.potted else ""
    return f"""
format = 1
title = "old coil"
[instrument]
scale = "640 mm"
frets = 0
handed = "right"
radius = "flat"
nut = {{ span = {_mm(span)} }}
bridge = {{ span = {_mm(span)} }}
strings = [{", ".join('{ note = "E3", diameter = "0.4 mm" }' for _ in range(max(old.rods, 2)))}]
[pickup.old]
place = "50 mm"
{potting}
[pickup.old.coil.main]
turns = {turns}
wound = "clockwise"
hot = "finish"
wire = {{ size = "42 AWG", enamel = "polyurethane", film = "single" }}
[pickup.old.coil.main.bobbin]
window = {_mm(old.window)}
core = {core}
plate = {{ material = "vulcanised fibre", length = {_mm(length)}, width = {_mm(width)}, thickness = {_mm(thick)} }}
[pickup.old.coil.main.poles]
layout = {{ kind = "listed", at = [{at}] }}
body = {{ kind = "magnet", grade = "alnico 5", diameter = {_mm(old.diameter)}, length = {_mm(old.rod_length)} }}
up = "{old.up or "south"}"
height = {_mm(old.height)}
[harness]
circuit = "straight to the jack"
"""


def _values(old: OldCoil, best: Fit, row: tuple[str, str, Mapping[str, Any]]) -> dict[str, str]:
    gauge, film, pole = row
    found = best.values()
    turns = round(found["turns"] / 10.0) * 10
    out = {
        "turns": str(turns),
        "wire.size": f'"{gauge} AWG"',
        "wire.film": f'"{film}"',
        "packing": f"{min(max(found['packing'], 0.41), 0.906):.3f}",
        "bobbin.window": f'"{1e3 * old.window:.2f} mm"',
        "poles.body.kind": f'"{pole["kind"]}"',
        "poles.body.grade": f'"{pole["material"]}"',
        "poles.body.diameter": f'"{1e3 * old.diameter:.2f} mm"',
        "poles.body.length": f'"{1e3 * old.rod_length:.2f} mm"',
        "poles.height": f'"{1e3 * old.height:.2f} mm"',
    }
    if old.wall is None:
        out |= {"bobbin.core.kind": '"on rods"', "bobbin.core.wrap": f'"{1e3 * old.wrap:.2f} mm"'}
    else:
        out |= {"bobbin.core.kind": '"walled"', "bobbin.core.wall": f'"{1e3 * old.wall:.2f} mm"'}
    if old.up and pole["kind"] == "magnet":
        out["poles.up"] = f'"{old.up}"'
        if old.kick:
            # finish hot: plus and north up is anticlockwise (senses: p w q)
            same = (old.kick == "plus") == (old.up == "north")
            out |= {"hot": '"finish"', "wound": '"anticlockwise"' if same else '"clockwise"'}
    return out


def _unknowable(
    names: set[str], gauges: tuple[Choice, ...], films: tuple[Choice, ...], poles: tuple[Choice, ...], old: OldCoil
) -> tuple[str, ...]:
    """What cannot be known from these readings, and what would tell."""
    out = []
    if "inductance" not in names:
        out.append("Turns and wire apart: resistance alone cannot tell few turns of thin wire from many of thick. "
                   "Read the inductance in series mode.")  # fmt: skip
    if gauges[0].probability < CLEAR:
        out.append(
            f"The gauge: {gauges[0].name} or {gauges[1].name}. Measure the wire at a loose end, enamel burnt off."
        )
    if films[0].probability < CLEAR:
        out.append(
            "The enamel's thickness: size follows packing as much as enamel. Measure the wire with its enamel on."
        )
    if len(poles) > 1 and poles[0].probability < CLEAR:
        out.append(f"The pole pieces: {poles[0].name} or {poles[1].name}. An old magnet may have weakened: its field "
                   "alone does not tell; recharge one and read it again, or read one rod alone.")  # fmt: skip
    if not (old.up and old.kick):
        out.append("Which way it was wound: needs the end of the magnets that is up and the meter's kick together.")
    out.append("The order of the turns inside (how it was scattered) and the tension: only a trace of them is in "
               "capacitance and packing.")  # fmt: skip
    return tuple(out)
