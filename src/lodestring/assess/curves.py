"""Curves of an assessment: how a coil grows turn by turn."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.physics import winding

POINTS = 400


@dataclass(frozen=True, slots=True)
class Axis:
    """Name and unit of one axis; the name is empty where the key says it."""

    unit: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """y over x, both SI."""

    key: str
    x_axis: Axis
    y_axis: Axis
    x: tuple[float, ...]
    y: tuple[float, ...]


KINDS = {
    "coil_depth_end": ("m", "depth at the round ends, turn by turn"),
    "coil_depth_side": ("m", "depth at mid-side, turn by turn"),
    "wire_length": ("m", "wire laid, turn by turn"),
    "dc_resistance": ("ohm", "resistance from the start, turn by turn, at 20 C"),
}


def curves(model: Model) -> dict[str, Curve]:
    """Every curve of the set, by key."""
    out: dict[str, Curve] = {}
    for pickup, coil in blocks.every_coil(model):
        given, wound = blocks.copper_in(model, pickup, coil), blocks.copper(model, pickup, coil)
        turns = tuple(given.turns * i / (POINTS - 1) for i in range(POINTS))
        lengths = tuple(
            winding.length_to_turn(t, given.turns, given.straight, given.inner, wound.depth_end) for t in turns
        )
        values = {
            "coil_depth_end": tuple(wound.depth_end * t / given.turns for t in turns),
            "coil_depth_side": tuple(wound.depth_side * t / given.turns for t in turns),
            "wire_length": lengths,
            "dc_resistance": tuple(wound.resistance * x / wound.length for x in lengths),
        }
        for name, y in values.items():
            key = f"{blocks.coil_path(pickup, coil)}.{name}"
            out[key] = Curve(key, Axis("1", "turn"), Axis(KINDS[name][0]), turns, y)
    return out
