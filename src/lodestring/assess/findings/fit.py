"""Does it fit: coil within plates and housing, plates in the housing, depth."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import blocks
from lodestring.assess.findings.say import coil_name, count, finding, length
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.layout import clearance

STEP = 50
"""A cure in turns is given in whole fifties: nobody plans 7,213 turns."""


def find(model: Model) -> Iterator[Finding]:
    """Findings about fit, pickup by pickup."""
    for pickup, coil in blocks.every_coil(model):
        yield from _plates(model, pickup, coil)
        yield from _housing(model, pickup, coil)
    for name, record in model.inputs.design.pickup.items():
        if record.coil and record.housing is not None:
            yield from _solid_parts(model, name)
        if record.coil and len(record.coil) == 2:
            yield from _two_coils(model, name)


def _room(model: Model, pickup: str, coil: str, what: str) -> tuple[float, float, str]:
    """Least clearance of the two places, its lower end, and where it is."""
    base = f"{blocks.coil_path(pickup, coil)}.clearance_{what}"
    end, side = model.fact(f"{base}_end"), model.fact(f"{base}_side")
    least, where = (end, "at the ends") if end.number < side.number else (side, "at mid-side")
    return least.number, min(f.low for f in (end, side) if f.low is not None), where


def turn_that_touches(model: Model, pickup: str, coil: str, what: str) -> int:
    """The turn at which a coil too big for its plates or its housing (`what`) first touches, at ends or mid-side."""
    wound = blocks.copper(model, pickup, coil)
    turns = blocks.coil_of(model, pickup, coil).turns
    base = f"{blocks.coil_path(pickup, coil)}.clearance_{what}"
    places = ((wound.depth_end, model.fact(f"{base}_end")), (wound.depth_side, model.fact(f"{base}_side")))
    return max(0, min(int(turns * (depth + room.number) / depth) for depth, room in places))


def _plates(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    room, low, where = _room(model, pickup, coil, "plate")
    path = f"{blocks.coil_path(pickup, coil)}.turns"
    name = coil_name(model, pickup, coil)
    if room < 0.0:
        turn = turn_that_touches(model, pickup, coil, "plate")
        fits = turn // STEP * STEP
        yield finding(
            "coil-over-window",
            "blocker",
            path,
            f"{name} stands {length(model, room)} out over the plates {where}; "
            f"it reaches their edge at turn {count(turn)}",
            f"at most {count(fits)} turns, wider plates, a higher window or thinner wire",
            {path: str(fits)} if fits > 0 else None,
            -room,
        )
    elif low < 0.0:
        yield finding(
            "coil-may-pass-window",
            "note",
            path,
            f"{name} leaves {length(model, room)} to the plates' edge {where}, "
            f"but wound loosely it may stand out by {length(model, low)}",
            "measure the coil at the pauses; once a few coils are known, this narrows",
            None,
            -low,
        )


def _housing(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    if model.inputs.design.pickup[pickup].housing is None:
        return
    room, low, where = _room(model, pickup, coil, "housing")
    path = f"{blocks.coil_path(pickup, coil)}.turns"
    name = coil_name(model, pickup, coil)
    if room < 0.0:
        turn = turn_that_touches(model, pickup, coil, "housing")
        fits = turn // STEP * STEP
        yield finding(
            "coil-touches-housing",
            "blocker",
            path,
            f"{name} with belly and tape is {length(model, room)} too big for its housing "
            f"{where}; it touches from turn {count(turn)} on",
            f"at most {count(fits)} turns, a wider housing or thinner wire",
            {path: str(fits)} if fits > 0 else None,
            -room,
        )
    elif low < 0.0:
        yield finding(
            "coil-may-touch-housing",
            "warning",
            path,
            f"{name} leaves {length(model, room)} in its housing {where}, "
            f"but wound loosely it may be {length(model, low)} too big",
            "measure the coil at the pauses and stop winding or go tighter in time",
            None,
            -low,
        )


def _solid_parts(model: Model, pickup: str) -> Iterator[Finding]:
    plates = model.fact(f"pickup.{pickup}.clearance_plates").number
    if plates < 0.0:
        yield finding(
            "plates-outside-housing",
            "blocker",
            f"pickup.{pickup}.housing",
            f"the plates of the {pickup} pickup are {length(model, plates)} too big for its housing",
            "smaller plates or a rounder plate corner; check with the paper template",
            None,
            -plates,
        )
    depth = model.fact(f"pickup.{pickup}.clearance_depth").number
    if depth < 0.0:
        yield finding(
            "too-deep-for-housing",
            "blocker",
            f"pickup.{pickup}.housing.depth",
            f"the {pickup} pickup reaches {length(model, depth)} below its housing's floor",
            "shorter pole pieces, a lower window, thinner plates or a deeper housing",
            None,
            -depth,
        )


def _two_coils(model: Model, pickup: str) -> Iterator[Finding]:
    names = blocks.sides(model.inputs.design.pickup[pickup])
    one, other = (blocks.outline(model, pickup, n) for n in names)
    room = clearance.between_coils(one, other)
    if room < 0.0:
        path = f"{blocks.coil_path(pickup, names[1])}.place"
        yield finding(
            "coils-touch",
            "blocker",
            path,
            f"the two coils of the {pickup} pickup overlap by {length(model, room)}, belly and tape counted",
            "set the coils further apart, or fewer turns",
            None,
            -room,
        )
