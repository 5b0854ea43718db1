"""How strong a magnet is where it stands: the working point of a rod or a blade on its demagnetisation curve.

A short rod demagnetises itself, and like neighbours demagnetise each other. An alnico rod is past the knee of its
curve near its ends, so it never comes back to the remanence of the data sheet. Each rod is cut into slices; a slice's
magnetisation follows the grade's curve at the field that all slices make there, and later changes run along the
recoil line from there.

The curve is the hyperbola through (0, B_r), (-H_c, 0) and the point of greatest energy product,

    B = B_r (1 - x) / (1 - a x),  x = -H / H_c,  a = (2 sqrt(g) - 1) / g,  g = BH_max / (B_r H_c),

a usual fit of alnico curves. The mean field of a uniformly charged disc over a coaxial disc of its size at distance d
is sigma g(d / a) with g(q) = int J_1(u)^2 exp(-q u) du / u, so everything here but the curve is exact for slices that
are uniform across. A blade's slices are rectangles (rectangle_charge.py), uniform across as well. Basis assumed: the
curve of a piece at hand is not known; a face reading replaces it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.poles import MU0
from lodestring.physics.rectangle_charge import field_across, mean_potential
from lodestring.physics.ring import Array, elliptic

SLICES = 24
PROBE = 1.5e-3
"""Where the field of the slices and that of the uniform magnet agree [m over the top]: about where strings are."""
ALONG = 8
"""Places along a blade at which another magnet's field is asked for."""


@dataclass(frozen=True, slots=True)
class MagnetCurve:
    """A grade's demagnetisation curve: B_r [T], H_cB [A/m], BH_max [J/m^3], recoil permeability [1]."""

    remanence: float
    coercivity: float
    energy_product: float
    recoil: float

    def __post_init__(self) -> None:
        """Raise DomainError for figures that make no demagnetisation curve."""
        figures = (self.remanence, self.coercivity, self.energy_product)
        came = "B_r {:g} T, H_c {:g} A/m, BH_max {:g} J/m3, recoil permeability {:g}".format(*figures, self.recoil)
        if not (all(0.0 < v < math.inf for v in figures) and 1.0 <= self.recoil < math.inf):
            raise DomainError(
                "a magnet has remanence, coercivity and energy product above 0 and a recoil permeability of 1 or more",
                came,
            )
        if not self.energy_product < self.remanence * self.coercivity:
            raise DomainError("a magnet's energy product lies below remanence times coercivity", came)

    @property
    def hyperbola(self) -> float:
        """a of the curve; 0 is a straight line (ferrite), towards 1 a square loop."""
        g = self.energy_product / (self.remanence * self.coercivity)
        return max(0.0, (2.0 * math.sqrt(g) - 1.0) / g)

    def magnetisation(self, field: Array) -> tuple[Array, Array]:
        """M [A/m] and dM/dH at H [A/m], on the curve for -H_c <= H; steep and straight below, flat for H > 0."""
        x = -field / self.coercivity
        a = min(self.hyperbola, 0.999)
        inside = np.clip(x, 0.0, 1.0)
        b = self.remanence * (1.0 - inside) / (1.0 - a * inside)
        slope = -self.remanence * (1.0 - a) / (1.0 - a * inside) ** 2  # dB/dx
        b = b + slope * (x - inside)
        slope_h = -slope / self.coercivity
        return b / MU0 - field, slope_h / MU0 - 1.0


@dataclass(frozen=True, slots=True)
class MagnetRod:
    """An upright magnet: place of its axis, middle height, length, radius [m], curve, and +1 north up or -1 south
    up.
    """

    x: float
    y: float
    z: float
    length: float
    radius: float
    curve: MagnetCurve
    up: int

    def __post_init__(self) -> None:
        """Raise DomainError for a rod without volume."""
        if not (0.0 < self.length < math.inf and 0.0 < self.radius < math.inf):
            raise DomainError("a rod has length and radius above 0", f"{self.length:g} m, {self.radius:g} m")


@dataclass(frozen=True, slots=True)
class MagnetBlade:
    """An upright rectangular magnet: place of its axis, middle height, height `length`, sizes along x and y [m], curve,
    and +1 north up or -1 south up.
    """

    x: float
    y: float
    z: float
    length: float
    long: float
    thick: float
    curve: MagnetCurve
    up: int

    def __post_init__(self) -> None:
        """Raise DomainError for a blade without volume."""
        if not all(0.0 < v < math.inf for v in (self.length, self.long, self.thick)):
            raise DomainError(
                "a blade has length, thickness and height above 0",
                f"{self.long:g} m, {self.thick:g} m, {self.length:g} m",
            )


Upright = MagnetRod | MagnetBlade


@dataclass(frozen=True)
class RodState:
    """Slice by slice from the bottom: heights of the cuts (k + 1,), M (k,) and what is left on the recoil line at H = 0
    (k,) [A/m], signed along +z."""

    cuts: Array
    m: Array
    left: Array


def rod_states(rods: Sequence[Upright]) -> tuple[RodState, ...]:
    """The working point of every slice of every rod or blade, all acting on each other. Raises DomainError should it
    not settle.
    """
    count = len(rods)
    blocks = np.zeros((count * SLICES, count * SLICES))
    for i, to in enumerate(rods):
        rows = slice(i * SLICES, (i + 1) * SLICES)
        for j, of in enumerate(rods):
            columns = slice(j * SLICES, (j + 1) * SLICES)
            blocks[rows, columns] = _own_of(of) if i == j else _other(to, of)
    signs = np.repeat([float(r.up) for r in rods], SLICES)
    matrix = signs[:, None] * blocks * signs  # everything seen along each rod's own magnetisation
    m = np.concatenate([np.full(SLICES, 0.5 * r.curve.remanence / MU0) for r in rods])
    for _ in range(200):
        h = matrix @ m
        aim, slope = (
            np.concatenate(part)
            for part in zip(
                *(r.curve.magnetisation(h[i * SLICES : (i + 1) * SLICES]) for i, r in enumerate(rods)), strict=True
            )
        )
        step = np.linalg.solve(np.eye(len(m)) - slope[:, None] * matrix, aim - m)
        m = m + step
        if np.max(np.abs(step)) < 1e-7 * np.max(np.abs(m)):
            break
    else:
        raise DomainError("the magnets' state settles", "none found", "check the grade's figures in the catalogue")
    out = []
    for i, rod in enumerate(rods):
        rows = slice(i * SLICES, (i + 1) * SLICES)
        left = np.minimum(m[rows] - (rod.curve.recoil - 1.0) * h[rows], rod.curve.remanence / MU0)
        out.append(RodState(_cuts(rod.length), rod.up * m[rows], rod.up * left))
    return tuple(out)


def effective_remanence(state: RodState, rod: Upright, above: float = PROBE) -> float:
    """One remanence [T] that stands for the slices, + for north up: the uniform magnet with the same field on the axis
    at `above` [m] over its top, in air."""
    heights = state.cuts[-1] + above - state.cuts
    if isinstance(rod, MagnetRod):
        face = 0.5 * (1.0 - heights / np.hypot(heights, rod.radius))
    else:
        face = field_across(rod.long, rod.thick, np.array(0.0), np.array(0.0), heights)
    charge = np.diff(np.concatenate([[0.0], state.left, [0.0]]))  # M below minus M above, upside down
    field = float(np.sum(-charge * face))
    unit = float(face[-1] - face[0])
    return MU0 * field / unit


@lru_cache(maxsize=8)
def _cuts_of_unit() -> Array:
    """Cuts of a rod of length 1 about 0, crowded to both ends."""
    return -0.5 * np.cos(np.pi * np.arange(SLICES + 1) / SLICES)


def _cuts(length: float) -> Array:
    return length * _cuts_of_unit()


@lru_cache(maxsize=32)
def _own(slenderness: float) -> Array:
    """Mean field (k, k) of each slice on each slice of one rod per unit M; `slenderness` = length / radius."""
    cuts = _cuts_of_unit() * slenderness  # in radii
    potential = _disc_potential(np.abs(cuts[:, None] - cuts[None, :]))  # G(|z_i - z_j|)
    # mean over slice i of the field of a disc at cut j: sigma sign [G(z_i+1 - z_j) - G(z_i - z_j)] / thickness
    by_disc = np.diff(potential, axis=0) / np.diff(cuts)[:, None]
    return by_disc[:, 1:] - by_disc[:, :-1]  # a slice's M is +M on its upper cut and -M on its lower one


def _own_of(magnet: Upright) -> Array:
    """Mean field (k, k) of each slice on each slice of one magnet per unit M."""
    if isinstance(magnet, MagnetRod):
        return _own(round(magnet.length / magnet.radius, 9))
    cuts = _cuts(magnet.length)
    apart = np.abs(cuts[:, None] - cuts[None, :])
    potential = -mean_potential(magnet.long, magnet.thick, apart)  # but for a constant, as in `_own`
    by_face = np.diff(potential, axis=0) / np.diff(cuts)[:, None]
    return np.asarray(by_face[:, 1:] - by_face[:, :-1])


def _disc_potential(q: Array) -> Array:
    """G(q) = int_0^q g = int J_1(u)^2 (1 - exp(-q u)) / u^2 du, q >= 0 in radii.

    A rod magnetised evenly has the mean field -(2/q) G(q) M, and that is -(1 - Nagaoka's coefficient) M for the
    current sheet on its side. The coefficient is in elliptic integrals: Nagaoka 1909, from memory.
    """
    safe = np.where(q > 0.0, q, 1.0)
    m1 = safe**2 / (safe**2 + 4.0)
    k, e = elliptic(m1)
    nagaoka = 4.0 / (3.0 * math.pi * np.sqrt(m1)) * (m1 / (1.0 - m1) * (k - e) + e - np.sqrt(1.0 - m1))
    return np.where(q > 0.0, 0.5 * safe * (1.0 - nagaoka), 0.0)


def _other(to: Upright, of: Upright) -> Array:
    """Axial field (k, k) at the middle of each slice of `to` from each slice of `of`: a rod's discs are taken as
    points; along a blade it is the mean over its length.
    """
    cuts = _cuts(of.length) + of.z
    middle = _cuts(to.length)
    middle = 0.5 * (middle[1:] + middle[:-1]) + to.z
    rise = middle[:, None] - cuts[None, :]
    rise = np.where(np.abs(rise) < 1e-12, 1e-12, rise)
    by_face = np.zeros_like(rise)
    places = [0.0] if isinstance(to, MagnetRod) else to.long * ((np.arange(ALONG) + 0.5) / ALONG - 0.5)
    for along in places:
        x, y = np.array(to.x + along - of.x), np.array(to.y - of.y)
        if isinstance(of, MagnetRod):
            distance = np.hypot(x, y)
            by_face += math.pi * of.radius**2 * rise / (4.0 * math.pi * (rise**2 + distance**2) ** 1.5)
        else:
            by_face += field_across(of.long, of.thick, x, y, rise)
    by_face /= len(places)
    return np.asarray(by_face[:, 1:] - by_face[:, :-1])
