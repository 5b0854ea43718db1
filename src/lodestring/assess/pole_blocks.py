"""Pole pieces and coils as magnetics sees them: design record + named inputs -> rods, boxes, responses.

Positions of the pole pieces are those of the unshifted model, stretched by one named input (the row's straight length
with its own interval): so the four measures behind it do not each ask for a new solve.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import Input
from lodestring.design.coil import Body
from lodestring.design.fields import at
from lodestring.errors import CatalogueError
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch
from lodestring.physics.coil import CoilBox, air_inductance, moment
from lodestring.physics.eddy import rod_permeability
from lodestring.physics.inductance import (
    Answer,
    Place,
    SheetTable,
    System,
    Touch,
    answer,
    coil_touch,
    moment_of_poles,
    poles_inductance,
    sheet_table,
)
from lodestring.physics.panels import Box
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.reference import Magnet, Metal, magnet, metal

RESPONSE_SIZE = 60_000
TABLE_SIZE = 500_000
SYSTEM_SIZE = 4_000_000
"""Bytes a solved system of pole pieces is reckoned at."""
DEEPER = 1.3
"""A table of sheets reaches this much deeper than the coil as drawn, so that other turns and packings find it there."""


@dataclass(frozen=True, slots=True)
class PolesIn:
    """Every rod of a pickup, all coils, and its bars."""

    rods: tuple[Rod, ...]
    bars: tuple[Box, ...] = ()


def covered(model: Model, pickup: str) -> bool:
    """Whether the magnetics of this pickup are covered: rods, and bars that lie under them. Blades, bars between or
    beside rows, and steel baseplates are not yet."""
    record = model.inputs.design.pickup[pickup]
    if not record.coil or any(c.poles.layout.kind == "blade" for c in record.coil.values()):
        return False
    if record.baseplate is not None and _is_steel(record.baseplate.material):
        return False
    feet = [r.z - r.length / 2 for c in record.coil for r in coil_rods(model.nominal(), pickup, c)]
    tops = [b.centre[2].value + b.size[2].value / 2 for b in (record.bar or {}).values()]
    return not tops or (bool(feet) and max(tops) <= min(feet) + 1e-6)


def _is_steel(material: str) -> bool:
    try:
        return metal(material).relative_permeability.nominal > 1.5
    except CatalogueError:
        return False


# ---- rods ----


def straight_factor(model: Model, pickup: str, coil: str) -> float:
    """Stretch of the row of pole pieces: 1, or what the interval of its straight length makes of it."""
    path = blocks.coil_path(pickup, coil)

    def make() -> Input:
        found = model.nominal().estimate(
            ("row's length", pickup, coil), lambda m: blocks.row(m, pickup, coil).inner.s, "layout.obround", False
        )
        if found.value <= 0.0:
            return Input(f"{path}.row", 1.0, 1.0, 1.0, "computed", "one pole piece")
        low, high = found.low / found.value, found.high / found.value
        return Input(f"{path}.row", 1.0, low, high, "computed", "places of the pole pieces under the strings")

    return model.read(f"{path}.row", make)


def grade_of(body: Body) -> Magnet | Metal:
    """Catalogue row of a pole piece's material."""
    return magnet(body.grade) if body.kind == "magnet" else metal(body.grade)


def permeability(model: Model, body: Body) -> float:
    """Relative (recoil) permeability of a pole piece."""
    found = grade_of(body)
    spread = found.recoil_permeability if isinstance(found, Magnet) else found.relative_permeability
    kind = "recoil permeability" if isinstance(found, Magnet) else "permeability in weak fields"
    name = f"{body.kind}.{body.grade}.permeability"
    return model.read(
        name,
        lambda: Input(name, spread.nominal, spread.low, spread.high, "catalogue", kind,
                      "measure the inductance with the pole pieces out and in", found.rows),
    )  # fmt: skip


def coil_rods(model: Model, pickup: str, coil: str) -> tuple[Rod, ...]:
    """The rods of one coil, numbered from string 1 on."""

    def make() -> tuple[Rod, ...]:
        record = blocks.coil_of(model, pickup, coil)
        body, height = record.poles.body, record.poles.height
        if body is None or body.diameter is None or height is None:
            return ()
        path = blocks.coil_path(pickup, coil)
        row = model.nominal().block(("row", pickup, coil), lambda: blocks.row(model.nominal(), pickup, coil))
        stretch = straight_factor(model, pickup, coil)
        radius = model.given(f"{path}.poles.body.diameter", body.diameter) / 2
        mu = permeability(model, body)
        middle = row.inner.cx
        rods = []
        for i, (x, y) in enumerate(row.centres):
            length = at(body.length, i).value
            rods.append(Rod(middle + (x - middle) * stretch, y, at(height, i).value - length / 2, length, radius, mu))
        return tuple(rods)

    return model.block(("rods", pickup, coil), make)


def poles_in(model: Model, pickup: str, frequency: float = 0.0, own: str = "") -> PolesIn | None:
    """Every rod and bar of a pickup; at a frequency, with the permeability that eddy currents leave. None without rods.

    `own` names one coil: then its rods alone, without bars.
    """

    def make() -> PolesIn | None:
        rods: list[Rod] = []
        for coil in (own,) if own else blocks.sides(model.inputs.design.pickup[pickup]):
            body = blocks.coil_of(model, pickup, coil).poles.body
            mine = coil_rods(model, pickup, coil)
            if frequency and body is not None:
                conductivity = 1.0 / grade_of(body).resistivity.nominal
                mine = tuple(
                    replace(r, mu=rod_permeability(r.mu.real, conductivity, r.radius, frequency)) for r in mine
                )
            rods.extend(mine)
        return PolesIn(tuple(rods), () if own else bars(model, pickup)) if rods else None

    return model.block(("poles", pickup, frequency, own), make)


def bars(model: Model, pickup: str) -> tuple[Box, ...]:
    """The bar magnets of a pickup, as boxes."""
    found = []
    for bar in (model.inputs.design.pickup[pickup].bar or {}).values():
        mu = magnet(bar.grade).recoil_permeability.nominal
        x, y, z = (c.value for c in bar.centre)
        found.append(Box((x, y, z), (bar.size[0].value, bar.size[1].value, bar.size[2].value), mu))
    return tuple(found)


def poles_step(given: PolesIn) -> System:
    """The system of all rods and bars, solved."""
    with threadpool_limits(1):
        solved: System = MagneticSystem(given.rods, given.bars) if given.bars else PoleSystem(given.rods)
        solved.in_field(np.zeros(solved.count))
    return solved


def system(model: Model, given: PolesIn) -> System:
    """The solved system of some rods and bars."""
    return model.store.kept_as(("poles_step", given), "poles_step", lambda: poles_step(given), SYSTEM_SIZE)


# ---- coils ----


@dataclass(frozen=True, slots=True)
class WindingIn:
    """A winding: its box and the place of its middle in the pickup's frame."""

    box: CoilBox
    place: Place


def winding(model: Model, pickup: str, coil: str) -> WindingIn:
    """The winding of a coil at its own number of turns."""

    def make() -> WindingIn:
        path = blocks.coil_path(pickup, coil)
        record = blocks.coil_of(model, pickup, coil)
        row = model.nominal().block(("row", pickup, coil), lambda: blocks.row(model.nominal(), pickup, coil)).inner
        inner = blocks.row(model, pickup, coil).inner.r
        height = model.given(f"{path}.bobbin.window", record.bobbin.window)
        depth = blocks.copper(model, pickup, coil).depth_end
        top = record.bobbin.plate.thickness.value
        box = CoilBox(row.s * straight_factor(model, pickup, coil), inner, inner + depth, height)
        return WindingIn(box, (row.cx, row.cy, -top - height / 2))

    return model.block(("winding", pickup, coil), make)


@dataclass(frozen=True, slots=True)
class TableIn:
    """Sheets of one coil on the rods of its pickup, out to `most`."""

    poles: PolesIn
    straight: float
    inner: float
    most: float
    height: float
    place: Place


@dataclass(frozen=True)
class Response:
    """One coil on its pickup's pole pieces, per ampere and turn."""

    touch: Touch
    answer: Answer


def response(model: Model, pickup: str, coil: str, frequency: float = 0.0, own: str = "") -> Response | None:
    """What the pole pieces (or one coil's `own`) make of a coil; None where there are none."""

    def make() -> Response | None:
        given = poles_in(model, pickup, frequency, own)
        if given is None:
            return None
        wound = winding(model, pickup, coil)
        if given.bars:
            return model.store.kept_as(
                ("response_step", (given, wound)),
                "response_step",
                lambda: direct_step(system(model, given), wound.box, wound.place),
                RESPONSE_SIZE,
            )
        static = poles_in(model, pickup, own=own) or given
        table_in = _table_in(model, pickup, coil, static, wound)
        if model is not model.nominal() and table_in != _nominal_table(model, pickup, coil, own):
            # the geometry itself is shifted: a table would serve this once, so the coil is taken as it is
            return model.store.kept_as(
                ("response_step", (given, wound)),
                "response_step",
                lambda: direct_step(system(model, given), wound.box, wound.place),
                RESPONSE_SIZE,
            )
        table = model.store.kept_as(
            ("table_step", table_in), "table_step", lambda: table_step(system(model, static), table_in), TABLE_SIZE
        )
        return model.store.kept_as(
            ("response_step", (given, table_in, wound.box.outer)),
            "response_step",
            lambda: response_step(system(model, given), table, wound.box.outer),
            RESPONSE_SIZE,
        )

    return model.block(("response", pickup, coil, frequency, own), make)


def _nominal_table(model: Model, pickup: str, coil: str, own: str) -> TableIn | None:
    base = model.nominal()
    static = poles_in(base, pickup, own=own)
    return None if static is None else _table_in(base, pickup, coil, static, winding(base, pickup, coil))


def _table_in(model: Model, pickup: str, coil: str, poles: PolesIn, wound: WindingIn) -> TableIn:
    """The table that serves this winding and others a little shallower or deeper."""
    box, nominal = wound.box, winding(model.nominal(), pickup, coil).box
    most = nominal.inner + DEEPER * (nominal.outer - nominal.inner)
    most = max(round(most * 2e3 + 0.5) / 2e3, box.outer)  # whole half millimetres: a few turns more find the same table
    return TableIn(poles, box.straight, box.inner, most, box.height, wound.place)


def table_step(poles: System, given: TableIn) -> SheetTable:
    """The table of sheets."""
    with threadpool_limits(1):
        rods = poles if isinstance(poles, PoleSystem) else PoleSystem(poles.rods)
        return sheet_table(rods, CoilBox(given.straight, given.inner, given.most, given.height), given.place)


def direct_step(poles: System, box: CoilBox, place: Place) -> Response:
    """A coil on rods, or on rods that stand on bars, without a table."""
    with threadpool_limits(1):
        touch = bodies_touch(poles, box, place) if isinstance(poles, MagneticSystem) else coil_touch(poles, box, place)
        return Response(touch, answer(poles, touch))


def response_step(poles: System, table: SheetTable, outer: float) -> Response:
    """The winding up to `outer` from its table, and the poles' answer."""
    with threadpool_limits(1):
        touch = table.coil(outer)
        return Response(touch, answer(poles, touch))


def air_step(box: CoilBox) -> float:
    """Air inductance per turn squared [H]."""
    return air_inductance(box)


def air(model: Model, pickup: str, coil: str) -> float:
    """Air inductance of a coil per turn squared [H]."""
    return model.store.kept(air_step, winding(model, pickup, coil).box)


def pole_part(model: Model, pickup: str, one: str, other: str, frequency: float = 0.0) -> complex:
    """What the pole pieces add to the (mutual) inductance of two coils, per turn of each [H].

    At the end of an input's interval a pickup with two coils or bars is not solved anew: each coil's part goes as that
    of the coil with its own rods alone.
    """
    if model is model.nominal() or not _large(model, pickup):
        return _full_part(model, pickup, one, other, frequency)
    return _full_part(model.nominal(), pickup, one, other, frequency) * (
        _own_ratio(model, pickup, one, frequency) * _own_ratio(model, pickup, other, frequency)
    )


def _large(model: Model, pickup: str) -> bool:
    record = model.inputs.design.pickup[pickup]
    return bool(record.bar) or len(record.coil or {}) > 1


def _full_part(model: Model, pickup: str, one: str, other: str, frequency: float) -> complex:
    first, second = (response(model, pickup, c, frequency) for c in (one, other))
    given = poles_in(model, pickup, frequency)
    if first is None or second is None or given is None:
        return 0.0 + 0.0j
    return poles_inductance(system(model, given), first.answer, second.touch, second.answer)


def _own_part(model: Model, pickup: str, coil: str, frequency: float) -> complex:
    found, given = response(model, pickup, coil, frequency, coil), poles_in(model, pickup, frequency, coil)
    if found is None or given is None:
        return 0.0 + 0.0j
    return poles_inductance(system(model, given), found.answer, found.touch, found.answer)


def _own_ratio(model: Model, pickup: str, coil: str, frequency: float) -> float:
    """Root of how a coil's own rods add more or less to it than in the unshifted model."""
    before = abs(_own_part(model.nominal(), pickup, coil, frequency))
    return float((abs(_own_part(model, pickup, coil, frequency)) / before) ** 0.5) if before else 1.0


def dipole(model: Model, pickup: str, coil: str) -> float:
    """Dipole moment of a coil with its pole pieces per ampere and turn [m^2]; shifted as `pole_part`."""
    air_part = moment(winding(model, pickup, coil).box)
    if model is model.nominal() or not _large(model, pickup):
        return air_part + _dipole_part(model, pickup, coil)
    own, before = (_dipole_part(m, pickup, coil, coil) for m in (model, model.nominal()))
    return air_part + _dipole_part(model.nominal(), pickup, coil) * (own / before if before else 1.0)


def _dipole_part(model: Model, pickup: str, coil: str, own: str = "") -> float:
    given, found = poles_in(model, pickup, own=own), response(model, pickup, coil, own=own)
    return 0.0 if given is None or found is None else moment_of_poles(system(model, given), found.answer).real


def mean_permeability(model: Model, pickup: str, coil: str) -> float:
    """Permeability of a coil's pole pieces."""
    body = blocks.coil_of(model, pickup, coil).poles.body
    return 1.0 if body is None else permeability(model, body)
