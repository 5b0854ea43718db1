"""Mutual inductance of two coils of parallel axes in air: beside each other, stacked, or one in the other's bore."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics import coil_neumann as neumann
from lodestring.physics.coil_box import CoilBox, moment
from lodestring.physics.coil_inductance import MU0
from lodestring.physics.quadrature import half_circles, radial_rule, unit_gauss

Floats = NDArray[np.float64]
Offset = tuple[float, float, float]

_FAR = 3.0  # extents; the closed forms lose digits with the sixth power of the distance, the plain sum with the second


def mutual_inductance(one: CoilBox, other: CoilBox, offset: Offset) -> float:
    """Mutual inductance in air [H] per product of turns: multiply by N1 N2. Both wound the same way round.

    `offset` (dx, dy, dz) [m] from the middle of `one` to the middle of `other`; long axes parallel, rod axes parallel.
    M = mu0/(4 pi h1 h2) <double contour integral of [G(d+h2) - G(d) - G(d+h2-h1) + G(d-h1)] dl.dl'> over both ranges of
    half-width, G(u) = u asinh(u/R) - sqrt(u^2 + R^2), d the difference of the lower ends.
    Relative error below 1e-6 if the windings are apart by a fifth of the greater half-width, below 1e-4 if they touch,
    below 1e-7 far away. Raises DomainError where the windings share
    space or the offset is not three finite numbers. Source: derived in the project's design from Neumann's formula.
    """
    if len(offset) != 3 or not all(math.isfinite(part) for part in offset):
        raise DomainError("the offset of two coils is three finite numbers", f"{offset!r} m")
    dx, dy, dz = (float(part) for part in offset)
    unit = max(one.outer, other.outer)
    extent = max(box.straight + 2.0 * box.outer + box.height for box in (one, other))
    distance = math.hypot(dx, dy, dz)
    if distance > _FAR * extent:
        return _far_apart(one, other, (dx, dy, dz))
    place = _place(one, other, (dx, dy, dz))
    d = (dz - 0.5 * other.height + 0.5 * one.height) / unit
    h1, h2 = one.height / unit, other.height / unit
    ends = ((abs(d + h2), 1.0), (abs(d), -1.0), (abs(d + h2 - h1), -1.0), (abs(d - h1), 1.0))
    common = sum(u * sign for u, sign in ends) * place.area / unit**2  # u ln R left out of the kernel, by Stokes
    angles = min(48, 10 + math.ceil(3.0 * unit / max(place.gap, 1e-3 * unit)))
    first = _Contours.of(one, unit, place.gap, angles)
    second = _Contours.of(other, unit, place.gap, angles)
    x, y = dx / unit, dy / unit
    contour = (
        _sides(first, second, x, y, ends)
        + _side_arcs(first, second, x, y, ends)
        + _side_arcs(second, first, -x, -y, ends).T
        + _arcs(first, second, x, y, ends)
    )
    mean = float(first.weights @ contour @ second.weights)
    return MU0 * unit / (4.0 * math.pi * h1 * h2) * (mean + 2.0 * math.pi * common)


@dataclass(frozen=True, slots=True)
class _Place:
    """How two coils stand: distance of the windings and, where it counts, plan area (mean over turns) in both."""

    gap: float
    area: float


def _place(one: CoilBox, other: CoilBox, offset: Offset) -> _Place:
    dx, dy, dz = offset
    slack = 1e-9 * max(one.outer, other.outer)  # coils that touch do not overlap
    above = abs(dz) - 0.5 * (one.height + other.height)
    beside = math.hypot(max(0.0, abs(dx) - 0.5 * (one.straight + other.straight)), dy) - one.outer - other.outer
    gaps = []
    for bore, body in ((one, other), (other, one)):
        # the end of the body's centre segment that lies farthest from the bore's
        farthest = math.hypot(max(0.0, abs(dx) + 0.5 * (body.straight - bore.straight)), dy)
        gaps.append(bore.inner - body.outer - farthest)
    within = max(gaps)
    aside = max(beside, within)
    if above >= -slack:
        return _Place(math.hypot(max(0.0, above), max(0.0, aside)), 0.0)
    if aside < -slack:
        raise DomainError(
            "two coils stand beside each other, one above the other, or one in the other's bore",
            "windings that share space at an offset of ({:.4g}, {:.4g}, {:.4g}) mm".format(*(1e3 * p for p in offset)),
            "a greater distance",
        )
    inner_body = other if gaps[0] >= gaps[1] else one
    return _Place(max(0.0, aside), 0.0 if beside >= within else moment(inner_body))


@dataclass(frozen=True, slots=True)
class _Contours:
    """One coil's half-widths with weights and the points on its arcs, in units of `unit`."""

    straight: float
    radii: Floats
    weights: Floats
    arcs: tuple[Floats, Floats, Floats, Floats]

    @classmethod
    def of(cls, box: CoilBox, unit: float, gap: float, angles: int) -> _Contours:
        order = min(10, 3 + math.ceil(box.depth / max(gap, 1e-3 * unit)))
        radii, weights = radial_rule(box.inner / unit, box.outer / unit, order)
        straight = box.straight / unit
        return cls(straight, radii, weights, half_circles(straight, angles))


def _sides(one: _Contours, other: _Contours, x: float, y: float, ends: neumann.Ends) -> Floats:
    """Straights with straights, (r, r')."""
    half, long = 0.5 * (one.straight - other.straight), 0.5 * (one.straight + other.straight)
    reach = np.array([x + long, x - long, x + half, x - half])
    side = np.array([1.0, -1.0])
    at = -side[:, None] * one.radii  # y of the sides, (2, r)
    to = y - side[:, None] * other.radii
    c = np.abs(to[None, :, None, :] - at[:, None, :, None])  # (2, 2, r, r')
    corner = neumann.line_line(reach[:, None, None, None, None], c, ends)
    pairs = corner[0] + corner[1] - corner[2] - corner[3]
    return np.asarray(np.einsum("a,b,abrs->rs", side, side, pairs))


def _side_arcs(one: _Contours, other: _Contours, x: float, y: float, ends: neumann.Ends) -> Floats:
    """Straights of `one` with arcs of `other`, (r, r')."""
    cos, sin, weight, centre = other.arcs
    radii = other.radii[:, None]
    at_x, at_y = x + centre + radii * cos, y + radii * sin  # (r', q)
    total = np.zeros((one.radii.size, other.radii.size))
    half = 0.5 * one.straight
    if half == 0.0:
        return total
    for side in (1.0, -1.0):
        c = np.abs(at_y + side * one.radii[:, None, None])  # (r, r', q)
        along = neumann.line_point(at_x + half, c, ends) - neumann.line_point(at_x - half, c, ends)
        total -= side * (along @ (weight * sin)) * other.radii
    return total


def _arcs(one: _Contours, other: _Contours, x: float, y: float, ends: neumann.Ends) -> Floats:
    """Arcs with arcs, (r, r')."""
    cos1, sin1, weight1, centre1 = one.arcs
    cos2, sin2, weight2, centre2 = other.arcs
    tangents = (np.outer(cos1, cos2) + np.outer(sin1, sin2)) * np.outer(weight1, weight2)
    x1, y1 = centre1 + one.radii[:, None] * cos1, one.radii[:, None] * sin1
    x2, y2 = x + centre2 + other.radii[:, None] * cos2, y + other.radii[:, None] * sin2
    total = np.empty((one.radii.size, other.radii.size))
    for row in range(one.radii.size):  # a row at a time keeps the arrays small
        square = (x2[:, None, :] - x1[row, :, None]) ** 2 + (y2[:, None, :] - y1[row, :, None]) ** 2
        total[row] = np.einsum("sij,ij->s", neumann.point_point(square, ends), tangents)
    return np.asarray(total * np.outer(one.radii, other.radii))


def _far_apart(one: CoilBox, other: CoilBox, offset: Offset) -> float:
    """Neumann's sum over points of both windings: nothing is near anything, so few are enough."""
    at, run = _filaments(one)
    to, turn = _filaments(other)
    gap = (to + np.asarray(offset))[None, :, :] - at[:, None, :]
    share = (run @ turn.T) / np.sqrt(np.einsum("abx,abx->ab", gap, gap))
    return 1e-7 * float(share.sum())


def _filaments(box: CoilBox) -> tuple[Floats, Floats]:
    """Points (k, 3) [m] of the winding and weight times length along x and y (k, 2) [m]; 3 radii, 3 heights."""
    radii, share = radial_rule(box.inner, box.outer, 3)
    heights, level = radial_rule(-0.5 * box.height, 0.5 * box.height, 3)
    cos, sin, weight, centre = half_circles(box.straight, 10)
    nodes, part = unit_gauss(8)
    x, part = (nodes - 0.5) * box.straight, part * box.straight
    r, one = radii[:, None], np.ones_like(radii)[:, None]
    plan_x = np.hstack([centre + r * cos, one * x, one * x])
    plan_y = np.hstack([r * sin, -r * np.ones_like(x), r * np.ones_like(x)])
    run_x = np.hstack([-r * weight * sin, one * part, -one * part]) * share[:, None]
    run_y = np.hstack([r * weight * cos, 0.0 * one * part, 0.0 * one * part]) * share[:, None]
    flat = [np.tile(values.ravel(), heights.size) for values in (plan_x, plan_y)]
    points = np.stack([*flat, np.repeat(heights, plan_x.size)], axis=1)
    lengths = np.stack([np.outer(level, run_x).ravel(), np.outer(level, run_y).ravel()], axis=1)
    return points, lengths
