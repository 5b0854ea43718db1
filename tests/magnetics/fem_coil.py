"""The coil of the finite-element witness, by plain quadrature of Biot-Savart and of Neumann's integral; numpy only.

An obround coil of uniform turn density is an average, over the distance r from its centre line, of current sheets of
height h. Along the height the integral of one filament element is elementary; along the contour and over r it is
Gauss. Nothing here is shared with the package: a test reads the imports.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
MU0 = 4e-7 * np.pi


@dataclass(frozen=True)
class Coil:
    """Obround coil centred at 0, long axis x, winding axis z; metres. s: straight length, ri and ro: half-widths."""

    s: float
    ri: float
    ro: float
    h: float
    turns: float


def gauss(n: int, low: float = 0.0, high: float = 1.0) -> tuple[Array, Array]:
    """Gauss-Legendre points and weights on [low, high], each (n,)."""
    x, w = np.polynomial.legendre.leggauss(n)
    return low + (high - low) * (x + 1) / 2, w * (high - low) / 2


def contour(s: float, r: float, per_straight: int, per_arc: int) -> tuple[Array, Array]:
    """Points (n, 2) and directed elements dl (n, 2) of one obround, anticlockwise; Gauss on each straight and arc."""
    points, elements = [], []
    if s > 0:
        u, w = gauss(per_straight, -s / 2, s / 2)
        for side in (-1.0, 1.0):  # below: +x; above: -x
            points.append(np.stack([-side * u, np.full_like(u, side * r)], 1))
            elements.append(np.stack([-side * w, np.zeros_like(w)], 1))
    for end in (1.0, -1.0):
        t, w = gauss(per_arc, -np.pi / 2, np.pi / 2)
        points.append(end * np.stack([s / 2 + r * np.cos(t), r * np.sin(t)], 1))
        elements.append(end * r * w[:, None] * np.stack([-np.sin(t), np.cos(t)], 1))
    return np.concatenate(points), np.concatenate(elements)


def coil_h(coil: Coil, at: Array, radii: int = 5, per_arc: int = 24, chunk: int = 20000) -> Array:
    """Field of the coil in A/m per ampere at points `at` (n, 3), outside the winding: (n, 3).

    Straights over x in closed form, arcs by Gauss. Points nearer to the winding than about 0.5 mm need more of both.
    """
    out = np.empty_like(at)
    for start in range(0, len(at), chunk):
        out[start : start + chunk] = _coil_h(coil, at[start : start + chunk], radii, per_arc)
    return out


def _coil_h(coil: Coil, at: Array, radii: int, per_arc: int) -> Array:
    x, y, z = at.T
    field = np.zeros((3, len(at)))
    t, wt = gauss(per_arc, -np.pi / 2, np.pi / 2)
    for r, w in zip(*gauss(radii, coil.ri, coil.ro), strict=True):
        k = coil.turns / coil.h * w / (coil.ro - coil.ri) / (4 * np.pi)
        for sign in (1.0, -1.0):  # upper and lower end of the sheet
            u = z + sign * coil.h / 2
            if coil.s > 0:
                for side in (-1.0, 1.0):  # the straight at y' = side r runs along -side x
                    gap = y - side * r
                    for end in (1.0, -1.0):
                        across = x + end * coil.s / 2
                        root = np.sqrt(across**2 + gap**2 + u**2)
                        field[1] += -side * sign * end * k * np.arcsinh(across / np.hypot(gap, u))
                        field[2] += -side * sign * end * k * np.arctan2(np.sign(gap) * across * u, abs(gap) * root)
            for end in (1.0, -1.0):
                dx, dy = end * -np.sin(t), end * np.cos(t)
                gx = x[:, None] - end * (coil.s / 2 + r * np.cos(t))
                gy = y[:, None] - end * r * np.sin(t)
                rho2 = gx**2 + gy**2
                root = np.sqrt(rho2 + u[:, None] ** 2)
                dl = k * r * wt
                # integral over z' of dl x R / R^3; R_z = z - z'
                lateral = -sign * dl / root
                field[0] += (lateral * dy).sum(1)
                field[1] -= (lateral * dx).sum(1)
                field[2] += (sign * dl * (dx * gy - dy * gx) * (u[:, None] / (rho2 * root))).sum(1)
    return field.T


def biot_savart(coil: Coil, at: Array, n: int = 40) -> Array:
    """The same field by Biot and Savart alone: filaments over r and z, Gauss in every variable. Slow; for tests."""
    out = np.zeros_like(at)
    for r, wr in zip(*gauss(n // 4, coil.ri, coil.ro), strict=True):
        points, dl = contour(coil.s, r, 6 * n, n)
        for z, wz in zip(*gauss(n, -coil.h / 2, coil.h / 2), strict=True):
            arm = at[:, None, :] - np.concatenate([points, np.full((len(points), 1), z)], 1)
            cube = (arm**2).sum(2) ** 1.5
            cross = np.stack(
                [dl[:, 1] * arm[..., 2], -dl[:, 0] * arm[..., 2], dl[:, 0] * arm[..., 1] - dl[:, 1] * arm[..., 0]], 2
            )
            density = coil.turns / (coil.h * (coil.ro - coil.ri)) * wr * wz / (4 * np.pi)
            out += density * (cross / cube[..., None]).sum(1)
    return out


def air_inductance(coil: Coil, n: int = 16) -> float:
    """Neumann's double integral over the coil's section and contour, in henry.

    Along both heights 1/R is integrated in closed form; that leaves a logarithm where the contours come near, so the
    inner contour is split at the points nearest to the outer one and clustered there, pairs of radii at equality.
    """
    depth = coil.ro - coil.ri
    total = 0.0
    for delta, w_delta in zip(*_towards_zero(depth, n), strict=True):
        for mean, w_mean in zip(*gauss(6, coil.ri + delta / 2, coil.ro - delta / 2), strict=True):
            pair = _contours(coil.s, coil.h, mean + delta / 2, mean - delta / 2, n)
            total += 2 * w_delta * w_mean * pair  # twice: the two radii may change places
    return float(MU0 / (4 * np.pi) * (coil.turns / (coil.h * depth)) ** 2 * total)


def _towards_zero(length: Array | float, n: int, power: int = 3) -> tuple[Array, Array]:
    """Gauss points and weights on [0, length] crowded towards 0; length (...,) gives (..., n)."""
    v, w = gauss(n)
    length = np.asarray(length)[..., None]
    return length * v**power, length * power * v ** (power - 1) * w


def _place(p: Array, piece: int, s: float, r: float) -> tuple[Array, Array]:
    """Point and d(point)/dp on piece 0 lower straight, 1 right arc, 2 upper straight, 3 left arc; p from 0 along it."""
    sign = 1.0 if piece < 2 else -1.0  # pieces 2 and 3 are 0 and 1 turned by half a turn
    if piece % 2 == 0:
        return sign * np.stack([p - s / 2, np.full_like(p, -r)]), sign * np.stack([np.ones_like(p), np.zeros_like(p)])
    angle = p - np.pi / 2
    return (
        sign * np.stack([s / 2 + r * np.cos(angle), r * np.sin(angle)]),
        sign * r * np.stack([-np.sin(angle), np.cos(angle)]),
    )


def _contours(s: float, h: float, a: float, b: float, n: int) -> float:
    """Double contour integral of dl.dl' times the double height integral of 1/R: obrounds of half-width a and b."""
    lengths = (s, np.pi, s, np.pi)
    v, wv = gauss(n)
    total = 0.0
    for outer in (0, 1):  # the half turn gives the other two
        p = lengths[outer] * v**3 * (10 - 15 * v + 6 * v**2)  # crowded to both joints, where the inner integral bends
        wp = lengths[outer] * 30 * v**2 * (1 - v) ** 2 * wv
        here, along = _place(p, outer, s, a)
        for inner in range(4):
            # the inner piece is split where it is nearest: beside the point, opposite to it, or at the nearer joint
            split = (p, np.full(n, 0.0), lengths[outer] - p, np.full(n, lengths[inner]))[(inner - outer) % 4]
            for toward, reach in ((-1.0, split), (1.0, lengths[inner] - split)):
                step, w = _towards_zero(reach, n)
                there, dl = _place(split[:, None] + toward * step, inner, s, b)
                r2 = ((there - here[:, :, None]) ** 2).sum(0)
                radius = np.sqrt(r2)
                kernel = 2 * (h * np.arcsinh(h / radius) - np.sqrt(r2 + h * h) + radius)
                total += 2 * float((wp[:, None] * w * kernel * (dl * along[:, :, None]).sum(0)).sum())
    return total
