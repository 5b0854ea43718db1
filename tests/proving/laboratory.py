"""A synthetic laboratory: coils wound, faults planted, readings taken with noise and quantisation.

It imports nothing of the project (a test reads its imports) and shares no formula's code with it. A coil is a ladder of
24 concentric sections, each coupled with every other:

- in air by Neumann's double integral over filaments, summed here by plain quadrature;
- through the rods by one pattern, the flux of charges at the rods' two ends through each section, with the strength
  that finite elements gave for this coil (project's notes, case A1: 0.5625 H at mu 4; 2.205, 2.363, 2.499, 2.722 H in
  all at mu 3, 4, 5, 7 and 4.2426 H at 200, for 7,600 turns), and eddy currents by the Bessel functions of scipy.

Capacitance lies along the sections and from end to end. Shorts join two points between turns, at turn level: the
section is cut there. Everything is solved by nodal analysis in numpy; ngspice is the witness of one such ladder.
All coils and readings are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from scipy import optimize, special

MU0 = 4e-7 * np.pi
MM = 1e-3
SECTIONS = 24
STRAIGHT, INNER, WINDOW = 52 * MM, 3.2 * MM, 10.5 * MM
RODS = [x * 10.4 * MM for x in (-2.5, -1.5, -0.5, 0.5, 1.5, 2.5)]
ROD_RADIUS, ROD_LENGTH = 2.4 * MM, 16 * MM
RHO, ALPHA, DENSITY = 1.7241e-8, 3.93e-3, 8890.0  # IEC 60028: annealed copper
ENAMEL = 1200.0
BARE = {40: 78.7e-6, 41: 71.1e-6, 42: 63.5e-6, 43: 55.9e-6, 44: 50.8e-6}  # nominal of the gauge
FILM = {"single": 7.6e-6, "heavy": 13.7e-6}
SIGMA = {"alnico 5": 1 / 47e-8, "alnico 2": 1 / 65e-8, "steel": 1 / 15.9e-8, "none": 1e-3}
REACH = 8.5 * MM


# ---- magnetics of the sections ----


@cache
def _air() -> tuple[np.ndarray, np.ndarray]:
    """Half-widths (n,) and the mutual inductance in air (n, n) of sheets there, per turn of each."""
    radii = np.linspace(INNER, REACH, 13)
    rows = 8
    step = WINDOW / rows
    loops = [_loop(r, 160) for r in radii]
    out = np.zeros((len(radii), len(radii)))
    for i in range(len(radii)):
        points, run = loops[i]
        quarter = slice(0, len(points))
        for j in range(i + 1):
            to, turn = loops[j]
            flat = (points[quarter, None, 0] - to[None, :, 0]) ** 2 + (points[quarter, None, 1] - to[None, :, 1]) ** 2
            dot = run[quarter] @ turn.T
            total = 0.0
            for d in range(rows):
                # mean distance of two bands: a band meets itself at 0.2235 of its height
                gap = 0.2235 * step if d == 0 else d * step
                if i == j or d:
                    value = np.sum(dot / np.sqrt(flat + gap**2))
                else:
                    value = np.sum(dot / np.sqrt(flat + (0.35 * step) ** 2))
                total += value * (1 if d == 0 else 2) * (rows - d) / rows**2
            out[i, j] = out[j, i] = 1e-7 * total
    return radii, out


def _loop(r: float, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Points (n, 2) and runs (n, 2) of an obround turn, evenly along it."""
    length = 2 * STRAIGHT + 2 * np.pi * r
    n = count * 4
    s = (np.arange(n) + 0.5) * length / n
    edges = np.cumsum([0, STRAIGHT, np.pi * r, STRAIGHT, np.pi * r])
    x, y, tx, ty = (np.zeros(n) for _ in range(4))
    for k in range(4):
        m = (s >= edges[k]) & (s < edges[k + 1])
        u = s[m] - edges[k]
        if k == 0:
            x[m], y[m], tx[m] = -STRAIGHT / 2 + u, -r, 1
        elif k == 2:
            x[m], y[m], tx[m] = STRAIGHT / 2 - u, r, -1
        else:
            a = u / r + (-np.pi / 2 if k == 1 else np.pi / 2)
            x[m] = (STRAIGHT / 2 if k == 1 else -STRAIGHT / 2) + r * np.cos(a)
            y[m], tx[m], ty[m] = r * np.sin(a), -np.sin(a), np.cos(a)
    return np.stack([x, y], 1), np.stack([tx, ty], 1) * length / n


@cache
def _pattern() -> tuple[np.ndarray, np.ndarray]:
    """Half-widths (n,) and the rods' flux through a turn there, against any one of them."""
    radii = np.linspace(INNER, REACH, 13)
    xs, ys = np.linspace(-40 * MM, 40 * MM, 641), np.linspace(-12 * MM, 12 * MM, 193)
    gx, gy = np.meshgrid(xs, ys, indexing="ij")
    cell = (xs[1] - xs[0]) * (ys[1] - ys[0])
    out = np.zeros(len(radii))
    away = np.maximum(np.abs(gx) - STRAIGHT / 2, 0.0)
    for z in np.linspace(-WINDOW / 2, WINDOW / 2, 7):
        back = np.zeros_like(gx)
        for x in RODS:
            for end, sign in ((ROD_LENGTH / 2, 1.0), (-ROD_LENGTH / 2, -1.0)):
                d = z - end
                back += sign * d / (4 * np.pi * ((gx - x) ** 2 + gy**2 + d**2 + ROD_RADIUS**2 / 2) ** 1.5)
        for i, r in enumerate(radii):
            inside = np.hypot(away, gy) < r
            out[i] += len(RODS) + np.sum(back[inside]) * cell  # what the rods carry, less what comes back inside
    return radii, out / out.mean()


@cache
def _modes() -> tuple[np.ndarray, np.ndarray]:
    """Weights and demagnetising factors that give the rods' share of A1 at five permeabilities [H per turn^2]."""
    mu = np.array([3.0, 4.0, 5.0, 7.0, 200.0])
    share = np.array([2.205, 2.362772, 2.499, 2.722, 4.242572]) - 1.800231
    n = np.array([0.02, 0.05, 0.08, 0.12, 0.2, 0.35, 0.6])
    columns = (mu - 1)[:, None] / (1 + n * (mu - 1)[:, None]) / share[:, None]
    weight, _ = optimize.nnls(columns, np.ones(5))
    return weight / 7600.0**2, n


def rods_share(mu: float, sigma: float, frequency: np.ndarray) -> np.ndarray:
    """What the rods add to A1 per turn squared at frequencies [H], complex."""
    ka = np.sqrt(-2j * np.pi * frequency * MU0 * mu * sigma) * ROD_RADIUS
    left = np.where(np.abs(ka) < 1e-3, 1.0, 2 * special.jv(1, ka) / (ka * special.jv(0, ka)))
    chi = (mu * left - 1)[:, None]
    weight, n = _modes()
    return (weight * chi / (1 + n * chi)).sum(axis=1)


# ---- a coil and its faults ----


@dataclass(frozen=True)
class Coil:
    """What was really wound, and what is wrong with it. `shorts`: pairs of turn numbers that touch."""

    turns: float = 7600.0
    bare: float = BARE[42]
    film: float = FILM["single"]
    stretch: float = 0.001
    packing: float = 0.65
    belly: float = 0.15
    mu: float = 4.3
    metal: str = "alnico 5"
    farad: float = 70e-12
    loss: float = 0.015
    kelvin: float = 295.15
    warmer: float = 0.0
    strength: float = 1.0
    shorts: tuple[tuple[float, float], ...] = ()
    short_ohm: float = 1e-3
    joint: float = 0.0
    shunt: float = np.inf
    shunt_henry: float = 0.0
    opened: bool = False
    leak: bool = False
    kick: int = 1
    compass: tuple[int, ...] = (1, 1, 1, 1, 1, 1)
    ring: tuple[float, float] = (0.0, 0.0)
    name: str = "good"
    extra: dict[str, str] = field(default_factory=dict)

    @property
    def depth(self) -> float:
        over2 = (self.bare + self.film) ** 2 / (1 + self.stretch)
        return self.turns * np.pi * over2 / 4 / self.packing / WINDOW

    def turn(self, at: np.ndarray) -> np.ndarray:
        """Length of turn number `at`."""
        return 2 * STRAIGHT + 2 * np.pi * (INNER + self.depth * np.asarray(at) / self.turns)

    @property
    def per_metre(self) -> float:
        warm = 1 + ALPHA * (self.kelvin + self.warmer - 293.15)
        return RHO / (np.pi * self.bare**2 / 4) * (1 + self.stretch) * warm

    @property
    def mass(self) -> float:
        length = self.turns * self.turn(self.turns / 2) / (1 + self.stretch)
        tube = ((self.bare + self.film) ** 2 - self.bare**2) * np.pi / 4
        return length * (DENSITY * np.pi * self.bare**2 / 4 + ENAMEL * tube)


@dataclass(frozen=True)
class Ladder:
    """Sections in series: turns (k,), ohm (k,), inductance in air (k, k) and the rods' pattern (k,), nodes joined."""

    turns: np.ndarray
    ohm: np.ndarray
    air: np.ndarray
    pattern: np.ndarray
    joined: tuple[tuple[int, int], ...]


def ladder(coil: Coil) -> Ladder:
    """The coil cut into sections, and at every point where turns touch."""
    cuts = np.linspace(0.0, coil.turns, SECTIONS + 1)
    points = [p for short in coil.shorts for p in short]
    cuts = np.unique(np.concatenate([cuts, points]))
    turns = np.diff(cuts)
    middle = 0.5 * (cuts[1:] + cuts[:-1])
    r = INNER + coil.depth * middle / coil.turns
    radii, air = _air()
    # symmetric in both, smooth but for the kink where two sheets meet: straight between the table's half-widths
    rows = np.array([np.interp(r, radii, row) for row in air])
    table = np.array([np.interp(r, radii, column) for column in rows.T])
    where, flux = _pattern()
    joined = tuple((int(np.argmin(abs(cuts - a))), int(np.argmin(abs(cuts - b)))) for a, b in coil.shorts)
    both = np.outer(turns, turns)
    pattern = turns * np.interp(r, where, flux)
    ohm = turns * coil.turn(middle) * coil.per_metre
    return Ladder(turns, ohm, both * 0.5 * (table + table.T), pattern, joined)


@cache
def _scale() -> tuple[float, float]:
    """Factors that bring A1 (7,600 turns to 6.8 mm) to what finite elements gave: in air, and of the rods' pattern."""
    a1 = Coil(packing=7600 * np.pi * (BARE[42] + FILM["single"]) ** 2 / 4 / (3.6 * MM * WINDOW), stretch=0.0)
    found = ladder(a1)
    return 1.800231 / found.air.sum(), 7600.0**2 / found.pattern.sum() ** 2


def inductances(coil: Coil, frequency: np.ndarray) -> tuple[Ladder, np.ndarray]:
    """The ladder and its inductances (f, k, k) [H], complex."""
    found = ladder(coil)
    air, rods = _scale()
    share = rods_share(coil.mu, SIGMA[coil.metal], frequency)
    full = air * found.air + (share * rods)[:, None, None] * np.outer(found.pattern, found.pattern)
    k2, tau = coil.ring
    if k2:
        wt = 2j * np.pi * frequency * tau
        row = full.sum(axis=2)
        full = full - (k2 * wt / (1 + wt) / row.sum(axis=1))[:, None, None] * row[:, :, None] * row[:, None, :]
    return found, full


def terminals(coil: Coil, frequency: np.ndarray, across: float, load: float) -> tuple[np.ndarray, np.ndarray]:
    """Impedance (f,) at the coil's ends [ohm] with `across` [F] and `load` [ohm] there, and the response (f,): volts
    there for a common flux through all turns."""
    found, full = inductances(coil, frequency)
    k = len(found.turns)
    w = 2 * np.pi * frequency
    z = 1j * w[:, None, None] * full + np.diag(found.ohm)
    incidence = np.zeros((k, k + 1))
    incidence[np.arange(k), np.arange(k)], incidence[np.arange(k), np.arange(1, k + 1)] = 1.0, -1.0
    inverse = np.linalg.inv(z)
    y = incidence.T @ inverse @ incidence
    along = 0.7 * coil.farad * coil.turns / found.turns * (1 - 1j * coil.loss)
    y = y + 1j * w[:, None, None] * (incidence.T @ (along[:, None] * incidence))
    ends = np.zeros(k + 1)
    ends[0], ends[-1] = 1.0, -1.0
    outside = 1j * w * (0.3 * coil.farad * (1 - 1j * coil.loss) + across) + 1.0 / load
    outside = outside + 1.0 / (coil.shunt + 1j * w * coil.shunt_henry)
    y = y + outside[:, None, None] * np.outer(ends, ends)
    for a, b in found.joined:
        tie = np.zeros(k + 1)
        tie[a], tie[b] = 1.0, -1.0
        y = y + np.outer(tie, tie) / coil.short_ohm
    keep = slice(1, k + 1)  # node 0 is ground
    emf = found.pattern / found.pattern.sum()
    k2, tau = coil.ring
    wt = 1j * w * tau
    drive = incidence.T @ (inverse @ emf[:, None])
    right = np.zeros((len(w), k + 1, 2), complex)
    right[:, -1, 0], right[:, :, 1] = 1.0, drive[..., 0]
    volts = np.linalg.solve(y[:, keep, keep], right[:, keep])
    return volts[:, -1, 0], -volts[:, -1, 1] * (1 - k2 * wt / (1 + wt))  # the ring keeps the flux out too


# ---- the bench ----


@dataclass(frozen=True)
class Reading:
    """A reading as the meter shows it: quantity, number or word, half-width (90 %), what it was taken at."""

    quantity: str
    value: float | str
    half_width: float = 0.0
    at: dict[str, float | str] = field(default_factory=dict)
    kelvin: float | None = None


FIELD = 0.105  # T, 0.5 mm off an alnico 5 rod of this size; the drawing's own figure takes its place (see `bench`)
SWEEP = np.geomspace(300.0, 45e3, 161)


def bench(coil: Coil, rng: np.random.Generator, field_drawn: float = FIELD) -> list[Reading]:
    """Everything a bench with meter, caliper, scale, inductance meter, probe and sound card reads."""
    out: list[Reading] = []

    def show(value: float, noise: float, step: float, quantity: str, half: float, **at: float | str) -> None:
        read = round((value + noise * rng.standard_normal()) / step) * step
        out.append(Reading(quantity, read, half, at, coil.kelvin if quantity == "resistance" else None))

    depth = coil.depth
    cold = RHO / (np.pi * coil.bare**2 / 4)
    spool = cold if coil.name != "gauge" else None
    if spool is not None:  # whoever reads a sample of the spool finds the wrong wire before winding
        show(spool, 0.003 * spool, 1e-2, "sample", 0.008 * spool)
    show(STRAIGHT + 2 * (INNER + depth), 0.04 * MM, 0.05 * MM, "outer_length", 0.1 * MM)
    show(2 * (INNER + depth * (1 + coil.belly)), 0.04 * MM, 0.05 * MM, "outer_width", 0.1 * MM)
    before, after = (
        0.1 * round(190.0 / 0.1),
        0.1 * round((190.0 - coil.mass * 1e3 + 0.03 * rng.standard_normal()) / 0.1),
    )
    out.append(Reading("wire_mass", (before - after) * 1e-3, 0.1e-3))
    for pole in range(1, 7):
        value = field_drawn * coil.strength * (1 + 0.03 * rng.standard_normal())
        if pole in (1, 4):
            show(value, 0.0, 1e-3, "field", max(0.07 * value, 1e-3), pole=pole)
        out.append(Reading("compass", "south" if coil.compass[pole - 1] > 0 else "north", at={"pole": pole}))
    if coil.strength < 0.1:
        out[:] = [r for r in out if r.quantity != "compass"]
    kick = coil.kick * coil.compass[2]
    word = "plus" if kick > 0 else "minus"
    out.append(Reading("kick", "none" if coil.opened or coil.strength < 0.1 else word, at={"pole": 3}))
    out.append(Reading("pole_resistance", 2.4e5, 2e4) if coil.leak else Reading("pole_resistance", "open"))
    out.append(Reading("steadiness", coil.extra.get("steadiness", "steady")))
    if coil.opened:
        return [
            *out,
            Reading("resistance", "open"),
            Reading("inductance", "open", at={"frequency": 1e3, "mode": "series"}),
        ]
    ohm = _ohm(coil)
    show(ohm, 0.003 * ohm, 10.0 if ohm < 19999 else 100.0, "resistance", 0.008 * ohm)
    z, _ = terminals(coil, np.array([1000.0]), 0.0, 1e9)
    henry = float(z[0].imag / (2 * np.pi * 1000))
    show(henry, 0.006 * henry, 1e-3, "inductance", 0.012 * henry, frequency=1e3, mode="series")
    rs = float(z[0].real) + coil.joint
    show(rs, 0.01 * rs, 10.0, "series_resistance", 0.03 * rs, frequency=1e3)
    for farad in (0.0, 470e-12):
        found = _peak(coil, farad)
        at = {"capacitance": farad, "load": 1e6}
        if found is None:
            out.append(Reading("resonance", "open", at=at))
        else:
            show(found[0], 0.004 * found[0], 10.0, "resonance", 0.01 * found[0], **at)
            show(found[1], 0.3, 0.1, "peak", 1.0, **at)
    return out


def _ohm(coil: Coil) -> float:
    found = ladder(coil)
    ohm = found.ohm.sum() - sum(found.ohm[a:b].sum() for a, b in found.joined)
    return float(ohm / (1 + ohm / coil.shunt)) + coil.joint


def _peak(coil: Coil, farad: float) -> tuple[float, float] | None:
    _, size = terminals(coil, SWEEP, farad, 1e6)
    db = 20 * np.log10(np.abs(size))
    i = int(np.argmax(db))
    if i in (0, len(db) - 1) or db[i] - db[0] < 0.5:
        return None
    bend = db[i - 1] - 2 * db[i] + db[i + 1]
    shift = 0.5 * (db[i - 1] - db[i + 1]) / bend
    f = float(SWEEP[i] * (SWEEP[1] / SWEEP[0]) ** shift)
    return f, float(db[i] - 0.25 * (db[i - 1] - db[i + 1]) * shift - db[0])


# ---- who wound it ----


def good(rng: np.random.Generator) -> Coil:
    """A coil as drawn: everything within what a hand, a spool and a magnet vary."""
    n = rng.standard_normal
    return Coil(
        turns=7600.0 * float(np.exp(0.003 * n())),
        bare=BARE[42] * float(np.exp(0.012 * n())),
        film=FILM["single"] * float(np.exp(0.10 * n())),
        stretch=float(0.001 * np.exp(0.6 * n())),
        packing=float(0.65 * np.exp(0.06 * n())),
        belly=float(np.clip(0.15 + 0.025 * n(), 0.08, 0.22)),
        mu=float(4.3 * np.exp(0.07 * n())),
        farad=float(75e-12 * np.exp(0.22 * n())),
        loss=float(0.015 * np.exp(0.3 * n())),
        kelvin=float(294.15 + 2.0 * n()),
        strength=float(np.exp(0.05 * n())),
    )


PLANTED = (
    "open", "joint", "shorted", "shorted-third", "leak", "gauge", "turns", "stretched",
    "row-reversed", "rod-reversed", "wound-reversed", "weak", "warm", "other-coil", "ring", "steel",
)  # fmt: skip


def faulty(kind: str, rng: np.random.Generator) -> Coil:
    """A coil with one fault of a kind."""
    coil = good(rng)
    u = rng.random
    if kind == "open":
        return replace(coil, opened=True, name=kind)
    if kind == "joint":
        return replace(coil, joint=float(10 ** (2.3 + 1.5 * u())), name=kind, extra={"steadiness": "wanders"})
    if kind in ("shorted", "shorted-third"):
        # neighbouring passes touch: 120 to 600 turns; or a lead-out wire lies across: a third
        n = 120.0 * 5.0 ** u() if kind == "shorted" else coil.turns * (0.28 + 0.1 * u())
        first = (0.05 + 0.9 * u()) * (coil.turns - n)
        return replace(coil, shorts=((first, first + n),), name=kind)
    if kind == "leak":
        return replace(coil, leak=True, name=kind)
    if kind == "gauge":
        awg = int(rng.choice([40, 41, 43, 44]))
        return replace(
            coil, bare=BARE[awg] * coil.bare / BARE[42], film=coil.film * (0.9 + 0.03 * (43 - awg)), name=kind
        )
    if kind == "turns":
        return replace(coil, turns=coil.turns * (1.0 + (0.05 + 0.03 * u()) * rng.choice([-1, 1])), name=kind)
    if kind == "stretched":
        return replace(coil, stretch=float(0.03 + 0.04 * u()), name=kind)
    if kind == "row-reversed":
        return replace(coil, compass=(-1,) * 6, name=kind)
    if kind == "rod-reversed":
        wrong = int(rng.integers(6))
        return replace(coil, compass=tuple(-1 if i == wrong else 1 for i in range(6)), name=kind)
    if kind == "wound-reversed":
        return replace(coil, kick=-1, name=kind)
    if kind == "weak":
        return replace(coil, strength=float(0.5 + 0.15 * u()), name=kind)
    if kind == "warm":
        return replace(coil, warmer=float(12.0 + 20.0 * u()), name=kind)
    if kind == "other-coil":
        ohm = float(6e3 + 5e3 * u())
        return replace(coil, shunt=ohm, shunt_henry=ohm * float(3.6e-4 + 1.2e-4 * u()), name=kind)
    if kind == "ring":
        return replace(coil, ring=(float(0.35 + 0.2 * u()), float(15e-6 * 3.0 ** u())), name=kind)
    if kind == "steel":
        return replace(coil, mu=float(120.0 * 2.0 ** u()), metal="steel", strength=0.0, name=kind)
    raise ValueError(kind)


def batch(seed: int, coils: int = 30, planted: int = 12) -> list[Coil]:
    """Coils in a mixed order, `planted` of them with faults of different kinds."""
    rng = np.random.default_rng(seed)
    kinds = list(rng.permutation(PLANTED)[:planted])
    out = [faulty(str(k), rng) for k in kinds] + [good(rng) for _ in range(coils - planted)]
    return [out[i] for i in rng.permutation(coils)]
