"""Capacitance between a winding and the metal near it, as three capacitors: start, finish and metal.

Turn number k sits at V_s + (V_f - V_s) xi, xi = k/N. Metal that faces turns with capacitance C stores
C/2 <(V - V_m)^2>, a quadratic form in V_s, V_f and V_m. Three capacitors between the three nodes store the same for any
three potentials:

    start-metal C <1 - xi>      finish-metal C <xi>      start-finish -C <xi (1 - xi)>

The last is negative and goes with the self-capacitance across the coil. With the finish and the metal grounded a hot
start sees C <(1 - xi)^2>: all of it at the inner turns, nothing at the outer ones, a third over a plate. Metal that is
left floating is a node without a wire, and the network's own business. Derived.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lodestring.errors import DomainError
from lodestring.physics.capacitance_pair import EPSILON0
from lodestring.physics.capacitance_plan import Oblong, Outline, plan_capacitance
from lodestring.physics.coil_box import CoilBox

__all__ = ["Face", "ToMetal", "all_round", "inner_face", "plate_face", "row_depth", "stacked_er", "to_metal"]


@dataclass(frozen=True, slots=True)
class Face:
    """Turns that face metal: capacitance [F] as if all were one conductor; mean and mean square of xi over them."""

    capacitance: float
    mean: float
    square: float


@dataclass(frozen=True, slots=True)
class ToMetal:
    """Three capacitors [F] that store what the faces store. `start_finish` is negative or 0."""

    start_metal: float
    finish_metal: float
    start_finish: float

    @property
    def start_hot(self) -> float:
        """Capacitance [F] at the start with finish and metal grounded."""
        return self.start_metal + self.start_finish

    @property
    def finish_hot(self) -> float:
        """Capacitance [F] at the finish with start and metal grounded."""
        return self.finish_metal + self.start_finish


def to_metal(faces: Iterable[Face]) -> ToMetal:
    """The three capacitors of all faces of one piece of metal, or of pieces joined to one node."""
    start = finish = across = 0.0
    for face in faces:
        start += face.capacitance * (1.0 - face.mean)
        finish += face.capacitance * face.mean
        across -= face.capacitance * (face.mean - face.square)
    return ToMetal(start, finish, across)


def stacked_er(layers: tuple[tuple[float, float], ...]) -> float:
    """Relative permittivity [1] of layers (thickness [m], permittivity) one on the other: sum t / sum (t/er).

    Raises DomainError unless each is 0 or thicker, one is above 0, and permittivities are at least 1.
    """
    total = sum(thickness for thickness, _ in layers)
    if any(thickness < 0.0 for thickness, _ in layers) or not total > 0.0:
        raise DomainError("layers between coil and metal have thicknesses of 0 or more, one above 0", f"{layers}")
    if any(er < 1.0 for _, er in layers):
        raise DomainError("a relative permittivity is at least 1", f"{min(er for _, er in layers):g}", "1 for air")
    return total / sum(thickness / er for thickness, er in layers)


def row_depth(diameter: float, overall: float, spacing: float) -> float:
    """How far behind the touching plane of a row of wires the smooth conductor lies that acts like it [m].

    diameter d of the bare wires, overall D, spacing p centre to centre, all [m]: D/2 - y, y the distance of that
    conductor in front of the wires' middles. The row holds the field off on one side, so it is a grid of line charges,
    (p/2 pi) ln(pi d/p), and of line dipoles in half the field, pi d^2/(8 p)/(1 + pi^2 d^2/(12 p^2)). Low multipoles:
    good to 0.02 p for d from 0.3 to 0.85 p, which is 2 um of 42 gauge. Add it to a thin gap (11 um beside a wrap of 50
    to 100); enamel in it counts as a layer. Derived. Raises DomainError unless d < p and 0 < d <= D.
    """
    if not 0.0 < diameter <= overall or not diameter < spacing:
        raise DomainError("wires of a row lie side by side", f"{diameter * 1e6:g} um wires {spacing * 1e6:g} um apart")
    charges = spacing / (2.0 * math.pi) * math.log(math.pi * diameter / spacing)
    dipoles = math.pi * diameter**2 / (8.0 * spacing) / (1.0 + (math.pi * diameter / spacing) ** 2 / 12.0)
    return 0.5 * overall - charges - dipoles


def inner_face(box: CoilBox, metal: tuple[Outline, ...], er: float, height: float) -> Face:
    """Rods or blades in the bore against the innermost turns.

    er [1]: relative permittivity of all between (`stacked_er`); height [m]: over how much of the window the metal
    reaches (staggered rods reach less). Plane problem in plan, solved; no fringe at the ends. Raises DomainError for
    metal outside the bore and as `plan_capacitance` does.
    """
    bore = Oblong(0.0, 0.0, box.straight + 2.0 * box.inner, 2.0 * box.inner, box.inner)
    _checked(er, height)
    for outline in metal:
        x, y = outline.line(0.1 * box.inner).T
        beyond = float((((abs(x) - 0.5 * box.straight).clip(0.0) ** 2 + y**2) ** 0.5).max()) - box.inner
        if beyond > 0.0:
            raise DomainError(
                "metal that faces the inner turns stands inside the coil",
                f"one at x {1e3 * outline.x:.4g} mm that reaches {1e3 * beyond:.3g} mm into the winding",
            )
    return Face(er * height * plan_capacitance(metal, (bore,)), 0.0, 0.0)


def all_round(box: CoilBox, clear: float, er: float, height: float) -> Face:
    """A cover's skirt, a housing's wall or foil at the same distance all round the outermost turns.

    clear [m]: from the outer turns to the metal; er [1] of what is between; height [m] of the metal that faces the
    winding. C = e0 er h (2 s/g + 2 pi/ln(1 + g/r_o)): plates along the straights, half tubes at the ends, exact but for
    the four joints (below 0.1 % while g < r_o/2). For long sides only, or walls at other distances, take
    `plan_capacitance` with the outlines. Raises DomainError unless clear, height > 0 and er >= 1.
    """
    _checked(er, height)
    if not 0.0 < clear < math.inf:
        raise DomainError("metal keeps a distance above 0 from the winding", f"{clear * 1e3:g} mm")
    per_height = 2.0 * box.straight / clear + 2.0 * math.pi / math.log1p(clear / box.outer)
    return Face(EPSILON0 * er * height * per_height, 1.0, 1.0)


def plate_face(box: CoilBox, clear: float, er: float, covered: float = 1.0) -> Face:
    """A baseplate under the winding or a cover's top above it, across the bobbin's plate.

    clear [m]: from the end turns to the metal; er [1] of what is between; covered 0..1: share of the winding's ring
    that the metal faces. Turns are even over the depth, longer ones weigh more: <xi> = (s/2 + pi (r_i/2 + D/3))/M,
    <xi^2> = (s/3 + pi (r_i/3 + D/4))/M, M = s + pi (r_i + D/2). Fringe left out: low by about clear/D.
    Raises DomainError unless clear > 0, er >= 1, 0 <= covered <= 1.
    """
    _checked(er, box.height)
    if not 0.0 < clear < math.inf:
        raise DomainError("metal keeps a distance above 0 from the winding", f"{clear * 1e3:g} mm")
    if not 0.0 <= covered <= 1.0:
        raise DomainError("the share of the winding that metal covers is from 0 to 1", f"{covered:g}")
    s, r, depth = box.straight, box.inner, box.depth
    whole = s + math.pi * (r + depth / 2.0)
    mean = (s / 2.0 + math.pi * (r / 2.0 + depth / 3.0)) / whole
    square = (s / 3.0 + math.pi * (r / 3.0 + depth / 4.0)) / whole
    return Face(EPSILON0 * er * covered * 2.0 * depth * whole / clear, mean, square)


def _checked(er: float, height: float) -> None:
    if not 1.0 <= er < math.inf:
        raise DomainError("a relative permittivity is at least 1", f"{er:g}", "1 for air")
    if not 0.0 < height < math.inf:
        raise DomainError("metal faces the winding over a height above 0", f"{height * 1e3:g} mm")
