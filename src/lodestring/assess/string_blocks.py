"""Strings over pickups: design record + named inputs -> lines, fields, results, one string and one pickup at a time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from lodestring.assess import blocks, magnet_blocks, pole_blocks, pole_bodies
from lodestring.assess.model import Model
from lodestring.assess.pole_steps import Response, WindingIn
from lodestring.assess.uncertainty import Input, given_input
from lodestring.design.instrument import String
from lodestring.design.pickup import Gap
from lodestring.errors import DomainError
from lodestring.layout.string_heights import HeightsIn, lift_to_rest, string_centres
from lodestring.layout.string_lines import axis_through, crossings, string_lines
from lodestring.physics.inductance import System, remanence_charge
from lodestring.physics.one_thread import one_thread
from lodestring.physics.poles import Numbers
from lodestring.physics.string_field import StringShape
from lodestring.physics.string_run import Line, LineFields, Source, StringResult, line_fields, string_result
from lodestring.reference import magnet, string_material

FIELDS_SIZE, RESULT_SIZE = 300_000, 10_000
"""Bytes the fields along one string, and what follows from them, are reckoned at."""
WRAP_FILL = math.pi / 4.0
"""Share of the wrap's ring that is metal: round wire laid side by side."""


def heard(model: Model, pickup: str) -> bool:
    """Whether the strings over this pickup can be computed: it is to be made, gap given, pole pieces or bars there."""
    record = model.inputs.design.pickup[pickup]
    return record.gap is not None and bool(record.coil) and pole_bodies.poles_in(model, pickup) is not None


def served(model: Model, pickup: str) -> tuple[int, ...]:
    """Indices (from 0) of the strings that some coil of the pickup serves."""
    coils = blocks.sides(model.inputs.design.pickup[pickup])
    return tuple(sorted({i for c in coils for i in blocks.served(model, pickup, c)}))


# ---- strings ----


def _steel(model: Model, what: str) -> float:
    name = f"string.steel.{what}"

    def make() -> Input:
        steel = string_material("steel")
        spread = steel.saturation if what == "saturation" else steel.relative_permeability
        found = spread if spread is not None else steel.saturation
        why = (
            "saturation of string steel"
            if what == "saturation"
            else "permeability of drawn string steel in weak fields"
        )
        return Input(name, found.nominal, found.low, found.high, "assumed", why, "", steel.rows)

    return model.read(name, make)


def wrap_share(model: Model) -> float:
    """How much of a magnetic wrap's section carries flux along the string, against the core's."""
    return model.read(
        "string.wrap.share",
        lambda: Input("string.wrap.share", 0.25, 0.05, 0.6, "assumed",
                      "turns of the wrap touch side by side: flux along the string must cross from turn to turn"),
    )  # fmt: skip


def shape_of(model: Model, string: String) -> StringShape:
    """A string as a magnetic body."""
    core = string.diameter.value if string.core is None else string.core.value
    area = math.pi * core**2 / 4.0
    saturation = _steel(model, "saturation")
    if string.wrap is not None and string.core is not None:
        wrap = string_material(string.wrap)
        ring = math.pi * (string.diameter.value**2 - core**2) / 4.0 * WRAP_FILL
        if wrap.saturation.nominal > 0.0:
            area += ring * wrap_share(model) * wrap.saturation.nominal / saturation
    return StringShape(area, string.diameter.value / 2.0, _steel(model, "permeability") - 1.0, saturation)


def mass_per_length(string: String) -> float:
    """Mass per length [kg/m]: as given, else from core and wrap."""
    if string.mass is not None:
        return string.mass.value
    core = string.diameter.value if string.core is None else string.core.value
    mass = string_material("steel").density.nominal * math.pi * core**2 / 4.0
    if string.wrap is not None:
        ring = math.pi * (string.diameter.value**2 - core**2) / 4.0 * WRAP_FILL
        mass += string_material(string.wrap).density.nominal * ring
    return mass


def lines(model: Model, pickup: str) -> tuple[Line, ...]:
    """Every string of the instrument as it runs at rest over a pickup, gap as measured."""

    def make() -> tuple[Line, ...]:
        nominal = model.nominal()
        instrument, record = model.inputs.design.instrument, model.inputs.design.pickup[pickup]
        coils = blocks.sides(record)
        here = nominal.block(("strings on axis", pickup), lambda: _on_axis(nominal, pickup))
        tops = [_top_under(nominal, pickup, x) for x, _ in here]
        gap = record.gap
        if gap is None:
            return ()
        count = len(instrument.strings)
        place = sum(blocks.place_of(nominal, pickup)) / 2
        lift = [0.0] * count
        if gap.when == "last fret pressed" and instrument.frets:
            for i in range(count):
                action = _action(nominal, i, count)
                lift[i] = lift_to_rest(action, place, instrument.scale.value, instrument.frets)
        shift = model.read(f"pickup.{pickup}.gap", lambda: _gap_input(pickup, gap))
        heights = HeightsIn(
            tuple(x for x, _ in here),
            tuple(tops),
            gap.first.value + shift,
            gap.last.value + shift,
            0.0 if instrument.radius == "flat" else instrument.radius.value,
            tuple(lift),
            tuple(s.diameter.value for s in instrument.strings),
        )
        rows = tuple(sorted({round(blocks.coil_offset(nominal, pickup, c), 6) for c in coils}))
        return tuple(Line(x, z, run, rows) for (x, run), z in zip(here, string_centres(heights), strict=True))

    return model.block(("lines", pickup), make)


def _gap_input(pickup: str, gap: Gap) -> Input:
    """How far both gaps may be off together [m]: one input, so that strings are followed at two more heights only."""
    first, last = (
        given_input(f"pickup.{pickup}.gap.{end}", q) for end, q in (("first", gap.first), ("last", gap.last))
    )
    half = max(i.high - i.value for i in (first, last))
    return Input(f"pickup.{pickup}.gap", 0.0, -half, half, first.basis, first.why, first.narrow)


def over_poles(model: Model, pickup: str) -> tuple[tuple[Line, float], ...]:
    """Each string's line and the height of the pole top nearest under it."""
    return tuple((line, _top_under(model, pickup, line.x)) for line in lines(model, pickup))


def _on_axis(model: Model, pickup: str) -> tuple[tuple[float, float], ...]:
    """(x, sideways run) of each string where it crosses the pickup's long axis."""
    far = 10e-3
    coil = blocks.sides(model.inputs.design.pickup[pickup])[0]
    given = string_lines(blocks.strings_in(model))
    axis = axis_through(given, *blocks.place_of(model, pickup))
    near, above, below = (crossings(given, axis, v) for v in (0.0, far, -far))
    at_coil = blocks.crossings(model, pickup, coil)
    plain = crossings(given, axis, blocks.coil_offset(model, pickup, coil))
    return tuple(
        (x + tape - coil_x, (up - down) / (2 * far))
        for x, up, down, tape, coil_x in zip(near, above, below, at_coil, plain, strict=True)
    )


def _top_under(model: Model, pickup: str, x: float) -> float:
    """Height of the pole top nearest to x, over the top plate; of two as near the lower, and 0 without pole pieces."""
    tops = pole_bodies.tops(model, pickup, x)
    return min(tops)[1] if tops else 0.0


def _action(model: Model, index: int, count: int) -> float:
    """Height of an open string over fret 12 [m]; 1.8 mm where none is given."""
    action = model.inputs.design.instrument.action
    if action is None:
        return 1.8e-3
    share = index / (count - 1) if count > 1 else 0.0
    return action.first.value + share * (action.last.value - action.first.value)


# ---- fields and results ----


@dataclass(frozen=True, slots=True)
class FieldsIn:
    """What the fields along a string depend on."""

    poles: pole_bodies.PolesIn
    line: Line
    remanence: tuple[float, ...]
    windings: tuple[WindingIn, ...]
    area: float
    boxes: tuple[tuple[float, float, float], ...]


def fields_key(model: Model, pickup: str, number: int) -> FieldsIn:
    """The record behind `fields`."""

    def make() -> FieldsIn:
        nominal = model.nominal()
        given = pole_bodies.poles_in(nominal, pickup)
        if given is None:
            raise DomainError("strings are followed over pole pieces", f"pickup {pickup} without any")
        names = blocks.sides(model.inputs.design.pickup[pickup])
        return FieldsIn(
            given,
            lines(model, pickup)[number],
            magnet_blocks.rod_remanences(nominal, pickup),
            tuple(pole_blocks.winding(nominal, pickup, c) for c in names),
            shape_of(nominal, model.inputs.design.instrument.strings[number]).area,
            magnet_blocks.box_remanences(nominal, pickup),
        )

    return model.block(("fields key", pickup, number), make)


def fields(model: Model, pickup: str, given: FieldsIn) -> LineFields:
    """Fields along a string at the five positions."""
    names = blocks.sides(model.inputs.design.pickup[pickup])
    found = tuple(pole_blocks.response(model.nominal(), pickup, c) for c in names)
    solved, magnets = pole_blocks.system(model, given.poles), magnets_charge(model, given)
    return model.store.kept_as(
        ("line_fields", given), "line_fields", lambda: _line_fields(solved, magnets, given, found), FIELDS_SIZE
    )


def magnets_charge(model: Model, given: FieldsIn) -> Numbers:
    """Charge on the pole pieces from the magnets, the same for every string of a pickup."""

    def make() -> Numbers:
        with one_thread():
            return remanence_charge(pole_blocks.system(model, given.poles), given.remanence, given.boxes)

    return model.store.kept_as(("magnets_charge", (given.poles, given.remanence, given.boxes)), "magnets_charge", make)


def _line_fields(solved: System, magnets: Numbers, given: FieldsIn, found: tuple[Response | None, ...]) -> LineFields:
    with one_thread():
        sources = tuple(
            Source(w.box, w.place, np.zeros(solved.count) if r is None else r.answer.sigma)
            for w, r in zip(given.windings, found, strict=True)
        )
        return line_fields(solved, magnets, sources, given.line, given.area)


@dataclass(frozen=True, slots=True)
class ResultIn:
    """What a string's result depends on beside its fields."""

    shape: StringShape
    strength: float


def result(model: Model, pickup: str, number: int) -> StringResult:
    """What string `number` (from 0) gives over a pickup."""
    return model.block(
        ("result", pickup, number), lambda: _result(model, pickup, number, fields_key(model, pickup, number))
    )


def result_at(model: Model, pickup: str, number: int, x: float) -> StringResult:
    """What string `number` would give, were it to cross the pickup's axis at x [m]."""
    given = fields_key(model, pickup, number)
    return _result(model, pickup, number, replace(given, line=replace(given.line, x=x)))


def result_raised(model: Model, pickup: str, number: int, rise: float) -> StringResult:
    """What string `number` would give, were it `rise` higher than at rest [m]."""
    given = fields_key(model, pickup, number)
    return _result(model, pickup, number, replace(given, line=replace(given.line, z=given.line.z + rise)))


def _result(model: Model, pickup: str, number: int, along: FieldsIn) -> StringResult:
    found = fields(model, pickup, along)
    given = ResultIn(shape_of(model, model.inputs.design.instrument.strings[number]), _strength(model, pickup))

    def run() -> StringResult:
        with one_thread():
            return string_result(given.shape, found, given.strength)

    return model.store.kept_as(("string_result", (along, given)), "string_result", run, RESULT_SIZE)


def _strength(model: Model, pickup: str) -> float:
    """How strong the magnets are against the unshifted model: 1, or the end of their interval."""
    ratios = [
        now / before
        for now, before in zip(
            _all(magnet_blocks.remanences(model, pickup)),
            _all(magnet_blocks.remanences(model.nominal(), pickup)),
            strict=True,
        )
        if before
    ]
    return math.fsum(ratios) / len(ratios) if ratios else _bar_strength(model, pickup)


def _all(by_coil: dict[str, tuple[float, ...]]) -> tuple[float, ...]:
    return tuple(v for values in by_coil.values() for v in values)


def _bar_strength(model: Model, pickup: str) -> float:
    """How strong the bars are against the catalogue's typical figure: 1, or the end of its interval."""
    names = [b.grade for b in (model.inputs.design.pickup[pickup].bar or {}).values()]
    if not names:
        return 1.0
    name = f"magnet.{names[0]}.strength"

    def make() -> Input:
        grade = magnet(names[0])
        low, high = (v / grade.remanence.nominal for v in (grade.remanence.low, grade.remanence.high))
        narrow = "read the field over a pole piece"
        return Input(name, 1.0, low, high, "catalogue", "remanence of the bar's grade", narrow, grade.rows)

    return model.read(name, make)
