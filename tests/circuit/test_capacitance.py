"""Self-capacitance of a coil from the energy between its turns.

Witnesses that share no formula with ours: discs dropped one by one into a window (own deposition, seeded); finite
elements of a small winding with every turn meshed (NGSolve); brute sums over a stack; the layer rule of the books;
the worked figures of the project's design. Deposition knows no law of growth, our law drops no disc.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.physics.capacitance import (
    Laying,
    Wound,
    hand_capacitance,
    heap_slope,
    machine_capacitance,
    neighbours,
)
from lodestring.physics.capacitance_pair import EPSILON0, Filled, pair_capacitance, row_capacitance, two_wires

UM, MM, PF = 1e-6, 1e-3, 1e-12
HEXAGONAL = math.pi / (2 * math.sqrt(3))


def a1(filler: float = 1.0, packing: float = 0.796, turns: float = 7600, enamel: float = 3.7) -> Wound:
    """The reference coil A1 of the project's design: 7,600 turns of 42 gauge, mean turn 135.4 mm, window 10.5 mm."""
    return Wound(turns, 135.4 * MM, 10.5 * MM, packing, Filled(63.5 * UM, 71 * UM, enamel, filler))


HAND = Laying(turns_per_pass=50, scatter=0.5 * MM, repeat=0.0, contact=0.6)
EVEN = Laying(turns_per_pass=1e6, scatter=0.0, repeat=0.0, contact=0.0)


# ---- machine layers ----


@pytest.mark.parametrize(
    ("filler", "fly_back", "expected"),
    [(1.0, False, 33), (2.2, False, 57), (1.0, True, 25), (2.2, True, 43)],
    ids=["air", "wax", "flying back, air", "flying back, wax"],
)
def test_even_layers_hold_what_the_worked_figures_say(filler: float, fly_back: bool, expected: float) -> None:
    # worked in the project's design with another lattice solution, printed to whole pF; 2 % for reading its table
    assert machine_capacitance(a1(filler), fly_back) == pytest.approx(expected * PF, rel=0.02)


@pytest.mark.parametrize("layers", [2, 5, 40])
def test_machine_layers_obey_the_printed_layer_rule(layers: int) -> None:
    # C16: Snelling, Soft Ferrites, ch. 11 (from memory): C = 4/(3 n) (1 - 1/n) C_layer; flying back (1/n)(1 - 1/n)
    wound = Wound(layers * 100, 0.1, 100 * 75 * UM, HEXAGONAL * (71 / 75) ** 2, Filled(63.5 * UM, 71 * UM, 3.7, 1.0))
    c_layer = 100 * 0.1 * row_capacitance(wound.wire, 4 * UM)
    printed = 4.0 / (3.0 * layers) * (1.0 - 1.0 / layers) * c_layer
    assert machine_capacitance(wound) == pytest.approx(printed, rel=1e-9)
    assert machine_capacitance(wound, fly_back=True) == pytest.approx(0.75 * printed, rel=1e-9)


@pytest.mark.parametrize("fly_back", [False, True], ids=["to and fro", "flying back"])
def test_adding_up_every_pair_of_a_hexagonal_stack_gives_the_layer_rule(fly_back: bool) -> None:
    layers, side = 12, 200
    k = np.arange(layers * side).reshape(layers, side)
    if not fly_back:
        k[1::2] = k[1::2, ::-1]
    total = float((np.diff(k, axis=1) ** 2).sum())
    for lower, upper, odd in zip(k[:-1], k[1:], np.arange(1, layers) % 2 == 1, strict=True):
        # an odd row sits half a place to the right
        shifted = (upper[:-1] - lower[1:]) if odd else (upper[1:] - lower[:-1])
        total += float(((upper - lower) ** 2).sum() + (shifted**2).sum())
    spacing = 76 * UM
    wire = Filled(63.5 * UM, 71 * UM, 3.7, 1.0)
    wound = Wound(layers * side, 0.1, side * spacing, HEXAGONAL * (71 / 76) ** 2, wire)
    summed = 0.1 * total / (layers * side) ** 2 * pair_capacitance(wire, 5 * UM)
    # the rule integrates over a row of 200: rest of order 1/200
    assert machine_capacitance(wound, fly_back) == pytest.approx(summed, rel=0.006)


def test_a_hand_that_lays_even_layers_is_a_machine() -> None:
    assert hand_capacitance(a1(), EVEN) == pytest.approx(machine_capacitance(a1()), rel=1e-12)


# ---- a small winding, every turn meshed ----


def _turns(rows: int, columns: int, spacing: float) -> list[tuple[float, float]]:
    """Places of the turns in the order of laying, to and fro."""
    places = []
    for row in range(rows):
        along = range(columns) if row % 2 == 0 else range(columns - 1, -1, -1)
        places += [((j + 0.5 * (row % 2)) * spacing, row * math.sqrt(3) / 2 * spacing) for j in along]
    return places


def _meshed(places: list[tuple[float, float]], wire: Filled) -> float:
    """Capacitance [F/m] of turns at these places [um], turn k at k/N volts, alone in a wide box; finite elements."""
    occ = pytest.importorskip("netgen.occ", reason="pip install netgen-mesher ngsolve")
    ng = pytest.importorskip("ngsolve", reason="pip install ngsolve")
    outer, margin = wire.overall / UM, 4.0 * wire.overall / UM
    x, y = np.array(places).T
    box = occ.WorkPlane(occ.Axes((x.min() - margin, y.min() - margin, 0), occ.Z))
    filler = box.Rectangle(float(np.ptp(x)) + 2 * margin, float(np.ptp(y)) + 2 * margin).Face()
    films = []
    for k, place in enumerate(places):
        axes = occ.Axes((*place, 0), occ.Z)
        disc, core = (occ.WorkPlane(axes).Circle(d / 2).Face() for d in (outer, wire.diameter / UM))
        core.edges.name = f"turn{k}"
        film = disc - core
        film.faces.name = "film"
        films.append(film)
        filler = filler - disc
    filler.faces.name = "filler"
    shape = occ.OCCGeometry(occ.Glue([filler, *films]), dim=2)
    mesh = ng.Mesh(shape.GenerateMesh(maxh=outer / 2, grading=0.4))
    mesh.Curve(3)
    er = mesh.MaterialCF({"film": wire.enamel, "filler": wire.filler})
    space = ng.H1(mesh, order=3, dirichlet="turn.*")
    u, v = space.TnT()
    form = ng.BilinearForm(er * ng.grad(u) * ng.grad(v) * ng.dx).Assemble()
    level = ng.GridFunction(space)
    level.Set(mesh.BoundaryCF({f"turn{k}": k / len(places) for k in range(len(places))}, default=0.0), ng.BND)
    rest = (-form.mat * level.vec).Evaluate()
    level.vec.data += form.mat.Inverse(space.FreeDofs(), "sparsecholesky") * rest
    return float(ng.Integrate(er * ng.grad(level) * ng.grad(level), mesh)) * EPSILON0


@pytest.mark.parametrize("filler", [1.0, 2.2], ids=["air", "wax"])
def test_finite_elements_of_small_windings_approach_the_sum_over_pairs(filler: float) -> None:
    wire, gap = Filled(63.5 * UM, 71 * UM, 3.7, filler), 4.8
    spacing = 71 + gap
    over = []
    for rows, columns in ((4, 6), (4, 12), (8, 12)):
        places = _turns(rows, columns, spacing)
        pairs = sum(
            (i - j) ** 2
            for i, j in combinations(range(len(places)), 2)
            if math.dist(places[i], places[j]) < 1.01 * spacing
        )
        summed = pairs / len(places) ** 2 * pair_capacitance(wire, gap * UM)
        over.append(_meshed(places, wire) / summed - 1.0)
    # The sum leaves out the outer faces of the stack, worth about half a pair to a turn of the rim with a large step
    # of number: 2/3 of 4 x 6 turns lie there, 2/5 of 8 x 12. It vanishes with the share of the rim, at 55 rows 1 %.
    assert 0.0 < over[1] < 0.7 * over[0]
    assert 0.0 < over[0] < 0.15
    assert 0.0 < over[2] < 0.09


# ---- turns laid by hand: our law against discs that are dropped and roll ----


class _Window:
    """Discs of diameter 1 between two walls: each falls, rolls down what it meets and rests on two, wall or floor."""

    def __init__(self, width: float) -> None:
        self.low, self.high = 0.5, width - 0.5
        self.places: list[tuple[float, float]] = []
        self.bins: dict[int, list[tuple[float, float]]] = {}

    def _near(self, x: float) -> list[tuple[float, float]]:
        column = math.floor(x)
        return [disc for i in range(column - 2, column + 3) for disc in self.bins.get(i, ())]

    def drop(self, x: float, sticks: bool = False) -> None:
        ceiling = math.inf
        while True:
            z, below = self._fall(x, ceiling)
            if below is None or sticks:
                break
            x, z, rests = self._roll(x, below)
            if rests:
                break
            ceiling = z  # rolled past the side of what it lay on: falls on from there
        self.places.append((x, z))
        column = self.bins.setdefault(math.floor(x), [])
        column.append((x, z))
        del column[:-14]  # what is buried is met no more

    def _fall(self, x: float, ceiling: float) -> tuple[float, tuple[float, float] | None]:
        best, below = 0.5, None
        for disc in self._near(x):
            across = abs(x - disc[0])
            if across < 1.0 - 1e-9:
                z = disc[1] + math.sqrt(1.0 - across * across)
                if best < z <= ceiling + 1e-9:
                    best, below = z, disc
        return best, below

    def _roll(self, x: float, pivot: tuple[float, float]) -> tuple[float, float, bool]:
        side = 1.0 if x >= pivot[0] else -1.0
        start = math.asin(min(1.0, abs(x - pivot[0])))
        while True:
            end, met = math.pi / 2, None
            wall = side * ((self.high if side > 0 else self.low) - pivot[0])
            if 0.0 <= wall < 1.0 and start <= math.asin(wall) + 1e-12:
                end, met = math.asin(wall), "wall"
            if 0.0 <= pivot[1] - 0.5 < 1.0 and pivot[1] <= 0.5 + 1e-9:
                end, met = min((end, met), (math.pi / 2, "floor"), key=lambda pair: pair[0])
            for disc in self._near(pivot[0] + side):
                dx, dz = side * (disc[0] - pivot[0]), disc[1] - pivot[1]
                apart = math.hypot(dx, dz)
                if 1e-6 < apart < 2.0:
                    angle = math.atan2(dx, dz) - math.acos(apart / 2.0)
                    if start - 1e-9 <= angle < end:
                        end, met = max(angle, start), disc
            x, z = pivot[0] + side * math.sin(end), pivot[1] + math.cos(end)
            if met is None:
                return x + side * 1e-9, z, False
            if isinstance(met, str) or side * (met[0] - x) >= -1e-12:
                return x, z, True
            pivot, start = met, math.asin(min(1.0, abs(x - met[0])))


@cache
def _dropped(per_pass: float, scatter: float, stick: float = 0.0) -> tuple[float, float]:
    """Sum of (dk)^2 over a turn's neighbours in units of its own rows' turns squared, and the packing."""
    from scipy.spatial import Delaunay

    rng, turns, width = np.random.default_rng(20), 4000, 100.0
    window = _Window(width)
    for k in range(turns):
        phase = (k / per_pass) % 2.0
        x = 0.5 + (width - 1.0) * min(phase, 2.0 - phase) + scatter * rng.normal()
        while not window.low <= x <= window.high:  # a plate turns the wire back
            x = 2.0 * (window.low if x < window.low else window.high) - x
        window.drop(x, rng.random() < stick)
    places = np.array(window.places)
    packing = turns * math.pi / 4 / (width * float(np.percentile(places[:, 1], 99.0)))
    triangles = Delaunay(places).simplices
    edges = np.unique(
        np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]]), axis=1), axis=0
    )
    ends = places[edges]
    edges = edges[np.hypot(*(ends[:, 0] - ends[:, 1]).T) < 1.9]  # longer ones span a hollow of the surface
    side_by_side = width / math.sqrt(HEXAGONAL / packing)
    squares = float((np.diff(edges, axis=1).astype(float) ** 2).sum())
    return squares / turns / side_by_side**2 / (1.0 - side_by_side / turns), packing


@pytest.mark.parametrize(
    ("per_pass", "scatter", "repeat"),
    [
        (95.0, 0.3, 0.0),
        (95.0, 3.0, 0.0),
        (54.7, 0.0, 0.0),
        (54.7, 3.0, 0.0),
        (34.3, 1.0, 0.0),
        (20.7, 3.0, 0.0),
        (10.3, 3.0, 0.0),
        (5.3, 10.0, 0.0),
        (5.3, 1.0, 0.0),
        (20.0, 1.0, 1.0),
        (10.0, 1.0, 1.0),
        (5.0, 1.0, 1.0),
        (5.0, 3.0, 1.0),
    ],
    ids=lambda v: f"{v:g}",
)
def test_neighbours_are_as_far_apart_in_number_as_dropped_discs(per_pass: float, scatter: float, repeat: float) -> None:
    # whole numbers of turns to a pass meet the same places again and again: repeat 1; others drift: repeat 0
    found, packing = _dropped(per_pass, scatter)
    wound = Wound(4000, 1.0, 100.0, packing, Filled(0.9, 1.0, 3.0, 1.0))
    law = neighbours(wound, Laying(per_pass, scatter, repeat, contact=1.0)).total
    # Two constants of the law (0.27, 0.1) were fitted to depositions like these; heaps were not fitted at all. One
    # deposition of 40 rows scatters by 3-5 %; the law knows heaps by one harmonic and a mean way to roll only, which
    # shows most where scatter smears steep heaps (5 turns a pass, 3 wires).
    smeared = repeat and scatter > 2.0
    assert law == pytest.approx(found, rel=0.30 if smeared else 0.15)


@pytest.mark.parametrize(("stick", "loosest"), [(0.1, 0.79), (0.3, 0.73)], ids=["one in ten", "three in ten"])
def test_a_looser_coil_is_less_even(stick: float, loosest: float) -> None:
    # some turns stay where they first touch; the law's growth with 0.81/k is assumed and was not fitted to this
    found, packing = _dropped(34.3, 0.3, stick)
    assert 0.68 < packing < loosest
    wound = Wound(4000, 1.0, 100.0, packing, Filled(0.9, 1.0, 3.0, 1.0))
    assert neighbours(wound, Laying(34.3, 0.3, 0.0, contact=1.0)).total == pytest.approx(found, rel=0.15)
    assert found > 1.05 * _dropped(34.3, 0.3)[0]


def test_a_fast_traverse_raises_it_only_where_its_places_repeat() -> None:
    drifting = [_dropped(t, 1.0)[0] for t in (34.3, 10.3, 5.3)]
    repeating = [_dropped(t, 1.0)[0] for t in (34.0, 10.0, 5.0)]
    assert max(drifting) < 1.2 * min(drifting)
    assert repeating[1] > 1.3 * repeating[0]
    assert repeating[2] > 1.8 * repeating[0]
    scatter = 75.8 * UM
    ours = [[hand_capacitance(a1(), Laying(t, scatter, r, 0.6)) for t in (50, 15, 7)] for r in (0.0, 1.0)]
    assert max(ours[0]) < 1.1 * min(ours[0])
    assert ours[1][1] > 1.3 * ours[1][0]
    assert ours[1][2] > 1.8 * ours[1][0]


def test_hollows_that_wait_for_chance_turns_are_memoryless_growth() -> None:
    """The law's bound v = 1 - f, by growing it: last-passage percolation with geometric waits, added up here."""
    rng, size, fill = np.random.default_rng(3), 1500, 0.4
    # a hollow's wait w >= 1 passes; P(w > k) = (1 - f)^(2 k) makes a row take 1/f passes
    wait = rng.geometric(1.0 - (1.0 - fill) ** 2, (size, size)).astype(float)
    grown = np.zeros((size, size))
    first = rng.geometric(fill, (2, size)).astype(float)  # edges in the steady state (Burke)
    grown[0, 1:], grown[1:, 0] = np.cumsum(first[0, 1:]), np.cumsum(first[1, 1:])
    for i in range(1, size):
        for j in range(1, size):
            grown[i, j] = max(grown[i - 1, j], grown[i, j - 1]) + wait[i, j]
    steps = (grown[1:, 1:] - grown[:-1, 1:]) * fill  # in rows
    beside = (grown[1:, :-1] - grown[:-1, 1:]) * fill
    assert steps.mean() == pytest.approx(1.0, rel=0.03)
    assert (steps**2).mean() == pytest.approx(2.0 - fill, rel=0.05)  # 1 + v; two million steps, far from independent
    assert (beside**2).mean() == pytest.approx(2.0 * (1.0 - fill), rel=0.08)  # 2 v


@pytest.mark.parametrize("rolling", [0.01, 0.5, 3.0, 50.0])
def test_a_heap_is_as_steep_as_rolling_needs(rolling: float) -> None:
    # by bisection of u (2/(1-u^2) - 1/4) = J sin, not by the cubic
    places = 2.0 * math.pi * rolling / 2.0  # w with no scatter and repeat 1: m = 2

    def slope(j: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(60):
            u = 0.5 * (low + high)
            low, high = (u, high) if u * (2.0 / (1.0 - u * u) - 0.25) < j else (low, u)
        return 0.5 * (low + high)

    x = (np.arange(400) + 0.5) / 400
    mean = float(np.mean([slope(rolling * math.sin(0.5 * math.pi * t)) ** 2 for t in x]))
    assert heap_slope(places, 0.0, 1.0) == pytest.approx(mean, rel=1e-3)  # midpoint rule of 400
    assert heap_slope(places, 0.0, 0.0) == 0.0


# ---- the interval before any calibration ----


def test_a_hand_wound_coil_falls_into_the_usual_band() -> None:
    air, wax = hand_capacitance(a1(1.0), HAND), hand_capacitance(a1(2.2), HAND)
    # the project's design, from another deposition: 60 pF (30-120) and 85 pF (50-170), wax over air 1.35-1.7
    assert air == pytest.approx(60 * PF, rel=0.15)  # its own depositions differ by that
    assert wax == pytest.approx(85 * PF, rel=0.15)
    assert 1.35 < wax / air < 1.7


@pytest.mark.parametrize("filler", [1.0, 2.2], ids=["air", "wax"])
def test_an_earlier_deposition_of_discs_that_touch_agrees(filler: float) -> None:
    # worked figures of the project's design at 80, 50, 30, 15, 7 turns a pass; its places repeat (whole numbers) and
    # its discs touch all along. Its scatter is not on record (one wire assumed), so a third is allowed.
    earlier = {1.0: (59, 58, 72, 111, 151), 2.2: (79, 78, 97, 152, 204)}[filler]
    for per_pass, expected in zip((80, 50, 30, 15, 7), earlier, strict=True):
        found = hand_capacitance(a1(filler), Laying(per_pass, 75 * UM, 1.0, 1.0))
        assert found == pytest.approx(expected * PF, rel=0.34)


def test_two_bare_wires_lie_below_every_coil() -> None:
    loosest = hand_capacitance(a1(1.0, packing=0.52), Laying(50, 0.05 * MM, 0.0, 0.2))
    assert loosest > 135.4 * MM * two_wires(63.5 * UM, 71 * UM)


# ---- scaling and order ----

shares = st.floats(0.0, 1.0)


@given(st.floats(5.0, 200.0), st.floats(0.0, 2.0), shares, shares, st.floats(0.55, 0.85), st.floats(0.1, 10.0))
def test_capacitance_scales_with_length_and_permittivity(
    per_pass: float, scatter: float, repeat: float, contact: float, packing: float, size: float
) -> None:
    base = hand_capacitance(a1(packing=packing), Laying(per_pass, scatter * MM, repeat, contact))
    wire = Filled(63.5 * UM * size, 71 * UM * size, 3.7, 1.0)
    larger = Wound(7600, 135.4 * MM * size, 10.5 * MM * size, packing, wire)
    laying = Laying(per_pass, scatter * MM * size, repeat, contact)
    assert hand_capacitance(larger, laying) == pytest.approx(size * base, rel=1e-7)  # the series stops at 1e-9
    double = Wound(7600, 135.4 * MM, 10.5 * MM, packing, Filled(63.5 * UM, 71 * UM, 7.4, 2.0))
    laying = Laying(per_pass, scatter * MM, repeat, contact)
    assert hand_capacitance(double, laying) == pytest.approx(2 * base, rel=1e-7)


@given(st.floats(5.0, 200.0), st.floats(0.0, 2.0), shares, shares, st.floats(0.55, 0.85))
def test_more_scatter_repeat_and_wax_hold_more(
    per_pass: float, scatter: float, repeat: float, contact: float, packing: float
) -> None:
    base = hand_capacitance(a1(packing=packing), Laying(per_pass, scatter * MM, repeat, contact))
    waxed = hand_capacitance(a1(2.2, packing), Laying(per_pass, scatter * MM, repeat, contact))
    assert 1.2 < waxed / base < 2.2  # never more than the wax's own permittivity
    assert hand_capacitance(a1(packing=packing), Laying(per_pass, scatter * MM, 1.0, contact)) >= base * (1 - 1e-12)
    assert hand_capacitance(a1(packing=packing), Laying(per_pass, (scatter + 1) * MM, 0.0, contact)) > hand_capacitance(
        a1(packing=packing), Laying(per_pass, scatter * MM, 0.0, contact)
    ) * (1 - 1e-12)


def test_a_coil_of_many_rows_falls_off_as_one_over_its_rows() -> None:
    # same window and wire, twice the turns: C N/(1 - n/N) is the same
    small, large = a1(turns=4000), a1(turns=8000)
    ratio = hand_capacitance(small, HAND) / hand_capacitance(large, HAND)
    n = small.side_by_side
    assert ratio == pytest.approx(2.0 * (1 - n / 4000) / (1 - n / 8000), rel=1e-9)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: a1(turns=200), "two or more; came 200 turns, 139 to a row"),
        (lambda: a1(packing=0.95), "packing lies above 0"),
        (lambda: Wound(100, -1.0, 0.01, 0.65, Filled(6e-5, 7e-5, 3.7, 1.0)), "mean turn is above 0"),
        (lambda: Wound(100, 0.1, 5e-5, 0.65, Filled(6e-5, 7e-5, 3.7, 1.0)), "as high as the wire is thick"),
        (lambda: Laying(0.5, 0.0, 0.0, 0.5), "at least one turn"),
        (lambda: Laying(50, math.nan, 0.0, 0.5), "scatter is a length"),
        (lambda: Laying(50, 0.0, 1.5, 0.5), "repeat is a share"),
        (lambda: Laying(50, 0.0, 0.0, -0.1), "contact is a share"),
    ],
    ids=["one row", "packing", "mean turn", "window", "turns a pass", "scatter", "repeat", "contact"],
)
def test_what_cannot_be_is_refused_in_words(call, says: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(DomainError, match=says):
        call()
