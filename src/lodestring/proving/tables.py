"""Cheap tables of one coil, made once from a model, from which every reading follows in well under a millisecond.

Inductances are per turn squared. What the pole pieces add at any permeability, real or complex, is

    dL(chi) = c + sum_k w_k chi / (1 + N_k chi),   w_k >= 0, 0 <= N_k <= 0.675

(the eigenvalues of the charge's integral equation are real; least squares without negative values on a fixed grid of
N), so another permeability, another metal and any frequency cost a few multiplications. Source: the project's design.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lodestring.assess import blocks, coil_capacitance, eddy_blocks, magnet_blocks, pole_blocks, pole_bodies
from lodestring.assess.model import Model
from lodestring.assess.pole_steps import WindingIn, direct_step
from lodestring.assess.senses import has_kick, kick
from lodestring.assess.steps import CopperIn
from lodestring.design.fields import at
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch
from lodestring.physics.coil import CoilBox, air_inductance, moment, table_nodes, table_rule
from lodestring.physics.eddy import plate_permeability, rod_permeability
from lodestring.physics.inductance import answer, poles_inductance, sheet_table
from lodestring.physics.one_thread import one_thread
from lodestring.physics.poles import MU0
from lodestring.physics.ring import Array

FREQUENCIES: Array = np.geomspace(200.0, 50e3, 56)
"""Where a coil's impedance is worked out [Hz]: 10 per cent from one to the next; a peak between them is a parabola."""
DEEPER = 1.6
"""The tables reach this much deeper than the coil as drawn: heavier wire, looser turns."""
RODS_ORDER, BOXES_ORDER, AIR_ORDER = 8, 4, 7
THIN = 0.02
"""Depth of the sheet that stands for one half-width, as a share of the coil's depth."""
STEP = 0.02
"""Share by which a size is changed to see what it does."""
SECTIONS = 9
EDDY: Array = np.geomspace(1e-4, 1e4, 600)


@dataclass(frozen=True, eq=False)
class Skin:
    """What eddy currents leave of a permeability, mu_eff / mu, over frequency x permeability x conductivity x size^2.

    Straight between 600 points from 1e-4 to 1e4 of w mu0 mu sigma a^2: better than 1e-4.
    """

    plate: bool
    left: Array  # complex (600,)

    def at(self, argument: Array) -> Array:
        """mu_eff / mu at w mu0 mu sigma size^2, any shape; 1 below the table."""
        place = np.log(np.maximum(argument, EDDY[0]) / EDDY[0]) * ((len(EDDY) - 1) / np.log(EDDY[-1] / EDDY[0]))
        low = np.minimum(place.astype(int), len(EDDY) - 2)
        part = np.minimum(place - low, 1.0)
        found: Array = self.left[low] * (1.0 - part) + self.left[low + 1] * part
        return found


def skin(plate: bool) -> Skin:
    """The table for rods, or for plates."""
    of = plate_permeability if plate else rod_permeability
    per = 2.0 * np.pi * MU0  # at 1 Hz, mu 1, size 1 m
    return Skin(plate, np.array([of(1.0, float(x) / per, 1.0, 1.0) for x in EDDY]))


@dataclass(frozen=True, eq=False)
class PoleAnswer:
    """What a coil's pole pieces add to it per turn squared [H] at a susceptibility; what they are made of."""

    steady: float
    weight: Array
    demagnetisation: Array
    permeability: float
    conductivity: float
    size: float
    skin: Skin

    def added(self, susceptibility: Array) -> Array:
        """dL (...) [H] at susceptibilities (...), real or complex."""
        chi = np.asarray(susceptibility)[..., None]
        found: Array = self.steady + (self.weight * chi / (1.0 + self.demagnetisation * chi)).sum(axis=-1)
        return found


@dataclass(frozen=True, eq=False)
class Sections:
    """A part of the winding: its coupling with the whole and its own inductance, as shares of the whole's.

    `depth` (9,) places from the innermost turn (0) to the outermost (1); `whole_air`, `whole_poles` (9,) coupling of a
    sheet there with the whole winding, `own_poles` (9,) what the pole pieces add to the sheet itself. `own_air`
    (shares, 3) of a part holding `share` of the turns, inner, middle, outer: a strip of one pass that grows along the
    window, then whole passes on each other.
    """

    depth: Array
    whole_air: Array
    whole_poles: Array
    own_poles: Array
    share: Array
    own_air: Array


@dataclass(frozen=True, eq=False)
class CoilTables:
    """One coil as drawn and what moves its readings. Polynomials run over (r_o - inner) / depth as drawn."""

    pickup: str
    coil: str
    copper: CopperIn
    depth: float
    air: Array
    poles: Array
    air_by: tuple[float, float, float]
    poles_by: tuple[float, float]
    answer: PoleAnswer | None
    sheets: Array
    sections: Sections
    ring: tuple[float, float]
    capacitance: float
    mean_turn: float
    moment: tuple[float, float]
    fields: tuple[float, ...]
    up: tuple[str, ...]
    kick: str
    magnetic: bool
    row_factor: tuple[float, float]


def tables(model: Model, pickup: str, coil: str) -> CoilTables:
    """The tables of a coil that is to be made; kept by the model."""
    base = model.nominal()
    return base.block(("proving tables", pickup, coil), lambda: _tables(base, pickup, coil))


def _tables(model: Model, pickup: str, coil: str) -> CoilTables:
    wound = pole_blocks.winding(model, pickup, coil)
    box, place = wound.box, wound.place
    given = blocks.copper_in(model, pickup, coil)
    radii, matrix = _sheets(model, pickup, coil, box, place)
    reach = np.linspace(0.35, DEEPER, AIR_ORDER)
    air = np.array([air_inductance(_to(box, x)) for x in reach])
    poles = np.zeros(AIR_ORDER)
    if matrix is not None:
        for i, x in enumerate(reach):
            rule = table_rule(radii, box.inner, box.inner + x * box.depth)
            poles[i] = rule @ matrix @ rule
    names = blocks.sides(model.inputs.design.pickup[pickup])
    found = eddy_blocks.eddy(model, pickup)
    k = names.index(coil)
    factor = model.input(f"{blocks.coil_path(pickup, coil)}.row")
    record = blocks.coil_of(model, pickup, coil)
    fields = _fields(model, pickup, coil)
    air_moment = moment(box)
    return CoilTables(
        pickup,
        coil,
        given,
        box.depth,
        np.polyfit(reach, np.log(air), AIR_ORDER - 2),
        np.polyfit(reach, np.log(poles), AIR_ORDER - 2) if matrix is not None else np.zeros(0),
        _by_size(box),
        _poles_by_size(model, pickup, coil, box, place) if matrix is not None else (0.0, 0.0),
        _answer(model, pickup, coil),
        np.array([eddy_blocks.at(found.sheets[:, k, k], f) for f in FREQUENCIES]),
        _sections(box, given.turns, radii, matrix),
        _ring(box),
        coil_capacitance.at_ends(model, pickup, coil),
        2.0 * box.straight + np.pi * (box.inner + box.outer),
        (air_moment, pole_blocks.dipole(model, pickup, coil) - air_moment),
        fields,
        tuple(at(record.poles.up, i) for i in range(len(fields))) if record.poles.up is not None else (),
        kick(model, (pickup, coil)) if has_kick(model, (pickup, coil)) else "",
        magnet_blocks.charged(model, pickup),
        (factor.low, factor.high),
    )


def _to(box: CoilBox, share: float) -> CoilBox:
    return replace(box, outer=box.inner + share * box.depth)


def _sheets(
    model: Model, pickup: str, coil: str, box: CoilBox, place: tuple[float, float, float]
) -> tuple[Array, Array | None]:
    """Half-widths (n,) and what the pole pieces add between sheets there (n, n), per turn of each [H]."""
    given = pole_bodies.poles_in(model, pickup)
    most = box.inner + DEEPER * box.depth
    if given is None:
        return np.zeros(0), None
    solved = pole_blocks.system(model, given)
    with one_thread():
        if isinstance(solved, MagneticSystem):
            radii = table_nodes(box.inner, most, BOXES_ORDER)
            thin = THIN * box.depth
            touches = [bodies_touch(solved, CoilBox(box.straight, r, r + thin, box.height), place) for r in radii]
        else:
            radii = table_nodes(box.inner, most, RODS_ORDER)
            table = sheet_table(solved, CoilBox(box.straight, box.inner, most, box.height), place)
            radii = table.radii
            touches = [table.touch.mixed(np.eye(len(radii))[i]) for i in range(len(radii))]
        answers = [answer(solved, t) for t in touches]
        matrix = np.array(
            [[poles_inductance(solved, a, t, b).real for t, b in zip(touches, answers, strict=True)] for a in answers]
        )
    return radii, 0.5 * (matrix + matrix.T)


def _by_size(box: CoilBox) -> tuple[float, float, float]:
    """d ln(air inductance) by inner half-width [1/m], by height [1/m], by ln(straight length) [1]."""
    middle = np.log(air_inductance(box))
    inner = 0.5 * STEP * box.inner
    by_inner = np.log(air_inductance(replace(box, inner=box.inner + inner))) - middle
    by_height = np.log(air_inductance(replace(box, height=box.height * (1.0 + STEP)))) - middle
    by_straight = np.log(air_inductance(replace(box, straight=box.straight * (1.0 + STEP)))) - middle
    return by_inner / inner, by_height / (STEP * box.height), by_straight / np.log1p(STEP)


def _poles_by_size(
    model: Model, pickup: str, coil: str, box: CoilBox, place: tuple[float, float, float]
) -> tuple[float, float]:
    """The same of what the pole pieces add: by inner half-width, by height."""
    middle = _sheets_of(model, pickup, box, place)
    inner, height = 0.5 * STEP * box.inner, STEP * box.height
    by_inner = _sheets_of(model, pickup, replace(box, inner=box.inner + inner), place)
    by_height = _sheets_of(model, pickup, replace(box, height=box.height + height), place)
    return float(np.log(by_inner / middle) / inner), float(np.log(by_height / middle) / height)


def _sheets_of(model: Model, pickup: str, box: CoilBox, place: tuple[float, float, float]) -> float:
    given = pole_bodies.poles_in(model, pickup)
    if given is None:
        return 0.0
    solved = pole_blocks.system(model, given)
    found = direct_step(solved, WindingIn(box, place))
    with one_thread():
        return poles_inductance(solved, found.answer, found.touch, found.answer).real


def _answer(model: Model, pickup: str, coil: str) -> PoleAnswer | None:
    from scipy.optimize import nnls

    sweep = eddy_blocks.sweep(model, pickup).sweep
    body = blocks.coil_of(model, pickup, coil).poles.body
    names = blocks.sides(model.inputs.design.pickup[pickup])
    if sweep is None or body is None:
        return None
    each, of = eddy_blocks.bodies(model, pickup), eddy_blocks.groups(model, pickup)
    number = _first_body(model, pickup, coil)
    group = of[number]
    still = np.array([each[of.index(g)].mu - 1.0 for g in range(len(set(of)))])
    chi = np.concatenate([[0.02, 0.1], np.geomspace(0.4, 3000.0, 40)])
    k = names.index(coil)
    with one_thread():
        asked = np.tile(still, (len(chi), 1))
        asked[:, group] = chi
        values = sweep.answers(asked)[:, k, k].real
    grid = np.concatenate([np.geomspace(2e-3, 0.1, 14), np.linspace(0.12, 0.675, 14)])
    columns = np.column_stack([np.ones_like(chi), chi[:, None] / (1.0 + grid * chi[:, None])])
    scale = 1.0 / np.maximum(values, 1e-3 * values.max())
    size = np.linalg.norm(scale[:, None] * columns, axis=0)
    found, _ = nnls(scale[:, None] * columns / size, scale * values)
    found = found / size
    keep = found[1:] > 1e-7 * found[1:].max()
    own = each[number]
    return PoleAnswer(float(found[0]), found[1:][keep], grid[keep], own.mu, own.conductivity, own.size, skin(own.plate))


def _first_body(model: Model, pickup: str, coil: str) -> int:
    """Number of a coil's first pole piece among the bodies of a pickup: rods first, then blades."""
    names = blocks.sides(model.inputs.design.pickup[pickup])
    rods = [pole_bodies.coil_rods(model, pickup, c) for c in names]
    here = names.index(coil)
    if rods[here]:
        return sum(len(r) for r in rods[:here])
    blades = [pole_bodies.coil_blade(model, pickup, c) is not None for c in names]
    return sum(len(r) for r in rods) + sum(blades[:here])


def _area_weighted(box: CoilBox, low: float, high: float) -> float:
    """Inductance of the turns between two half-widths times the square of their depth [H m^2]."""
    if high - low < 1e-9:
        return 0.0
    return (high - low) ** 2 * air_inductance(replace(box, inner=low, outer=high))


def _coupling(box: CoilBox, low: float, high: float) -> float:
    """Mutual inductance in air of the turns between two half-widths and the whole winding, per turn of each [H].

    From inductances of parts alone: the whole's is that of its parts and twice what couples them.
    """
    first, second, third = (_area_weighted(box, a, b) for a, b in ((box.inner, low), (low, high), (high, box.outer)))
    left, right = _area_weighted(box, box.inner, high), _area_weighted(box, low, box.outer)
    both = second + 0.5 * (left - first - second) + 0.5 * (right - second - third)
    return both / ((high - low) * box.depth)


def _sections(box: CoilBox, turns: int, radii: Array, matrix: Array | None) -> Sections:
    depth = np.linspace(0.0, 1.0, SECTIONS)
    whole = air_inductance(box)
    thin = THIN * box.depth
    air = np.array([_coupling(box, low, low + thin) / whole for low in box.inner + depth * (box.depth - thin)])
    coupled, own = np.ones(SECTIONS), np.ones(SECTIONS)
    if matrix is not None:
        rule = table_rule(radii, box.inner, box.outer)
        total = rule @ matrix @ rule
        for i, x in enumerate(depth):
            here = _lagrange(radii, box.inner + x * box.depth)
            coupled[i], own[i] = here @ matrix @ rule / total, here @ matrix @ here / total
    share = np.concatenate([np.geomspace(1.0 / turns, 0.3, 8), [0.6, 1.0]])
    return Sections(depth, air, coupled, own, share, _bundles(box, share, whole, turns))


def _lagrange(radii: Array, at: float) -> Array:
    """Weights (n,) of the sheets at `radii` for a sheet at `at`."""
    away = at - radii
    apart = radii[:, None] - radii[None, :]
    np.fill_diagonal(apart, 1.0)
    out = np.empty(len(radii))
    for i in range(len(radii)):
        others = np.arange(len(radii)) != i
        out[i] = np.prod(away[others] / apart[i, others])
    return out


PASS = 50.0
"""Turns of one pass over the window, by hand (common practice, no source)."""


def strip(share: Array, depth: Array | float, height: Array | float, turns: Array | float) -> tuple[Array, Array]:
    """Depth and height [m] of the part of a winding that holds `share` of its turns, next to each other.

    A hand lays a pass over the whole window, so what lies next to each other is a strip along it that reaches its ends
    after one pass, and lies in whole passes from there on; a single turn is as high as it is deep.
    """
    area = share * depth * height
    high = np.minimum(np.maximum(np.sqrt(area), height * share * turns / PASS), height)
    high = np.maximum(high, share * height)
    return area / high, high


def _bundles(box: CoilBox, share: Array, whole: float, turns: int) -> Array:
    """(shares, 3) inductance of a part of the winding in air against the whole winding's, per turn squared of each."""
    out = np.empty((len(share), 3))
    for i, part in enumerate(share):
        wide, height = (float(x) for x in strip(np.array(part), box.depth, box.height, turns))
        for j, x in enumerate((0.0, 0.5, 1.0)):
            inner = box.inner + x * (box.depth - wide)
            out[i, j] = air_inductance(CoilBox(box.straight, inner, inner + wide, height)) / whole
    return out


RING_GAP, RING_THICK = 0.5e-3, 0.1e-3


def _ring(box: CoilBox) -> tuple[float, float]:
    """A closed sheet 0.5 mm outside the outermost turns, as high as the window: its mutual inductance with the winding
    per turn, and its own [H], in air."""
    low = box.outer + RING_GAP
    high = low + RING_THICK
    sheet = air_inductance(replace(box, inner=low, outer=high))
    first = _area_weighted(box, box.inner, high)
    second, third = _area_weighted(box, box.inner, low), _area_weighted(box, box.outer, high)
    gap = _area_weighted(box, box.outer, low)
    return 0.5 * (first - second - third + gap) / (box.depth * RING_THICK), sheet


def _fields(model: Model, pickup: str, coil: str) -> tuple[float, ...]:
    """Field [T] 0.5 mm over each pole piece as drawn, without sign; empty where nothing is charged."""
    if not magnet_blocks.charged(model, pickup):
        return ()
    body = blocks.coil_of(model, pickup, coil).poles.body
    if body is None or body.kind != "magnet":
        return ()
    found = magnet_blocks.remanences(model, pickup)[coil]
    return tuple(abs(value * magnet_blocks.face_per_tesla(model, pickup, coil, i)) for i, value in enumerate(found))
