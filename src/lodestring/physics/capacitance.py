"""Self-capacitance of a coil: the energy between neighbouring turns, laid by a machine or by a hand.

Turn number k carries the potential V k/N, so C = (l_t/N^2) sum over neighbouring pairs of c (dk)^2 (rule of the layer
energy: Albach, Springer 2017, ch. 3; Snelling, Soft Ferrites, ch. 11, from memory). What decides is how long ago the
neighbour was laid, so we follow how a stack grows.

Rows. n = h/p turns fit side by side at the mean spacing p of the stack. A new turn comes to rest in a hollow between
two older ones and has about one neighbour at its side, three pairs to a turn. Let r be the time between a turn and one
it rests on, in rows (n turns each): the mean of r is 1, whatever the order of laying, because the coil grows by
a row in a row's time. The mean square is what the hand decides:

    rests on (two pairs):   E r^2 = (1 + v)(1 + u^2) + f^2/3 odd       beside (one pair):   2 v (1 + u^2) + 4 u^2 + ...

* v, unevenness: the variance of r. 0 for a machine; 1 - f, f = turns per pass over n, if each hollow waits for a chance
  turn and no turn rolls on. There the growth is last-passage percolation with geometric waits; the times to the two
  supports are independent and geometric, mean n turns (Burke's theorem; Johansson, Commun. Math. Phys. 209, 2000; from
  memory), exactly. Turns that roll into the next free hollow even it out: 0.27 s/(1 + s) + 0.1 (1 - f), s = scatter/p,
  is fitted to a deposition of discs (packing 0.81). A looser coil has places that were passed over: 1 + v grows as
  0.81/k, which leaves C nearly as it is. Assumed; in the deposition with turns that stick where they first touch, C
  moved by 15 % at most down to a packing of 0.70, and up by two thirds at 0.53.
* u, slope of heaps: passes that lay their few turns at the same places each time pile them up, and turns roll down
  from heap to hollow. Places w = h/(turns per pass) apart, smeared by the scatter: laying rate 1 + m cos(2 pi x/w),
  m = 2 repeat exp(-2 pi^2 scatter^2/w^2), so m w/(2 pi) sin(2 pi x/w) turns per row must roll past x. A surface of
  slope u (-1..1, the face of a full stack) carries u (2/(1-u^2) - 1/4) spacings, the mean way to the next hollow.
  So a very fast traverse raises the capacitance *if its places repeat*; a hand's do not.
* f^2/3: passes go to and fro, so a turn and one an odd number of passes before differ by a part of a pass.
  At f = 1, v = u = 0 this is the 4/3 of machine layers. Odd: 1/(2-f) of supports, 2(1-f)/(2-f)^2 of those beside.

Contact. Each turn lies on two others, yet wires cross and bridge: on `contact` of the length the two supports touch and
the neighbour beside is further off, on the rest the mean gap of the packing holds all round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lodestring.errors import DomainError
from lodestring.physics.capacitance_pair import Filled, mean_film_gap, pair_capacitance, row_capacitance
from lodestring.physics.quadrature import unit_gauss

__all__ = ["Laying", "Neighbours", "Wound", "hand_capacitance", "heap_slope", "machine_capacitance", "neighbours"]

_SETTLED = 0.81
"""Packing of discs that roll to rest, by our own deposition; looser needs turns that stay where they first touch."""
_ROLLED, _MISSED = 0.27, 0.1
"""Unevenness of turns laid anywhere that roll into the next free hollow; and of passes that only fill part of a row."""


@dataclass(frozen=True, slots=True)
class Wound:
    """A winding seen as a stack: turns N, mean turn l_t [m], window height h [m], packing k, and its wire.

    Raises DomainError unless l_t and h are above 0, 0 < k <= 0.9069, and the turns fill two rows.
    """

    turns: float
    mean_turn: float
    height: float
    packing: float
    wire: Filled

    def __post_init__(self) -> None:
        for name, value in (("mean turn", self.mean_turn), ("window height", self.height)):
            if not 0.0 < value < math.inf:
                raise DomainError(f"a coil's {name} is above 0", f"{value * 1e3:g} mm")
        if self.side_by_side < 1.0:
            raise DomainError("the window is at least as high as the wire is thick", f"{self.height * 1e3:g} mm")
        if not 2.0 - 1e-9 <= self.rows < math.inf:
            came = f"{self.turns:g} turns, {self.side_by_side:.0f} to a row"
            raise DomainError(
                "a coil holds its charge between rows, two or more",
                came,
                "more turns; a single row holds a few pF, in the field outside",
            )

    @property
    def gap(self) -> float:
        """Mean gap between enamels [m]."""
        return mean_film_gap(self.wire.overall, self.packing)

    @property
    def side_by_side(self) -> float:
        """Turns n in a row at the mean spacing."""
        return self.height / (self.wire.overall + self.gap)

    @property
    def rows(self) -> float:
        """Rows of n turns, N/n."""
        return self.turns / self.side_by_side


@dataclass(frozen=True, slots=True)
class Laying:
    """How a hand lays its turns.

    turns_per_pass: turns in one traverse of the window, one way; more than fit side by side counts as all that fit.
    scatter [m]: standard deviation of a turn's place from where the traverse stands. repeat 0..1: how far later passes
    meet the same places (0: they drift freely, as a hand's do; 1: to the wire, as a geared traverse's may). contact
    0..1: share of the wire's length on which a turn touches the two it lies on. Raises DomainError outside these.
    """

    turns_per_pass: float
    scatter: float
    repeat: float
    contact: float

    def __post_init__(self) -> None:
        if not 1.0 <= self.turns_per_pass < math.inf:
            raise DomainError("a pass lays at least one turn", f"{self.turns_per_pass:g}")
        if not 0.0 <= self.scatter < math.inf:
            raise DomainError("scatter is a length of 0 or more", f"{self.scatter * 1e3:g} mm")
        for name, value in (("repeat", self.repeat), ("contact", self.contact)):
            if not 0.0 <= value <= 1.0:
                raise DomainError(f"{name} is a share from 0 to 1", f"{value:g}")


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Mean (dk)^2 in units of n^2, n turns to a row: to each of the two turns below, to the one beside."""

    below: float
    beside: float

    @property
    def total(self) -> float:
        """Sum over the three pairs of a turn. Machine layers: 8/3."""
        return 2.0 * self.below + self.beside


def neighbours(wound: Wound, laying: Laying) -> Neighbours:
    """How far apart in number neighbouring turns are: the law of this file's head. Pure numbers.

    Within 15 % of a deposition of thousands of discs from 5 turns a pass to one row a pass, within 30 % where places
    repeat (tests). A pass of more than one row piles turns of one pass on each other: that lowers C and is not covered.
    """
    spacing = wound.wire.overall + wound.gap
    n = wound.side_by_side
    fill = min(1.0, laying.turns_per_pass / n)
    s = laying.scatter / spacing
    uneven = _ROLLED * s / (1.0 + s) + _MISSED * (1.0 - fill)
    looser = 1.0 + laying.contact * max(0.0, _SETTLED / wound.packing - 1.0)
    uneven = min(1.0, (1.0 + uneven) * looser - 1.0)
    steep = heap_slope(1.0 / fill, s, laying.repeat)
    odd_below, odd_beside = 1.0 / (2.0 - fill), 2.0 * (1.0 - fill) / (2.0 - fill) ** 2
    return Neighbours(
        (1.0 + uneven) * (1.0 + steep) + fill**2 / 3.0 * odd_below,
        2.0 * uneven * (1.0 + steep) + 4.0 * steep + fill**2 / 3.0 * odd_beside,
    )


def heap_slope(places_apart: float, scatter: float, repeat: float) -> float:
    """Mean square slope <u^2> [1] of the heaps, u = 1 for the steepest face of a stack.

    places_apart: w, and scatter, both in spacings of the stack; repeat 0..1. Solves u (2/(1-u^2) - 1/4) = J, that is
    u^3/4 + J u^2 + 7 u/4 - J = 0, at J = m w/(2 pi) sin(2 pi x/w) over a quarter of a period.
    """
    modulation = 2.0 * repeat * math.exp(-2.0 * (math.pi * scatter / places_apart) ** 2)
    x, weight = unit_gauss(24)
    rolling = modulation * places_apart / (2.0 * math.pi) * np.sin(0.5 * math.pi * x)
    u = np.ones_like(x)
    for _ in range(40):  # the cubic is convex and rises: from u = 1 each step comes nearer from above
        step = (((0.25 * u + rolling) * u + 1.75) * u - rolling) / ((0.75 * u + 2.0 * rolling) * u + 1.75)
        u = u - step
        if np.max(np.abs(step)) < 1e-13:
            break
    return float(weight @ u**2)


def hand_capacitance(wound: Wound, laying: Laying) -> float:
    """Self-capacitance [F] of the winding alone, end to end, metal round it left out.

    C = (l_t/N) n^2 (1 - n/N) [2 c_below E_below + c_beside E_beside]; c_below = contact c(0) + (1 - contact) c(gap),
    c_beside = c(gap (1 + 2 contact)): the three gaps of a turn have the mean that the packing asks for.

    Below the first resonance (potential linear along the wire) and within a factor of about 2: it stands or falls with
    `contact` and `scatter`, which nobody measures before a first coil; a measured resonance replaces it. The field
    outside the winding is left out: 10 % of a coil of 4 rows of 6, 6 % of 8 rows of 12, less of more (tests). Raises
    DomainError as `Wound`, `Laying` and `pair_capacitance` do.
    """
    gap = wound.gap
    found = neighbours(wound, laying)
    touching = pair_capacitance(wound.wire, 0.0) if laying.contact > 0.0 else 0.0
    below = laying.contact * touching + (1.0 - laying.contact) * pair_capacitance(wound.wire, gap)
    beside = pair_capacitance(wound.wire, gap * (1.0 + 2.0 * laying.contact))
    n = wound.side_by_side
    per_turn = 2.0 * below * found.below + beside * found.beside
    return wound.mean_turn / wound.turns * n**2 * (1.0 - 1.0 / wound.rows) * per_turn


def machine_capacitance(wound: Wound, fly_back: bool = False) -> float:
    """Self-capacitance [F] of even layers in a hexagonal stack, the packing's gap all round.

    To and fro 4/3 (L-1)/L^2 C_layer; flying back to the same side 1 (L-1)/L^2 C_layer; L rows, C_layer = n l_t c_row
    between two whole rows. Source: layer energy with a difference of potential that grows linearly along the layer to
    and fro (0..2 layers: mean square 4/3) and is the same all along when flying back.
    """
    layer = wound.side_by_side * wound.mean_turn * row_capacitance(wound.wire, wound.gap)
    share = 1.0 if fly_back else 4.0 / 3.0
    return share * (wound.rows - 1.0) / wound.rows**2 * layer
