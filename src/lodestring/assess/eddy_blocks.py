"""Eddy currents round a pickup's coils, at every frequency: in pole pieces, and in metal round them.

Everything here is worked out once for the unshifted model and taken as ratios or small additions; only the materials
follow an input to the ends of its interval. Sheets (cover, baseplate, closed foil) are loops that the coil drives with
the flux that the pole pieces leave at the frequency. What the pole pieces' eddy currents change of the loops is taken
in the small system of the coils: against a solve at each frequency a brass cover's part of an inductance is 1 per cent
off at 5 kHz (2 between two coils), a string's signal under it 0.5 dB, nickel silver's less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lodestring.assess import blocks, pole_blocks, pole_bodies, sheet_places, string_blocks
from lodestring.assess.model import Model
from lodestring.assess.pole_steps import WindingIn
from lodestring.assess.sheet_places import Metalwork
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil import coil_field
from lodestring.physics.eddy import plate_permeability, rod_permeability
from lodestring.physics.inductance import Answer, System, Touch
from lodestring.physics.one_thread import one_thread
from lodestring.physics.pole_field import field_operator
from lodestring.physics.pole_sweep import PoleSweep, inductance_rows, moment_row, pole_sweep
from lodestring.physics.poles import MU0, Numbers
from lodestring.physics.ring import Array
from lodestring.physics.sheet_coil import kept, sheet_touch
from lodestring.physics.sheet_modes import SheetModes, sheet_modes
from lodestring.physics.sheet_together import together

FREQUENCIES: Array = np.geomspace(20.0, 50e3, 171)
"""Where everything is worked out [Hz]: 15 points to an octave, so that a peak is found between them to 1e-4."""
FREQUENCIES.flags.writeable = False
EDDY_SIZE = 120_000
PATTERNS = 1e-2
"""A sheet keeps so many patterns of current that its part of an inductance is right to this share."""
ABOVE = 3e-3
"""Where no string is known, the field over a pole piece is taken this far over its top [m]."""


@dataclass(frozen=True, slots=True)
class Group:
    """Bodies that answer alike at every frequency: permeability, conductivity [S/m] (0: stays as it is), radius of a
    rod or thickness of a plate [m]."""

    mu: float
    conductivity: float = 0.0
    size: float = 0.0
    plate: bool = False

    def susceptibility(self, frequency: float) -> complex:
        """What is left of it at a frequency [Hz]."""
        if not self.conductivity:
            return self.mu - 1.0
        left = plate_permeability if self.plate else rod_permeability
        return left(self.mu, self.conductivity, self.size, frequency) - 1.0


def bodies(model: Model, pickup: str) -> tuple[Group, ...]:
    """What each body of a pickup is, rods first, then boxes."""

    def make() -> tuple[Group, ...]:
        rods: list[Group] = []
        blades: list[Group] = []
        for coil in blocks.sides(model.inputs.design.pickup[pickup]):
            body = blocks.coil_of(model, pickup, coil).poles.body
            if body is None:
                continue
            sigma = 1.0 / pole_bodies.grade_of(body).resistivity.nominal
            rods += [Group(r.mu.real, sigma, r.radius) for r in pole_bodies.coil_rods(model, pickup, coil)]
            blade = pole_bodies.coil_blade(model, pickup, coil)
            blades += [Group(complex(blade.mu).real, sigma, blade.size[1], True)] if blade else []
        each = rods + blades + [Group(complex(b.mu).real) for b in pole_bodies.bars(model, pickup)]
        base, steel = pole_bodies.baseplate(model, pickup), pole_bodies.steel_plate(model, pickup)
        if base is not None and steel is not None:
            each.append(Group(complex(base.mu).real, 1.0 / steel.resistivity.nominal, base.size[2], True))
        return tuple(each)

    return model.block(("bodies", pickup), make)


def groups(model: Model, pickup: str) -> tuple[int, ...]:
    """Which group of like bodies, in the unshifted model, each body is in."""
    each = bodies(model.nominal(), pickup)
    kinds = list(dict.fromkeys(each))
    return tuple(kinds.index(g) for g in each)


def points(model: Model, pickup: str, coil: str) -> Array:
    """(p, 3) where a coil hears its strings [m]: each string at rest over it, else a little over each pole piece."""
    base = model.nominal()
    y = pole_blocks.winding(base, pickup, coil).place[1]
    if base.inputs.design.pickup[pickup].gap is not None:
        lines = string_blocks.lines(base, pickup)
        return np.array([[lines[i].x, y, lines[i].z] for i in blocks.served(base, pickup, coil)])
    rods = pole_bodies.coil_rods(base, pickup, coil)
    if rods:
        return np.array([[r.x, r.y, r.z + r.length / 2 + ABOVE] for r in rods])
    return np.array([[*pole_blocks.winding(base, pickup, coil).place[:2], ABOVE]])


@dataclass(frozen=True)
class Eddy:
    """What eddy currents do to the coils of a pickup, per turn of each, k coils at f frequencies.

    `poles` (f, k, k) what is left of the pole pieces' share of the inductances, against low frequency; `moment` (f, k)
    the same of their share of the dipole moment; `sheets` (f, k, k) [H] what metal sheets add to the inductances, and
    `sheet_moment` (f, k) [m^2] to the moments; `signal` (f, k) what is left of the field at the strings.
    """

    poles: Numbers
    moment: Numbers
    sheets: Numbers
    sheet_moment: Numbers
    signal: Numbers


@dataclass(frozen=True)
class Loops:
    """Patterns of current in all sheets: their inductances `own` (m, m) for 1 ohm each [s], the flux (k, m) of each
    coil in air through them, `rows` (m, n) what the pole pieces send through them and `drive` (n, m) what they do to
    the pole pieces, both in the small system's terms; `reach` (1 + points, m) their dipole moments, then their vertical
    fields at each coil's points, with the pole pieces' answer at low frequency."""

    own: Array
    flux: Numbers
    rows: Array
    drive: Array
    reach: Array


@dataclass(frozen=True)
class SweepOf:
    """The small system of a pickup with its coils, where the strings are, and its sheets. Rows: k coils, the moment,
    each coil's points, then the patterns of the sheets; fields: k coils, then the patterns. `still` (groups,) is the
    susceptibility of low frequency that the patterns were made with."""

    sweep: PoleSweep | None
    windings: tuple[WindingIn, ...]
    where: tuple[Array, ...]
    loops: Loops | None
    still: Array


@dataclass(frozen=True)
class Bare:
    """The small system without sheets, and the charges (nodes, n) that it is made of."""

    sweep: PoleSweep
    charges: Array


def _windings(model: Model, pickup: str) -> tuple[WindingIn, ...]:
    return tuple(pole_blocks.winding(model, pickup, c) for c in blocks.sides(model.inputs.design.pickup[pickup]))


def sweep(model: Model, pickup: str) -> SweepOf:
    """The small system of the unshifted model."""
    base = model.nominal()

    def make() -> SweepOf:
        names = blocks.sides(base.inputs.design.pickup[pickup])
        given, wound = pole_bodies.poles_in(base, pickup), _windings(base, pickup)
        where = tuple(points(base, pickup, c) for c in names)
        metal = sheet_places.metalwork(base, pickup)
        key = (given, wound, tuple(map(tuple, (p.ravel() for p in where))))
        solved = None if given is None else pole_blocks.system(base, given)
        found = [pole_blocks.response(base, pickup, c) for c in names]
        bare = None
        if solved is not None:
            touches, of = [r.touch for r in found if r is not None], groups(base, pickup)
            steady = frozenset(i for i, g in enumerate(dict.fromkeys(bodies(base, pickup))) if not g.conductivity)
            bare = base.store.kept_as(
                ("sweep_step", key), "sweep_step", lambda: sweep_step(solved, touches, of, where, steady)
            )
        chi = _susceptibilities([g.mu - 1.0 for g in bodies(base, pickup)], groups(base, pickup))
        if not metal:
            return SweepOf(None if bare is None else bare.sweep, wound, where, None, chi)
        answers = [r.answer for r in found if r is not None]
        loops = base.store.kept_as(
            ("sheet_step", (key, metal)),
            "sheet_step",
            lambda: sheet_step(solved, answers, wound, where, metal, bare),
        )
        if bare is None:
            return SweepOf(None, wound, where, loops, chi)
        rows = np.concatenate([bare.sweep.rows, loops.rows])
        drive = np.concatenate([bare.sweep.fields, loops.drive], axis=1)
        return SweepOf(replace(bare.sweep, rows=rows, fields=drive), wound, where, loops, chi)

    return base.block(("sweep", pickup), make)


def sweep_step(
    solved: System, touches: list[Touch], of: tuple[int, ...], where: tuple[Array, ...], steady: frozenset[int]
) -> Bare:
    """The small system without sheets, which a set with and without its cover share; `steady`: the groups of bodies
    that no frequency changes."""
    with one_thread():
        rows = [inductance_rows(solved, touches), moment_row(solved)]
        for at in where:
            operator = solved.field_operator(at) if isinstance(solved, MagneticSystem) else field_operator(solved, at)
            rows.append(operator[:, 2])
        asked = sum(map(len, rows))
        found = pole_sweep(solved, of, touches, np.concatenate([*rows, np.eye(solved.count)]), steady)
        return Bare(replace(found, rows=found.rows[:asked]), found.rows[asked:])


def sheet_step(
    solved: System | None,
    answers: list[Answer],
    wound: tuple[WindingIn, ...],
    where: tuple[Array, ...],
    metal: tuple[Metalwork, ...],
    bare: Bare | None,
) -> Loops:
    """The sheets' patterns of current, the few that matter to these coils."""
    with one_thread():
        sheets = [_patterns(solved, answers, wound, work) for work in metal]
        flux = np.stack([np.concatenate([sheet_touch(few, w.box, w.place) for few in sheets]) for w in wound])
        rows, drive = np.zeros((flux.shape[1], 0)), np.zeros((0, flux.shape[1]))
        if solved is not None and bare is not None:
            potential, normal = (np.hstack([getattr(few, part) for few in sheets]) for part in ("potential", "normal"))
            rows, drive = (-MU0 * solved.area * potential.T) @ bare.charges, bare.charges.T @ normal
        at = np.concatenate(where)
        reach = [np.concatenate([few.moment[None], few.field(at)[:, 2]]).real for few in sheets]
        return Loops(together(sheets), flux, rows, drive, np.hstack(reach))


def _patterns(
    solved: System | None, answers: list[Answer], wound: tuple[WindingIn, ...], work: Metalwork
) -> SheetModes:
    modes = sheet_modes(work.sheet, work.conductivity, solved)
    found = [
        sheet_touch(modes, w.box, w.place, answers[i] if solved is not None else None) for i, w in enumerate(wound)
    ]
    return kept(modes, found, PATTERNS)


def eddy(model: Model, pickup: str) -> Eddy:
    """What eddy currents do to the coils of a pickup at FREQUENCIES."""

    def make() -> Eddy:
        found, each, of = sweep(model, pickup), bodies(model, pickup), groups(model, pickup)
        base = model.nominal()
        key = (pole_bodies.poles_in(base, pickup), found.windings, sheet_places.metalwork(base, pickup), each, of)
        spots = tuple(map(tuple, (p.ravel() for p in found.where)))
        return model.store.kept_as(
            ("eddy_step", (key, spots)), "eddy_step", lambda: eddy_step(found, each, of), EDDY_SIZE
        )

    return model.block(("eddy", pickup), make)


def _susceptibilities(each: Sequence[Numbers | float], of: tuple[int, ...]) -> Numbers:
    """Of each group (groups, ...), from those of the bodies: at the end of an input's interval bodies of one group may
    differ, and the group takes their mean."""
    values, place = np.array(each), np.array(of, dtype=int)
    out: Numbers = np.array([values[place == group].mean(axis=0) for group in range(len(set(of)))])
    return out


def eddy_step(found: SweepOf, each: tuple[Group, ...], of: tuple[int, ...]) -> Eddy:
    """See `eddy`."""
    k, count, many = len(found.windings), len(FREQUENCIES), 0 if found.loops is None else len(found.loops.own)
    first = k + 1 + sum(map(len, found.where))
    moving, still = np.zeros((count, first + many, k + many), complex), np.zeros((first, k))
    made = np.zeros((first + many, k + many))  # at the permeability that the sheets' patterns were made with
    if found.sweep is not None:
        kinds = {g: np.array([g.susceptibility(f) for f in FREQUENCIES]) for g in dict.fromkeys(each)}
        with one_thread():
            moving = found.sweep.answers(_susceptibilities([kinds[g] for g in each], of).T)
            still = found.sweep.answers(_susceptibilities([g.mu - 1.0 for g in each], of))[0, :first, :k].real
            made = found.sweep.answers(found.still)[0].real
    sheets, added = np.zeros((count, k, k), complex), np.zeros((count, first - k, k), complex)
    if found.loops is not None:
        sheets, added = _of_sheets(found.loops, moving, made)
    signal = np.ones((count, k), complex)
    start = k + 1
    for i, (at, wound) in enumerate(zip(found.where, found.windings, strict=True)):
        own = coil_field(wound.box, at - np.array(wound.place))[:, 2]
        mine = slice(start, start + len(at))
        now = own + moving[:, mine, i] + added[:, start - k : start - k + len(at), i]
        signal[:, i] = now.sum(axis=1) / (own + still[mine, i]).sum()
        start += len(at)
    with np.errstate(all="ignore"):
        poles = np.where(still[:k] != 0.0, moving[:, :k, :k] / still[:k], 1.0)
        of_moment = np.where(still[k] != 0.0, moving[:, k, :k] / still[k], 1.0)
    return Eddy(poles, of_moment, sheets, added[:, 0], signal)


def _of_sheets(loops: Loops, moving: Numbers, made: Array) -> tuple[Numbers, Numbers]:
    """What sheets add to the inductances (f, k, k), and to moment and fields at the points (f, 1 + points, k).

    The patterns' own inductances and their reach are those they were made with and what the pole pieces' eddy currents
    change of them.
    """
    k, m = loops.flux.shape
    s = 2j * np.pi * FREQUENCIES[:, None, None]
    change = (moving - made)[:, :, k:]
    flux = loops.flux.T + moving[:, -m:, :k]  # (f, m, k)
    changed = change[:, -m:]
    own = loops.own + 0.5 * (changed + changed.transpose(0, 2, 1))
    current = np.linalg.solve(np.eye(m) + s * own, -s * flux)
    reach = loops.reach + change[:, k : k + len(loops.reach)]
    return flux.transpose(0, 2, 1) @ current, reach @ current


def at(values: Numbers, frequency: float | Array) -> Numbers:
    """Values (..., f) at other frequencies [Hz], straight in log f between the points; held at the ends."""
    place = np.interp(np.log(frequency), np.log(FREQUENCIES), np.arange(len(FREQUENCIES), dtype=float))
    low = np.minimum(place.astype(int), len(FREQUENCIES) - 2)
    part = place - low
    out: Numbers = values[..., low] * (1.0 - part) + values[..., low + 1] * part
    return out


def sheet_part(model: Model, pickup: str, coil: str, frequency: float) -> float:
    """What metal sheets add to a coil's inductance per turn squared at a frequency [H]; below 0."""
    if not sheet_places.metalwork(model, pickup):
        return 0.0
    k = blocks.sides(model.inputs.design.pickup[pickup]).index(coil)
    return float(at(eddy(model, pickup).sheets[:, k, k], frequency).real)


__all__ = ["FREQUENCIES", "Eddy", "Group", "at", "bodies", "eddy", "groups", "points", "sheet_part", "sweep"]
