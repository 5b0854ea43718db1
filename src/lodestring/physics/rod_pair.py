"""What one rod's surface charge does to another rod beside it, both upright.

Every node ring is replaced by point charges at equally spaced angles; the field normal to the other rod is averaged
over the angles of its node rings. The block depends on the two shapes, the distance of the axes and the difference in
height alone. Beside the average (m = 0) the harmonics m = 1, 2, 3 round the target's side are kept, and what a source
that varies as cos(m beta) does to the target's average: both are needed for the charge that a neighbour draws to one
side.

In the block's own frame the source stands at +x from the target. For a source in the direction theta the cosine
harmonic turns into cos(m theta), sin(m theta) parts; mirror symmetry leaves no other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lodestring.physics.ring import Array
from lodestring.physics.rod_mesh import RodShape, rod_mesh

HARMONICS = (1, 2, 3)
CLOSE, VERY_CLOSE, LOOSE = 1.6, 1.3, 6.0
"""Distance of the axes over the mean diameter at which more, many more, or fewer angles are taken."""


@dataclass(frozen=True)
class PairBlock:
    """(n, n) normal field on the target's nodes per charge density of the source's nodes.

    `mean`: m = 0 from m = 0. `draws` (3, n, n): harmonic m of the target from m = 0 of the source, on side nodes.
    `leans` (3, n, n): m = 0 of the target from a source charge cos(m beta).
    """

    mean: Array
    draws: Array
    leans: Array


def angles_for(distance: float, diameter: float) -> int:
    """How many angles the ring is cut into."""
    ratio = distance / diameter
    return 32 if ratio < VERY_CLOSE else 16 if ratio < CLOSE else 8 if ratio < LOOSE else 4


@lru_cache(maxsize=512)
def pair_block(target: RodShape, source: RodShape, distance: float, rise: float) -> PairBlock:
    """The block of a source whose axis is `distance` away and whose middle is `rise` above the target's middle [m]."""
    to, of = rod_mesh(target), rod_mesh(source)
    count = max(angles_for(distance, target.radius + source.radius), 8)
    beta = (np.arange(count) + 0.5) * 2.0 * np.pi / count
    alpha = beta[: count // 2]  # the other half is its mirror image
    tx, ty = to.rho[:, None] * np.cos(alpha), to.rho[:, None] * np.sin(alpha)
    sx, sy = distance + of.rho[:, None] * np.cos(beta), of.rho[:, None] * np.sin(beta)
    dx = tx[:, :, None, None] - sx
    dy = ty[:, :, None, None] - sy
    dz = (to.z[:, None] - of.z[None, :] - rise)[:, None, :, None]
    r3 = (dx * dx + dy * dy + dz * dz) ** 1.5
    outward = dx * np.cos(alpha)[None, :, None, None] + dy * np.sin(alpha)[None, :, None, None]
    normal = (outward * to.n_rho[:, None, None, None] + dz * to.n_z[:, None, None, None]) / (4.0 * np.pi * r3)
    normal *= of.area[None, None, :, None]
    flat = normal.mean(axis=3)  # (target, alpha, source): source without harmonics
    mean = flat.mean(axis=1)
    draws = np.stack([2.0 * np.einsum("ias,a->is", flat, np.cos(m * alpha)) / len(alpha) for m in HARMONICS])
    leans = np.stack([np.einsum("iasb,b->is", normal, np.cos(m * beta)) / normal[0, :, 0].size for m in HARMONICS])
    weight = to.area / to.area.sum()
    blocks = [mean - weight @ mean, draws * to.side[:, None], leans - np.einsum("i,mis->ms", weight, leans)[:, None]]
    for block in blocks:
        block.flags.writeable = False
    return PairBlock(*blocks)
