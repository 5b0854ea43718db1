"""Coils as the circuit sees them: impedance at every frequency, what they pick up.

Inductance at a frequency is that at low frequency times what eddy currents leave of it (eddy_blocks); covers,
baseplates and closed foils of metal take their share as coupled loops.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lodestring.assess import blocks, pole_blocks
from lodestring.assess.eddy_blocks import FREQUENCIES, eddy
from lodestring.assess.model import Model
from lodestring.physics.coil import moment, mutual_inductance
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array


@dataclass(frozen=True)
class CoilBranches:
    """The coils of a pickup as coupled branches, finish against start: `impedance` (k, k, f) [ohm], `resistance` (k,)
    at 20 C."""

    names: tuple[str, ...]
    impedance: Numbers
    resistance: Array


def winding_sign(model: Model, pickup: str, coil: str) -> int:
    """+1 for a coil wound anticlockwise from start to finish, seen from the strings."""
    return 1 if blocks.coil_of(model, pickup, coil).wound == "anticlockwise" else -1


def mutual_air(model: Model, pickup: str) -> float:
    """Mutual inductance of a pickup's two coils without pole pieces, per turn of each, both wound alike [H]."""
    one, other = blocks.sides(model.inputs.design.pickup[pickup])
    first, second = (pole_blocks.winding(model, pickup, c) for c in (one, other))
    offset = tuple(b - a for a, b in zip(first.place, second.place, strict=True))
    return model.store.kept_as(
        ("mutual_step", (first.box, second.box, offset)),
        "mutual_step",
        lambda: mutual_inductance(first.box, second.box, (offset[0], offset[1], offset[2])),
    )


def branches(model: Model, pickup: str) -> CoilBranches:
    """The coils of a pickup that is to be made."""

    def make() -> CoilBranches:
        names = blocks.sides(model.inputs.design.pickup[pickup])
        k = len(names)
        left = eddy(model, pickup)
        omega = 2.0 * np.pi * FREQUENCIES
        turns = [float(blocks.coil_of(model, pickup, c).turns) * winding_sign(model, pickup, c) for c in names]
        impedance = np.zeros((k, k, len(FREQUENCIES)), complex)
        for i, one in enumerate(names):
            for j, other in enumerate(names[: i + 1]):
                air = pole_blocks.air(model, pickup, one) if i == j else mutual_air(model, pickup)
                part = pole_blocks.pole_part(model, pickup, one, other).real * left.poles[:, j, i]
                both = turns[i] * turns[j] * (air + part + left.sheets[:, j, i])
                impedance[i, j] = impedance[j, i] = 1j * omega * both
            impedance[i, i] += blocks.copper(model, pickup, one).resistance
        resistance = np.array([blocks.copper(model, pickup, c).resistance for c in names])
        return CoilBranches(names, impedance, resistance)

    return model.block(("branches", pickup), make)


def hum_moment(model: Model, pickup: str, coil: str) -> Numbers:
    """(f,) a uniform field's share in a coil, finish against start, with its sign by the winding sense [V s/T]."""

    def make() -> Numbers:
        left, k = eddy(model, pickup), blocks.sides(model.inputs.design.pickup[pickup]).index(coil)
        air = moment(pole_blocks.winding(model, pickup, coil).box)
        poles = pole_blocks.dipole(model, pickup, coil) - air
        turns = float(blocks.coil_of(model, pickup, coil).turns) * winding_sign(model, pickup, coil)
        found: Numbers = turns * (air + poles * left.moment[:, k] + left.sheet_moment[:, k])
        return found

    return model.block(("hum moment", pickup, coil), make)


def string_share(model: Model, pickup: str, coil: str) -> Numbers:
    """(f,) what eddy currents leave of the strings' share in a coil."""
    share: Numbers = eddy(model, pickup).signal[:, blocks.sides(model.inputs.design.pickup[pickup]).index(coil)]
    return share


__all__ = ["FREQUENCIES", "CoilBranches", "branches", "hum_moment", "mutual_air", "string_share", "winding_sign"]
