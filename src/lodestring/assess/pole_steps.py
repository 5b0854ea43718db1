"""The steps of a coil on its pole pieces: pure functions of frozen records, each with the library's threads held to
one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lodestring.assess.pole_bodies import PolesIn
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.bodies_coil import bodies_touch
from lodestring.physics.coil import CoilBox, air_inductance
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
from lodestring.physics.one_thread import one_thread
from lodestring.physics.poles import PoleSystem


def poles_step(given: PolesIn) -> System:
    """The system of all rods and boxes, solved."""
    with one_thread():
        solved: System = MagneticSystem(given.rods, given.boxes) if given.boxes else PoleSystem(given.rods)
        solved.in_field(np.zeros(solved.count))
    return solved


@dataclass(frozen=True, slots=True)
class WindingIn:
    """A winding: its box and the place of its middle in the pickup's frame."""

    box: CoilBox
    place: Place


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


def table_step(poles: System, given: TableIn) -> SheetTable:
    """The table of sheets."""
    with one_thread():
        rods = poles if isinstance(poles, PoleSystem) else PoleSystem(poles.rods)
        return sheet_table(rods, CoilBox(given.straight, given.inner, given.most, given.height), given.place)


def direct_step(poles: System, wound: WindingIn) -> Response:
    """A coil on rods and boxes, without a table."""
    touch = touch_step(poles, wound)
    with one_thread():
        return Response(touch, answer(poles, touch))


def touch_step(poles: System, wound: WindingIn) -> Touch:
    """A coil's field and potential on rods and boxes."""
    with one_thread():
        if isinstance(poles, MagneticSystem):
            return bodies_touch(poles, wound.box, wound.place)
        return coil_touch(poles, wound.box, wound.place)


@dataclass(frozen=True)
class Together:
    """All coils of a pickup on its rods and boxes, per turn of each: their responses, what the pole pieces add to each
    (mutual) inductance [H], and the dipole moment they add to each coil [m^2]."""

    responses: tuple[Response, ...]
    parts: tuple[tuple[complex, ...], ...]
    moments: tuple[float, ...]


def together_step(solved: System, wounds: tuple[WindingIn, ...], touches: list[Touch] | None = None) -> Together:
    """Every coil on the solved system, and what the pole pieces add to each pair."""
    touches = [touch_step(solved, w) for w in wounds] if touches is None else touches
    with one_thread():
        found = [Response(t, answer(solved, t)) for t in touches]
        parts = tuple(tuple(poles_inductance(solved, a.answer, b.touch, b.answer) for b in found) for a in found)
        return Together(tuple(found), parts, tuple(moment_of_poles(solved, r.answer).real for r in found))


def response_step(poles: System, table: SheetTable, outer: float) -> Response:
    """The winding up to `outer` from its table, and the poles' answer."""
    with one_thread():
        touch = table.coil(outer)
        return Response(touch, answer(poles, touch))


def air_step(box: CoilBox) -> float:
    """Air inductance per turn squared [H]."""
    return air_inductance(box)
