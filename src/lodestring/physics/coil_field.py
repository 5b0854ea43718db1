"""Field and scalar potential of obround current sheets: the coil's building block.

A sheet stands on the contour at half-width r (straights |x| <= s/2 at y = -+r, half circles at the ends), |z| <= h/2,
and carries one turn spread over h. It equals a body magnetised along z with M = 1/h inside the contour, hence

    H = -grad psi,   psi = potential of two charged faces at z = -+h/2,   and M more in Hz inside the sheet.

The faces' part is continuous across the sheet away from its two edges, so few points on the arcs are enough even close
to it; the part with M is known exactly. Straights are closed forms, only arcs are summed.
Axis letters: r radii, q points on an arc, n field points. SI, per ampere and per turn. Source: derived in the project's
design from Biot-Savart's law.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import DomainError
from lodestring.physics.quadrature import half_circles

Floats = NDArray[np.float64]

ANGLES = 12  # points on each half circle
_BLOCK = 512  # radii times points worked on at a time, so that the arrays stay in the cache
_TINY = 1e-150  # below the square of any length here: keeps 0/0 at its limit, 0


def sheet_field(straight: float, radii: Floats, height: float, points: Floats, angles: int = ANGLES) -> Floats:
    """H (r, n, 3) [A/m per A and turn] at points (n, 3) [m] of sheets at half-widths `radii` (r,) [m].

    Valid everywhere but on the edges (rho = r at z = -+h/2), where H is infinite; on the sheet itself it is the mean of
    the two sides. Near a round end, g from the nearer edge, the error is below 1e-5 of the field (1e-7 in psi) with
    `angles` >= 15 r/g on each half circle: 12 serve g >= 1.25 r; at 0.8 r they leave 1e-3 (psi 1e-5), at 0.4 r some per
    cent (psi 2e-4), less in a mean over a ring or over radii. Beside the straights, closed forms, any number serves.
    Raises DomainError for sizes that are not above 0 (straight may be 0), wrong shapes or values that are not finite.
    """
    radii, points = _checked_radii(straight, radii, height), checked_points(points)
    field = faces_field(straight, radii, height, points, angles)
    rho = distance_from_axis(straight, points)
    inside = 0.5 * (np.sign(radii[:, None] - rho) + 1.0)
    field[:, :, 2] += inside * between_faces(points[:, 2], height) / height
    return field


def sheet_potential(
    straight: float, radii: Floats, height: float, points: Floats, inside: bool = True, angles: int = ANGLES
) -> Floats:
    """Scalar potential psi (r, n) [A per A and turn] at points (n, 3) [m] of sheets at `radii` (r,) [m]; H = -grad psi.

    `inside=True`: the branch of the bore, for bodies that stand in it or reach into it: the faces' part less
    clip(z, -h/2, h/2)/h. It is 0 at the middle and valid wherever one gets from the bore without crossing the sheet
    (all of space but the outside at |z| < h/2). `inside=False`: the branch of the outside, without the clip term, 0 far
    away, valid everywhere but inside the sheet at |z| < h/2. The branches differ by 1/2 above and below the coil; none
    serves a body inside a winding. Nothing here checks that. Accuracy as `sheet_field`.
    """
    radii, points = _checked_radii(straight, radii, height), checked_points(points)
    psi = faces_potential(straight, radii, height, points, angles)
    if inside:
        psi -= np.clip(points[:, 2] / height, -0.5, 0.5)
    return psi


def distance_from_axis(straight: float, points: Floats) -> Floats:
    """rho (n,) [m]: plan distance from the segment between the centres of the half circles."""
    over = np.maximum(np.abs(points[:, 0]) - 0.5 * straight, 0.0)
    return np.hypot(over, points[:, 1])


def between_faces(z: Floats, height: float) -> Floats:
    """1 at |z| < h/2, 1/2 on a face, 0 beyond."""
    return np.asarray(0.5 * (np.sign(z + 0.5 * height) - np.sign(z - 0.5 * height)))


def checked_points(points: Floats) -> Floats:
    """The points as an array, if they are one of shape (n, 3) and finite; else DomainError."""
    points = np.asarray(points, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 3:
        raise DomainError("points have the shape (n, 3)", f"{points.shape}")
    if not np.all(np.isfinite(points)):
        raise DomainError(
            "coordinates of points are finite numbers", f"{int(np.sum(~np.isfinite(points)))} that are not"
        )
    return points


def _checked_radii(straight: float, radii: Floats, height: float) -> Floats:
    radii = np.asarray(radii, dtype=np.float64)
    if radii.ndim != 1 or not (np.all(np.isfinite(radii)) and np.all(radii > 0.0)):
        raise DomainError("half-widths of sheets are a list of finite numbers above 0", f"{radii.tolist()} m")
    if not (math.isfinite(straight) and straight >= 0.0 and math.isfinite(height) and height > 0.0):
        raise DomainError(
            "a sheet has a height above 0 and a straight length of 0 or more",
            f"straight {straight:g}, height {height:g} m",
        )
    return radii


def faces_field(straight: float, radii: Floats, height: float, points: Floats, angles: int) -> Floats:
    """H (r, n, 3) of the two charged faces alone: without M inside. Arguments as `sheet_field`, not checked."""
    out = np.empty((radii.size, len(points), 3))
    step = max(1, _BLOCK // max(1, radii.size))
    for start in range(0, len(points), step):
        part = points[start : start + step]
        field = out[:, start : start + step]
        _arcs_field(straight, radii, height, part, angles, field)
        if straight > 0.0:
            _straights_field(straight, radii, height, part, field)
    out /= 4.0 * math.pi * height
    return out


def faces_potential(straight: float, radii: Floats, height: float, points: Floats, angles: int) -> Floats:
    """psi (r, n) of the two charged faces alone. Arguments as `sheet_field`, not checked."""
    out = np.empty((radii.size, len(points)))
    step = max(1, _BLOCK // max(1, radii.size))
    for start in range(0, len(points), step):
        part = points[start : start + step]
        psi = out[:, start : start + step]
        psi[...] = _arcs_potential(straight, radii, height, part, angles)
        if straight > 0.0:
            psi += _straights_potential(straight, radii, height, part)
    out /= 4.0 * math.pi * height
    return out


def _plan(straight: float, radii: Floats, points: Floats, angles: int) -> tuple[Floats, Floats, Floats]:
    """Plan geometry of points and angles: distance across the sheet and square of the whole distance, (q, r n) each.

    And (3, q): weight, weight cos, weight sin. The long axis comes last, as numpy is quickest along it.
    """
    cos, sin, weight, centre = half_circles(straight, angles)
    x = points[:, 0] - centre[:, None]
    y = points[:, 1]
    turn = (x * cos[:, None] + y * sin[:, None])[:, None, :] - radii[:, None]
    rho2 = turn * turn
    rho2 += ((y * cos[:, None] - x * sin[:, None]) ** 2)[:, None, :]
    return turn.reshape(len(cos), -1), rho2.reshape(len(cos), -1), np.stack([weight, weight * cos, weight * sin])


def _arcs_field(straight: float, radii: Floats, height: float, points: Floats, angles: int, field: Floats) -> None:
    """Write the arcs' part of H times 4 pi h to `field` (r, n, 3)."""
    turn, rho2, rules = _plan(straight, radii, points, angles)  # turn = -(tx Y - ty X) for the tangent (-sin, cos)
    shape = (radii.size, len(points))
    hz = np.zeros(shape)
    q = np.zeros_like(rho2)
    s, both = np.empty_like(rho2), np.empty_like(rho2)
    for sign, edge in ((1.0, -0.5 * height), (-1.0, 0.5 * height)):  # u+ belongs to the lower edge of the sheet
        u = points[:, 2] - edge
        high = np.tile(np.abs(u), radii.size)
        np.add(rho2, high * high + _TINY, out=s)
        np.sqrt(s, out=s)
        np.add(s, high, out=both)
        s *= both
        np.divide(1.0, s, out=s)  # 1/(S (S + |u|)) is sgn(u) (|u|/S - 1)/rho^2 without the cancellation
        both *= s  # 1/S
        q -= sign * both
        s *= turn
        hz += (sign * np.sign(u)) * (rules[0] @ s).reshape(shape)
    field[:, :, :2] = (rules[1:] @ q).reshape(2, *shape).transpose(1, 2, 0)
    field[:, :, 2] = hz
    field *= radii[:, None, None]


def _straights_field(straight: float, radii: Floats, height: float, points: Floats, field: Floats) -> None:
    """Add the straights' part of H times 4 pi h to `field` (r, n, 3)."""
    half = 0.5 * straight
    side = np.array([1.0, -1.0])[:, None, None]  # +1 at y = -r, run toward +x; -1 at y = +r
    y = points[:, 1] + side * radii[:, None]  # (2, r, n)
    y2 = y * y
    for end, x in ((1.0, points[:, 0] + half), (-1.0, points[:, 0] - half)):
        rho2 = x * x + y2
        xy = x * y
        for face, edge in ((1.0, -0.5 * height), (-1.0, 0.5 * height)):
            u = points[:, 2] - edge
            high = np.abs(u)
            w2 = y2 + u * u
            s = np.sqrt(w2 + x * x)
            # atan(X u/(Y S)) - sgn(u) atan(X/Y) as one angle
            angle = np.arctan2(xy * rho2 / np.maximum(s + high, _TINY), y2 * s + x * x * high)
            log = np.arcsinh(x / np.maximum(np.sqrt(w2), _TINY))
            field[:, :, 2] -= (end * face * np.sign(u)) * (angle[0] - angle[1])
            field[:, :, 1] += (end * face) * (log[0] - log[1])


def _arcs_potential(straight: float, radii: Floats, height: float, points: Floats, angles: int) -> Floats:
    """The arcs' part of psi times 4 pi h, (r, n)."""
    turn, rho2, rules = _plan(straight, radii, points, angles)
    shape = (radii.size, len(points))
    psi = np.zeros(shape)
    s = np.empty_like(rho2)
    for sign, edge in ((1.0, -0.5 * height), (-1.0, 0.5 * height)):
        high = np.tile(np.abs(points[:, 2] - edge), radii.size)
        np.add(rho2, high * high + _TINY, out=s)
        np.sqrt(s, out=s)
        s += high
        np.divide(turn, s, out=s)  # 1/(S + |u|) is (S - |u|)/rho^2 without the cancellation
        psi += sign * (rules[0] @ s).reshape(shape)
    psi *= radii[:, None]
    return psi


def _straights_potential(straight: float, radii: Floats, height: float, points: Floats) -> Floats:
    """The straights' part of psi times 4 pi h, (r, n)."""
    half = 0.5 * straight
    side = np.array([1.0, -1.0])[:, None, None]
    y = points[:, 1] + side * radii[:, None]
    y2 = y * y
    psi = np.zeros((radii.size, len(points)))
    for end, x in ((1.0, points[:, 0] + half), (-1.0, points[:, 0] - half)):
        rho2 = x * x + y2
        xy = x * y
        for face, edge in ((-1.0, -0.5 * height), (1.0, 0.5 * height)):
            u = points[:, 2] - edge
            high = np.abs(u)
            w2 = y2 + u * u
            s = np.sqrt(w2 + x * x)
            angle = np.arctan2(xy * rho2 / np.maximum(s + high, _TINY), y2 * s + x * x * high)
            part = side * (y * np.arcsinh(x / np.maximum(np.sqrt(w2), _TINY)) - high * angle)
            psi += (end * face) * (part[0] + part[1])
    return psi
