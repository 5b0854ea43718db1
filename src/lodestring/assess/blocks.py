"""The blocks of an assessment: design record + named inputs -> one frozen record -> step -> result.

Each function here is asked by keys and findings; `model.block` keeps what it gave.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import named
from lodestring.assess.model import Model
from lodestring.assess.steps import (
    Copper,
    CopperIn,
    CrossingsIn,
    StretchIn,
    TimeIn,
    copper_step,
    crossings_step,
    row_step,
    stretch_step,
    time_step,
)
from lodestring.design.coil import Coil
from lodestring.design.fields import at
from lodestring.design.instrument import Spacing
from lodestring.design.pickup import Pickup, Slant
from lodestring.errors import DomainError
from lodestring.layout.clearance import CoilOutline, Hollow
from lodestring.layout.pole_row import Row, RowIn
from lodestring.layout.string_lines import Spread, StringsIn
from lodestring.quantity import Quantity
from lodestring.reference import band, plastic

PAUSE_EVERY = 1000
"""Turns between pauses: size is checked and the counter typed there."""
PAUSE_SECONDS = 60.0


def coil_path(pickup: str, coil: str) -> str:
    """Key path of a coil."""
    return f"pickup.{pickup}.coil.{coil}"


def coil_of(model: Model, pickup: str, coil: str) -> Coil:
    """The design record of a coil."""
    coils = model.inputs.design.pickup[pickup].coil or {}
    return coils[coil]


def every_coil(model: Model) -> tuple[tuple[str, str], ...]:
    """(pickup, coil) of each coil that is to be made, in the order of the set file."""
    return tuple((p, c) for p, pickup in model.inputs.design.pickup.items() for c in pickup.coil or {})


def strings_in(model: Model) -> StringsIn:
    """Scale, spreads and diameters of the strings."""

    def make() -> StringsIn:
        instrument = model.inputs.design.instrument
        return StringsIn(
            model.given("instrument.scale", instrument.scale),
            _spread(model, "instrument.nut", instrument.nut),
            _spread(model, "instrument.bridge", instrument.bridge),
            tuple(s.diameter.value for s in instrument.strings),
            instrument.handed == "left",
        )

    return model.block("strings", make)


def _spread(model: Model, path: str, spacing: Spacing) -> Spread:
    if spacing.centres is not None:
        return Spread("centres", centres=_each(model, f"{path}.centres", spacing.centres))
    for way in ("span", "pitch", "outside"):
        quantity = getattr(spacing, way)
        if quantity is not None:
            name = "equal gaps" if spacing.gaps is not None else way
            return Spread(name, model.given(f"{path}.{way}", quantity))
    raise DomainError("a spread is given in one way", "none")


def _each(model: Model, path: str, values: tuple[Quantity, ...]) -> tuple[float, ...]:
    return tuple(model.given(f"{path}.{i}", value) for i, value in enumerate(values, 1))


def place_of(model: Model, pickup: str) -> tuple[float, float]:
    """Bridge line to the pickup's middle line under string 1 and under the last string [m]."""
    place = model.inputs.design.pickup[pickup].place
    path = f"pickup.{pickup}.place"
    if isinstance(place, Slant):
        return model.given(f"{path}.first", place.first), model.given(f"{path}.last", place.last)
    value = model.given(path, place)
    return value, value


def coil_offset(model: Model, pickup: str, coil: str) -> float:
    """Middle of the coil from the pickup's middle, toward the nut [m]."""
    place = coil_of(model, pickup, coil).place
    return 0.0 if place is None else model.given(f"{coil_path(pickup, coil)}.place", place)


def crossings(model: Model, pickup: str, coil: str, use_tape: bool = True) -> tuple[float, ...]:
    """x of every string of the instrument on this coil's line, in the pickup's frame [m]."""

    def make() -> tuple[float, ...]:
        record = model.inputs.design.pickup[pickup]
        tape = record.string_centres if use_tape else None
        first, last = place_of(model, pickup)
        given = CrossingsIn(
            strings_in(model),
            first,
            last,
            coil_offset(model, pickup, coil),
            None if tape is None else _each(model, f"pickup.{pickup}.string_centres", tape),
        )
        return model.store.kept(crossings_step, given)

    return model.block(("crossings", pickup, coil, use_tape), make)


def served(model: Model, pickup: str, coil: str) -> tuple[int, ...]:
    """Indices (from 0) of the strings a coil serves."""
    given = coil_of(model, pickup, coil).strings
    count = len(model.inputs.design.instrument.strings)
    return tuple(range(count)) if given is None else tuple(sorted(s - 1 for s in given))


def row(model: Model, pickup: str, coil: str) -> Row:
    """The pole pieces of a coil and its inner obround."""

    def make() -> Row:
        record = coil_of(model, pickup, coil)
        path = coil_path(pickup, coil)
        poles, core = record.poles, record.bobbin.core
        layout, body = poles.layout, poles.body
        where = crossings(model, pickup, coil)
        wall = 0.0
        if core.kind == "on rods":
            wall = 0.0 if core.wrap is None else model.given(f"{path}.bobbin.core.wrap", core.wrap)
        elif core.wall is not None and layout.kind != "none":
            wall = model.given(f"{path}.bobbin.core.wall", core.wall)
        radius = 0.0
        if body is not None and body.diameter is not None:
            radius = model.given(f"{path}.poles.body.diameter", body.diameter) / 2
        given = RowIn(
            layout.kind,
            tuple(where[i] for i in served(model, pickup, coil)),
            coil_offset(model, pickup, coil),
            radius,
            wall,
            apart=0.0 if layout.apart is None else model.given(f"{path}.poles.layout.apart", layout.apart),
            blade=(0.0, 0.0)
            if layout.length is None or layout.thickness is None
            else (
                model.given(f"{path}.poles.layout.length", layout.length),
                model.given(f"{path}.poles.layout.thickness", layout.thickness),
            ),
            listed=tuple((x.value, y.value) for x, y in layout.at or ()),
            core=(0.0, 0.0)
            if core.length is None or core.width is None
            else (
                model.given(f"{path}.bobbin.core.length", core.length),
                model.given(f"{path}.bobbin.core.width", core.width),
            ),
        )
        return model.store.kept(row_step, given)

    return model.block(("row", pickup, coil), make)


def strain(model: Model, pickup: str, coil: str) -> float:
    """Lasting stretch of the wire [1]."""

    def make() -> float:
        record = coil_of(model, pickup, coil)
        bare = named.bare_diameter(model, record.wire)
        proof, strength, elongation = named.stretch_law(model, bare)
        given = StretchIn(
            named.tension(model, record, coil_path(pickup, coil)),
            bare,
            proof,
            strength,
            elongation,
            named.stretch_factor(model),
        )
        return model.store.kept(stretch_step, given)

    return model.block(("strain", pickup, coil), make)


def copper_in(model: Model, pickup: str, coil: str, turns: int | None = None) -> CopperIn:
    """The record of a coil as copper, with its own number of turns or another."""
    record = coil_of(model, pickup, coil)
    path = coil_path(pickup, coil)
    inner = row(model, pickup, coil).inner
    bare = named.bare_diameter(model, record.wire)
    return CopperIn(
        straight=inner.s,
        inner=inner.r,
        height=model.given(f"{path}.bobbin.window", record.bobbin.window),
        turns=record.turns if turns is None else turns,
        bare=bare,
        overall=bare + named.film_increase(model, record.wire),
        packing=named.packing(model, record, path),
        belly=named.belly(model),
        strain=strain(model, pickup, coil),
        resistivity=named.resistivity(model),
        density=named.copper_density(model),
        enamel_density=named.enamel_density(model, record.wire),
    )


def copper(model: Model, pickup: str, coil: str, turns: int | None = None) -> Copper:
    """A coil as copper at its own number of turns, or at another."""

    def make() -> Copper:
        return model.store.kept(copper_step, copper_in(model, pickup, coil, turns))

    return model.block(("copper", pickup, coil, turns), make)


def outline(model: Model, pickup: str, coil: str, turns: int | None = None) -> CoilOutline:
    """The wound coil seen from above, tape included."""

    def make() -> CoilOutline:
        wound = copper(model, pickup, coil, turns)
        return CoilOutline(row(model, pickup, coil).inner, wound.depth_end, wound.depth_side, named.tape(model))

    return model.block(("outline", pickup, coil, turns), make)


def hollow(model: Model, pickup: str) -> Hollow | None:
    """The clear inside of the pickup's housing; None where none is given."""

    def make() -> Hollow | None:
        housing = model.inputs.design.pickup[pickup].housing
        if housing is None:
            return None
        path = f"pickup.{pickup}.housing"
        return Hollow(
            model.given(f"{path}.length", housing.length),
            model.given(f"{path}.width", housing.width),
            model.given(f"{path}.depth", housing.depth),
            0.0 if housing.corner is None else model.given(f"{path}.corner", housing.corner),
            0.0 if housing.draft is None else model.given(f"{path}.draft", housing.draft),
        )

    return model.block(("hollow", pickup), make)


def housing(model: Model, pickup: str) -> Hollow:
    """The housing of a pickup that has one. Raises DomainError otherwise."""
    found = hollow(model, pickup)
    if found is None:
        raise DomainError("a clearance needs a housing", f"pickup {pickup} without one")
    return found


@dataclass(frozen=True, slots=True)
class PlateShape:
    """A plate: length, width, corner radius and thickness [m], and how far it bows outward."""

    length: float
    width: float
    corner: float
    thickness: float
    bow: float


def plate(model: Model, pickup: str, coil: str) -> PlateShape:
    """The plates of a coil's bobbin."""

    def make() -> PlateShape:
        record = coil_of(model, pickup, coil).bobbin.plate
        path = f"{coil_path(pickup, coil)}.bobbin.plate"
        width = model.given(f"{path}.width", record.width)
        thin_print = plastic(record.material).melts and record.thickness.value < band("plate.printed").spread().nominal
        return PlateShape(
            model.given(f"{path}.length", record.length),
            width,
            width / 2 if record.corner is None else model.given(f"{path}.corner", record.corner),
            model.given(f"{path}.thickness", record.thickness),
            named.plate_bow(model, thin_print),
        )

    return model.block(("plate", pickup, coil), make)


def lowest(model: Model, pickup: str) -> float:
    """z [m] of the lowest part below the top plate's upper face: pole feet, bottom plates with bow, bars; negative."""

    def make() -> float:
        record = model.inputs.design.pickup[pickup]
        lows = [_coil_bottom(model, pickup, c) for c in record.coil or {}]
        for name, bar in (record.bar or {}).items():
            path = f"pickup.{pickup}.bar.{name}"
            middle = model.given(f"{path}.centre.3", bar.centre[2])
            lows.append(middle - model.given(f"{path}.size.3", bar.size[2]) / 2)
        return min(lows)

    return model.block(("lowest", pickup), make)


def _coil_bottom(model: Model, pickup: str, coil: str) -> float:
    record = coil_of(model, pickup, coil)
    path = coil_path(pickup, coil)
    shape = plate(model, pickup, coil)
    window = model.given(f"{path}.bobbin.window", record.bobbin.window)
    lows = [-(2 * shape.thickness + window + shape.bow)]
    body, height = record.poles.body, record.poles.height
    if body is not None and height is not None:
        for i in range(max(len(v) if isinstance(v, tuple) else 1 for v in (height, body.length))):
            name = f"{path}.poles.height" + (f".{i + 1}" if isinstance(height, tuple) else "")
            top = model.given(name, at(height, i))
            name = f"{path}.poles.body.length" + (f".{i + 1}" if isinstance(body.length, tuple) else "")
            lows.append(top - model.given(name, at(body.length, i)))
    return min(lows)


def pauses(turns: int) -> int:
    """Number of pauses on the way to `turns`."""
    return max(0, -(-turns // PAUSE_EVERY) - 1)


def winding_seconds(model: Model, pickup: str, coil: str) -> float:
    """Seconds at the winder for one coil."""

    def make() -> float:
        turns = coil_of(model, pickup, coil).turns
        return model.store.kept(time_step, TimeIn(turns, named.pace(model), pauses(turns), PAUSE_SECONDS))

    return model.block(("time", pickup, coil), make)


def sides(record: Pickup) -> tuple[str, ...]:
    """Names of the coils of a pickup."""
    return tuple(record.coil or {})
