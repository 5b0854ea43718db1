"""What a rod's charge does to a rectangular body, and the body's charge to the rod.

From afar the rings of the rod and the nodes of the panels meet as point charges. Where a ring is near a panel, the
panel's exact field (box.py) at many points of the ring takes their place; by reciprocity the same numbers are the
ring's flux, weighted with each node's function, so the flux that leaves a disc for the face under it is counted right
even where they nearly touch. The net flux of an outside charge into a closed body is zero, and is made so.

The block depends on shapes and offset alone. A box and its mesh have mirror planes x and y, so blocks are kept for a
rod at x, y >= 0 from the box's middle and mirrored for the others.

Bodies that touch are taken to be `LEAST_GAP` apart: see there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lodestring.physics.box import Face, face_field
from lodestring.physics.panels import BoxShape, PanelMesh, panel_mesh
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array
from lodestring.physics.rod_mesh import RodMesh, RodShape, rod_mesh
from lodestring.physics.rod_pair import HARMONICS

FAR_ANGLES, MID_ANGLES, NEAR_ANGLES = 8, 8, 32
NEAR = 0.7
"""A ring further than this many panel lengths sees the panel as its four nodes."""
LEAST_GAP = 1e-6
"""Metres. Which side of a face a ring on it lies on would be chance: so bodies that touch count as this far apart.
Against real contact it costs about 2e-4 of a bar magnet's flux through rods on it; a real gap of 0.05 mm costs 1 %."""


@dataclass(frozen=True)
class RodBoxBlock:
    """Normal field per charge density, for a rod at x, y >= 0. `to_rod` (n_rod, n_box): average round each ring.
    `draws` (6, n_rod, n_box): its harmonics round the side, cosines first. `to_box` (n_box, n_rod). `leans` (6, n_box,
    n_rod): from a charge cos(m phi), sin(m phi) on the rod's side."""

    to_rod: Array
    draws: Array
    to_box: Array
    leans: Array


@dataclass(frozen=True)
class Meeting:
    """A rod and a box: the block, the mirror images `order` (n_box,) of the box's nodes for a rod at negative x or y,
    and the sign (6, 1) that each harmonic takes then."""

    block: RodBoxBlock
    order: np.ndarray
    sign: Array

    @property
    def to_rod(self) -> Array:
        return np.asarray(self.block.to_rod[:, self.order])

    @property
    def to_box(self) -> Array:
        return np.asarray(self.block.to_box[self.order])

    def drawn(self, sigma: Numbers) -> Numbers:
        """Harmonics (6, n_rod) round the rod's side from the box's charge (n_box,)."""
        return np.asarray(self.sign * (self.block.draws @ sigma[self.order]))

    def leant(self, charge: Numbers) -> Numbers:
        """Normal field (n_box,) from charge (6, n_rod) round the rod's side."""
        return np.asarray(np.einsum("mij,mj->i", self.block.leans, self.sign * charge)[self.order])


def meeting(rod: RodShape, box: BoxShape, x: float, y: float, z: float) -> Meeting:
    """A rod whose middle lies at x, y, z [m] from the box's middle, not overlapping it."""
    block = _block(rod, box, abs(x), abs(y), z)
    order = panel_mesh(box).mirrored((x < 0.0, y < 0.0, False))
    m = np.array(HARMONICS)
    across = np.where(m % 2 == 1, -1.0, 1.0) if x < 0.0 else np.ones(len(m))  # phi -> pi - phi
    turned = (-across if x < 0.0 else across) * (-1.0 if y < 0.0 else 1.0)
    return Meeting(block, order, np.concatenate([across, turned])[:, None])


@lru_cache(maxsize=256)
def _block(rod: RodShape, box: BoxShape, x: float, y: float, z: float) -> RodBoxBlock:
    to, of = rod_mesh(rod), panel_mesh(box)
    at = np.array([x, y, z])
    # (angle function, rod, box): average, cos, sin
    rod_felt, box_felt = _as_points(to, of, at)
    for rows, face, numbers, angles in _near_parts(to, of, at):
        exact_rod, exact_box = _exact(to, rows, at, face, of.area[numbers], angles)
        rod_felt[:, rows[:, None], numbers] = exact_rod
        box_felt[:, rows[:, None], numbers] = exact_box
    to_rod, to_box = rod_felt[0], box_felt[0].T
    weight_rod, weight_box = to.area / to.area.sum(), of.area / of.area.sum()
    lean = box_felt[1:].transpose(0, 2, 1) * to.side
    lean = lean - np.einsum("i,mij->mj", weight_box, lean)[:, None]
    draw = 2.0 * rod_felt[1:] * to.side[:, None]
    blocks = (to_rod - weight_rod @ to_rod, draw, to_box - weight_box @ to_box, lean)
    for block in blocks:
        block.flags.writeable = False
    return RodBoxBlock(*blocks)


def _round(angles: int) -> tuple[Array, Array]:
    """Angles at the middles of equal parts, and (7, angles): 1, cos m phi, sin m phi, divided by their number."""
    phi = (np.arange(angles) + 0.5) * 2.0 * np.pi / angles
    rows = [np.ones_like(phi), *(np.cos(m * phi) for m in HARMONICS), *(np.sin(m * phi) for m in HARMONICS)]
    return phi, np.stack(rows) / angles


def _rings(to: RodMesh, rows: np.ndarray, at: Array, phi: Array) -> Array:
    """Points (rows, angles, 3) on rings, in the box's frame."""
    rho, z = to.rho[rows, None], to.z[rows, None]
    return np.stack(np.broadcast_arrays(at[0] + rho * np.cos(phi), at[1] + rho * np.sin(phi), at[2] + z), axis=-1)


def _averages(to: RodMesh, rows: np.ndarray, phi: Array, turn: Array, field: list[Array]) -> Array:
    """(7, rows, n) of the field components (rows, angles, n) along the rod's normal."""
    side = to.side[rows]
    normal = field[2] * to.n_z[rows, None, None]
    normal[side] = field[0][side] * np.cos(phi)[:, None] + field[1][side] * np.sin(phi)[:, None]
    return np.asarray(np.matmul(turn, normal)).transpose(1, 0, 2)


def _as_points(to: RodMesh, of: PanelMesh, at: Array) -> tuple[Array, Array]:
    """Both directions (7, n_rod, n_box) with every node a point charge: on the rod, on the box."""
    rows = np.arange(to.count)
    phi, turn = _round(FAR_ANGLES)
    points = _rings(to, rows, at, phi)
    apart = [points[..., k, None] - of.node[:, k] for k in range(3)]
    square = apart[0] ** 2 + apart[1] ** 2 + apart[2] ** 2
    third = 1.0 / (4.0 * np.pi * square * np.sqrt(square))
    scaled = [a * third for a in apart]
    on_rod = _averages(to, rows, phi, turn, scaled) * of.area
    through = np.concatenate(
        [-face.sign * scaled[face.axis][..., part] for face, part in zip(of.faces, of.parts, strict=True)], axis=-1
    )
    on_box = np.asarray(np.matmul(turn, through)).transpose(1, 0, 2) * to.area[:, None]
    return on_rod, on_box


def _exact(to: RodMesh, rows: np.ndarray, at: Array, face: Face, area: Array, angles: int) -> tuple[Array, Array]:
    """The same (7, rows, n_face) from the exact field of a face's panels; `area` of its nodes."""
    phi, turn = _round(angles)
    points = _rings(to, rows, at, phi)
    field = face_field(face, points.reshape(-1, 3)).reshape(*points.shape, -1)
    on_rod = _averages(to, rows, phi, turn, [field[:, :, k] for k in range(3)])
    on_box = np.asarray(np.matmul(turn, field[:, :, face.axis])).transpose(1, 0, 2)
    return on_rod, -face.sign * on_box * to.area[rows, None] / area


def _near_parts(to: RodMesh, of: PanelMesh, at: Array) -> list[tuple[np.ndarray, Face, np.ndarray, int]]:
    """For each face the rod comes near to: ring numbers, the rectangle of panels near any of them, its node numbers,
    and how many angles to take: many where a ring is nearer than half of its radius."""
    phi, _ = _round(FAR_ANGLES)
    points = _rings(to, np.arange(to.count), at, phi)
    found = []
    for face, part in zip(of.faces, of.parts, strict=True):
        u, v, w = (points[..., (face.axis + k) % 3] for k in (1, 2, 0))
        off_u = np.maximum(np.maximum(face.u[:-1] - u[..., None], u[..., None] - face.u[1:]), 0.0)
        off_v = np.maximum(np.maximum(face.v[:-1] - v[..., None], v[..., None] - face.v[1:]), 0.0)
        d2 = off_u[..., :, None] ** 2 + off_v[..., None, :] ** 2 + ((w - face.at) ** 2)[..., None, None]
        d2 = d2.min(axis=1)  # (rings, m, n)
        near = d2 < (NEAR * np.maximum(np.diff(face.u)[:, None], np.diff(face.v))) ** 2
        close = (d2 < (0.5 * to.rho[:, None, None]) ** 2) & near
        some = close.any(axis=(1, 2))
        grid = np.arange(part.start, part.stop).reshape(2 * len(face.u) - 2, 2 * len(face.v) - 2)
        for rows, angles in (
            (near.any(axis=(1, 2)) & ~some, MID_ANGLES),
            (some, NEAR_ANGLES),
        ):
            if not rows.any():
                continue
            us, vs = np.flatnonzero(near[rows].any(axis=(0, 2))), np.flatnonzero(near[rows].any(axis=(0, 1)))
            piece = Face(face.axis, face.sign, face.at, face.u[us[0] : us[-1] + 2], face.v[vs[0] : vs[-1] + 2])
            numbers = grid[2 * us[0] : 2 * us[-1] + 2, 2 * vs[0] : 2 * vs[-1] + 2].ravel()
            found.append((np.flatnonzero(rows), piece, numbers, angles))
    return found
