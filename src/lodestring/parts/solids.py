"""One function for each kind of part that makes its solid [mm] from its record."""

from __future__ import annotations

from functools import lru_cache, singledispatch
from typing import Any

from lodestring.errors import DomainError
from lodestring.parts import shaping
from lodestring.parts.contour import Circle
from lodestring.parts.fit_piece import fit_piece_solid
from lodestring.parts.records import Bobbin, Carrier, Cover, FitPiece, Jig, Opening, Plate, Ring, Shape
from lodestring.parts.shaping import Solid, cut, joined, prism

PAST = 1e-3
"""Cutting tools stand out this far [m], so that no face is left by equal heights."""


@lru_cache(maxsize=64)
def solid_of(shape: Shape) -> Solid:
    """The solid of a part, kept for the next asking. Raises NoKernel, or DomainError for a part that cannot be made."""
    try:
        return shaping.one(_solid(shape))
    except (RuntimeError, ValueError) as problem:  # the kernel's own words mean nothing at the bench
        raise DomainError(
            "a part's sizes must go together",
            f"a {type(shape).__name__.lower()} that cannot be made ({problem})"[:200],
            "smaller roundings, or more room between its holes",
        ) from problem  # fmt: skip


@singledispatch
def _solid(shape: Any) -> Solid:
    raise TypeError(f"no solid for {type(shape).__name__}")


@_solid.register
def _plate(plate: Plate) -> Solid:
    return _plate_at(plate, 0.0)


def _plate_at(plate: Plate, low: float) -> Solid:
    """A plate with its lower face at z = low: drilled, slotted, grooved from above, rims rounded."""
    top = low + plate.thickness
    tools = [prism(o.contour(), low - PAST, top + PAST) for o in plate.openings()]
    if plate.groove is not None:
        g = plate.groove
        tools.append(shaping.groove_tool(g.start, g.end, g.width, top - g.depth, top + PAST))
    solid = cut(prism(plate.outline(), low, top), tools)
    if plate.rounding:
        rims = [(h.x, h.y, h.drawn) for h in plate.holes if h.what in plate.rounded_holes]
        solid = shaping.rounded_rims(shaping.one(solid), plate.rounding, rims, top)
    return solid


@_solid.register
def _bobbin(bobbin: Bobbin) -> Solid:
    low, high = bobbin.bottom.thickness, bobbin.bottom.thickness + bobbin.window
    bottom, top = shaping.one(_plate_at(bobbin.bottom, 0.0)), shaping.one(_plate_at(bobbin.top, high))
    core = cut(
        prism(bobbin.core(), low, high),
        [prism(o.contour(), low - PAST, high + PAST) for o in _through_core(bobbin)],
    )
    return joined(bottom, [shaping.one(core), top])


def _through_core(bobbin: Bobbin) -> list[Opening]:
    return [o for o in bobbin.top.openings() if o.what in ("rod", "blade")]


@_solid.register
def _cover(cover: Cover) -> Solid:
    tools = [prism(cover.inside(), cover.thickness, cover.depth + PAST)]
    openings: tuple[Opening, ...] = (*cover.holes, *cover.slots)
    tools += [prism(o.contour(), -PAST, cover.thickness + PAST) for o in openings]
    return cut(prism(cover.outside(), 0.0, cover.depth), tools)


@_solid.register
def _ring(ring: Ring) -> Solid:
    body = prism(ring.outside(), 0.0, ring.height)
    if ring.ear is not None:
        body = shaping.one(joined(body, [prism(ring.flange(), 0.0, ring.ear_thickness)]))
    tools = [prism(ring.inside(), -PAST, ring.height - ring.closed + (0.0 if ring.closed else PAST))]
    tools += [prism(h.contour(), -PAST, ring.ear_thickness + PAST) for h in ring.holes]
    return cut(body, tools)


@_solid.register
def _carrier(carrier: Carrier) -> Solid:
    body, top = carrier.body, carrier.body.thickness
    tools = [prism(p.contour(), top - p.depth, top + PAST) for p in carrier.pockets]
    tools += [prism(o.contour(), -PAST, top + PAST) for o in body.openings()]
    return cut(prism(body.outline(), 0.0, top), tools)


@_solid.register
def _jig(jig: Jig) -> Solid:
    top = jig.block.thickness
    floor = top - jig.recess.thickness
    if jig.floor <= 0.0:
        raise DomainError("a jig has a floor under its wells", f"{jig.floor * 1e3:.2f} mm", "a thicker block")
    tools = [prism(jig.recess.outline(), floor, top + PAST)]
    tools += [prism(Circle((w.x, w.y), w.drawn / 2), floor - w.depth, floor + PAST) for w in jig.wells]
    tools += [prism(o.contour(), -PAST, top + PAST) for o in jig.block.openings()]
    return cut(prism(jig.block.outline(), 0.0, top), tools)


@_solid.register
def _fit(piece: FitPiece) -> Solid:
    return fit_piece_solid(piece)
