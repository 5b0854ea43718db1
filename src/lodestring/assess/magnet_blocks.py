"""Magnets as magnetics sees them: their state, their effective remanence, a face reading in place of both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lodestring.assess import blocks, pole_blocks, pole_bodies
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input, given_input
from lodestring.design.coil import Face
from lodestring.design.fields import at
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.inductance import remanence_charge
from lodestring.physics.magnet_state import (
    MagnetBlade,
    MagnetCurve,
    MagnetRod,
    Upright,
    effective_remanence,
    rod_states,
)
from lodestring.physics.one_thread import one_thread
from lodestring.physics.pole_field import field_operator
from lodestring.physics.poles import MU0
from lodestring.reference import magnet


def charged(model: Model, pickup: str) -> bool:
    """Whether any magnet of the pickup, rod or bar, is charged."""
    if model.inputs.design.pickup[pickup].bar:
        return True
    for coil in (model.inputs.design.pickup[pickup].coil or {}).values():
        body, state = coil.poles.body, coil.poles.state
        states = state if isinstance(state, tuple) else (state,)
        if body is not None and body.kind == "magnet" and any(s != "uncharged" for s in states):
            return True
    return False


DIRECTIONS = {"+z": (0.0, 0.0, 1.0), "-z": (0.0, 0.0, -1.0), "+y": (0.0, 1.0, 0.0), "-y": (0.0, -1.0, 0.0)}


Vector = tuple[float, float, float]


def rod_remanences(model: Model, pickup: str) -> tuple[float, ...]:
    """Effective remanence [T] of every rod of a pickup, in the order of `poles_in`; 0 for steel and uncharged ones."""
    found: list[float] = []
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        if pole_bodies.coil_blade(model.nominal(), pickup, coil) is None:
            found += remanences(model, pickup)[coil]
    return tuple(found)


def box_remanences(model: Model, pickup: str) -> tuple[Vector, ...]:
    """Remanence [T] of each box of a pickup, a vector, in the order of `poles_in`: blades, bars, a steel baseplate."""
    blades = [
        (0.0, 0.0, remanences(model, pickup)[coil][0])
        for coil in blocks.sides(model.inputs.design.pickup[pickup])
        if pole_bodies.coil_blade(model.nominal(), pickup, coil) is not None
    ]
    return (*blades, *_bar_remanences(model, pickup))


def _bar_remanences(model: Model, pickup: str) -> tuple[Vector, ...]:
    """The same of the bars, by the catalogue, and of a steel baseplate, none."""
    record = model.inputs.design.pickup[pickup]
    found: list[Vector] = []
    for bar in (record.bar or {}).values():
        strength = magnet(bar.grade).remanence.nominal
        x, y, z = DIRECTIONS[bar.magnetised]
        found.append((x * strength, y * strength, z * strength))
    if pole_bodies.steel_plate(model, pickup) is not None:
        found.append((0.0, 0.0, 0.0))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class MagnetsIn:
    """The magnets of a pickup, all in each other's field."""

    magnets: tuple[Upright, ...]


def magnets_step(given: MagnetsIn) -> tuple[float, ...]:
    """Effective remanence [T] of each, + for north up."""
    with one_thread():
        return tuple(effective_remanence(s, m) for s, m in zip(rod_states(given.magnets), given.magnets, strict=True))


def remanences(model: Model, pickup: str) -> dict[str, tuple[float, ...]]:
    """Effective remanence [T] of every pole piece by coil, a blade's the only one; 0 for steel and uncharged ones."""

    def make() -> dict[str, tuple[float, ...]]:
        return {c: _of_coil(model, pickup, c) for c in blocks.sides(model.inputs.design.pickup[pickup])}

    return model.block(("remanences", pickup), make)


def _of_coil(model: Model, pickup: str, coil: str) -> tuple[float, ...]:
    record = blocks.coil_of(model, pickup, coil)
    body = record.poles.body
    if body is None or body.kind != "magnet":
        return (0.0,) * pole_blocks.pieces(model.nominal(), pickup, coil)
    spread = model.read(
        f"magnet.{body.grade}.strength",
        lambda: Input(f"magnet.{body.grade}.strength", 1.0, 0.85, 1.15, "assumed",
                      "curve of the grade; the piece at hand may be stronger or weaker",
                      "read the face of each pole piece 0.5 mm off and write state = { face = ... }"),
    )  # fmt: skip
    natural = natural_remanences(model.nominal(), pickup)[coil]
    out = []
    for i, value in enumerate(natural):
        state = at(record.poles.state, i)
        if isinstance(state, Face):
            face = state.face.value * _probe(model, pickup, coil)
            out.append(face / face_per_tesla(model.nominal(), pickup, coil, i) * (1.0 if value > 0.0 else -1.0))
        else:
            out.append(0.0 if state == "uncharged" else value * spread)
    return tuple(out)


def _probe(model: Model, pickup: str, coil: str) -> float:
    """Factor on a coil's face readings: one probe, held alike over every pole piece, is off alike over all of them."""
    path = f"{blocks.coil_path(pickup, coil)}.poles.state.face"
    state = blocks.coil_of(model, pickup, coil).poles.state

    def make() -> Input:
        readings = [s.face for s in (state if isinstance(state, tuple) else (state,)) if isinstance(s, Face)]
        read = [given_input(path, reading) for reading in readings]
        off = max((i.high - i.value) / i.value for i in read)
        return Input(path, 1.0, 1.0 - off, 1.0 + off, read[0].basis, read[0].why, read[0].narrow)

    return model.read(path, make)


def natural_remanences(model: Model, pickup: str) -> dict[str, tuple[float, ...]]:
    """What each magnet keeps of its remanence among all magnets of the pickup, by coil; charged, no face reading."""

    def make() -> dict[str, tuple[float, ...]]:
        out: dict[str, tuple[float, ...]] = {}
        magnets: list[Upright] = []
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            magnets += upright_magnets(model, pickup, coil)
        values = model.store.kept(magnets_step, MagnetsIn(tuple(magnets))) if magnets else ()
        start = 0
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            count = len(upright_magnets(model, pickup, coil))
            out[coil] = values[start : start + count]
            start += count
        return out

    return model.block(("natural", pickup), make)


def upright_magnets(model: Model, pickup: str, coil: str) -> list[Upright]:
    """The magnets of one coil, rods or a blade."""
    record = blocks.coil_of(model, pickup, coil)
    body, up = record.poles.body, record.poles.up
    if body is None or body.kind != "magnet" or up is None:
        return []
    grade = magnet(body.grade)
    energy = grade.energy_product or grade.remanence
    curve = MagnetCurve(
        grade.remanence.nominal, grade.coercivity_b.nominal, energy.nominal, grade.recoil_permeability.nominal
    )
    blade = pole_bodies.coil_blade(model, pickup, coil)
    if blade is not None:
        (x, y, z), (long, thick, upright) = blade.centre, blade.size
        return [MagnetBlade(x, y, z, upright, long, thick, curve, 1 if at(up, 0) == "north" else -1)]
    return [
        MagnetRod(r.x, r.y, r.z, r.length, r.radius, curve, 1 if at(up, i) == "north" else -1)
        for i, r in enumerate(pole_bodies.coil_rods(model, pickup, coil))
    ]


def alone(model: Model, pickup: str, coil: str, index: int) -> float:
    """Effective remanence [T] of one magnet by itself, away from its neighbours."""
    one = upright_magnets(model, pickup, coil)[index]
    return model.store.kept(magnets_step, MagnetsIn((one,)))[0]


PROBE = 0.5e-3
"""A face reading is taken this far off the face [m]."""


def face_per_tesla(model: Model, pickup: str, coil: str, index: int) -> float:
    """Field [T] 0.5 mm over one pole piece per tesla of remanence, every magnet of the pickup with its own share."""
    given = pole_bodies.poles_in(model, pickup)
    if given is None:
        raise ValueError("asked only where there are pole pieces")
    natural = natural_remanences(model, pickup)
    x, y, top = _faces(model, pickup, coil)[index]
    point = np.array([[x, y, top + PROBE]])
    solved = pole_blocks.system(model, given)
    with one_thread():
        operator = solved.field_operator(point) if isinstance(solved, MagneticSystem) else field_operator(solved, point)
        b = MU0 * operator[0, 2] @ remanence_charge(solved, *_natural_vectors(model, pickup))
    return float(b) / natural[coil][index]


def _faces(model: Model, pickup: str, coil: str) -> list[Vector]:
    """Middle of the upper face of each pole piece of a coil [m]."""
    blade = pole_bodies.coil_blade(model, pickup, coil)
    if blade is not None:
        return [(blade.centre[0], blade.centre[1], float(blade.high[2]))]
    return [(r.x, r.y, r.z + r.length / 2) for r in pole_bodies.coil_rods(model, pickup, coil)]


def _natural_vectors(model: Model, pickup: str) -> tuple[list[float], list[Vector]]:
    """Remanence of every rod and every box with all magnets charged."""
    natural = natural_remanences(model, pickup)
    rods: list[float] = []
    blades: list[Vector] = []
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        values = natural[coil] or (0.0,) * pole_blocks.pieces(model, pickup, coil)
        if pole_bodies.coil_blade(model, pickup, coil) is None:
            rods += values
        else:
            blades.append((0.0, 0.0, values[0]))
    return rods, [*blades, *_bar_remanences(model, pickup)]
