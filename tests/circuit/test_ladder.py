"""The R-L ladder for export. Witnesses: a rod's exact complex permeability through the pole pieces of A1 and A3 (design
page: what such fits reach), networks of known elements, circuit algebra written out here, passivity.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.errors import DomainError
from lodestring.physics.coil import CoilBox, air_inductance, mutual_inductance
from lodestring.physics.eddy import rod_permeability
from lodestring.physics.inductance import answer, coil_touch, poles_inductance
from lodestring.physics.ladder import CoupledLadder, Ladder, export_frequencies, fit_coupled, fit_ladder
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.sheet_coil import inductance_change, sheet_touch
from lodestring.physics.sheet_modes import sheet_modes
from lodestring.physics.sheet_shape import Outline, cover

MM = 1e-3
F = export_frequencies()
BETWEEN = np.sqrt(F[1:] * F[:-1])
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)


@cache
def six_rods(mu: float, conductivity: float, between: bool = False) -> np.ndarray:
    """L (f,) [H] of 7600 turns round six rods of magnetics case A1 or A3, complex."""
    air, out, touch = air_inductance(A1), [], None
    for f in BETWEEN if between else F:
        seen = rod_permeability(mu, conductivity, 2.4 * MM, float(f))
        system = PoleSystem([Rod((k - 2.5) * 10.4 * MM, 0, 0, 16 * MM, 2.4 * MM, seen) for k in range(6)])
        touch = touch or coil_touch(system, A1)
        found = answer(system, touch)
        out.append(air + poles_inductance(system, found, touch, found))
    return 7600**2 * np.array(out)


# The design page: error in L and number of elements (sections and the inductor in series) of such fits, with a grid
# of 120. Alnico: 5 elements, 1.4e-5. Steel: 17 elements, 1.2e-6
RODS = {"A1, alnico": (4.0, 2e6, 6, 1.4e-5), "A3, steel": (200.0, 5e6, 17, 1.2e-6)}


@pytest.mark.parametrize(("mu", "conductivity", "elements", "error"), RODS.values(), ids=RODS)
def test_rods_of_alnico_and_steel_are_a_ladder_as_good_as_the_design_says(
    mu: float, conductivity: float, elements: int, error: float
) -> None:
    exact = six_rods(mu, conductivity)
    ladder = fit_ladder(exact)
    assert 1 + len(ladder.sections) <= elements
    off = np.abs(ladder.inductance(F) - exact) / np.abs(exact)
    assert ladder.error == pytest.approx(float(off.max()), rel=1e-9)
    assert ladder.error <= error
    # and between the frequencies that it has seen
    other = six_rods(mu, conductivity, True)
    assert np.max(np.abs(ladder.inductance(BETWEEN) - other) / np.abs(other)) < 2 * error


def test_a_coarse_grid_gives_a_short_ladder_and_says_its_error() -> None:
    # the design page: A3 on a grid of 16 over a narrower range: 12 elements, 2.4e-5. Ours spans more decades
    exact = six_rods(200.0, 5e6)
    coarse, fine = fit_ladder(exact, grid=16), fit_ladder(exact, grid=120)
    assert len(coarse.sections) < len(fine.sections)
    assert fine.error < 1e-2 * coarse.error < 1e-4


def test_the_low_end_of_the_ladder_is_the_static_inductance() -> None:
    ladder = fit_ladder(six_rods(4.0, 2e6))
    whole = ladder.inductance_inf + sum(l for l, _ in ladder.sections)
    assert whole == pytest.approx(2.362772, rel=2e-4)  # magnetics page, A1: finite elements


KNOWN = {
    "one section": (1.3, ((0.5, 1.2e4),)),
    "two close ones": (0.8, ((0.3, 2e4), (0.3, 1.5e4))),
    "four decades": (2.0, ((0.1, 40.0), (0.2, 3e3), (0.3, 3e4))),
    "pure inductor": (1.0, ()),
}


@pytest.mark.parametrize(("inf", "sections"), KNOWN.values(), ids=KNOWN)
def test_a_ladder_of_known_elements_is_found_again(inf: float, sections: tuple[tuple[float, float], ...]) -> None:
    # impedances added as in any circuit book, not by the ladder's own formula
    s = 2j * math.pi * F
    z = s * inf + sum((s * l * r / (s * l + r) for l, r in sections), 0.0)
    ladder = fit_ladder(z / s)
    assert ladder.error < 1e-4
    assert ladder.inductance(F) == pytest.approx(z / s, rel=1e-4)
    assert len(ladder.sections) <= 2 * len(sections) + 1


def test_a_function_serves_as_well_as_its_values() -> None:
    def inductance(f: np.ndarray) -> np.ndarray:
        return np.asarray(1.0 + 0.4 / (1 + 2j * math.pi * f * 2e-5))

    assert fit_ladder(inductance) == fit_ladder(inductance(F), F)


@settings(max_examples=40)
@given(
    st.floats(0.01, 10.0),
    st.lists(st.tuples(st.floats(1e-3, 3.0), st.floats(1e-6, 1e-2)), min_size=0, max_size=6),
)
def test_every_ladder_is_passive_and_follows_what_is_passive(inf: float, parts: list[tuple[float, float]]) -> None:
    s = 2j * math.pi * F
    values = inf + sum((c / (1 + s * t) for c, t in parts), np.zeros_like(s))
    ladder = fit_ladder(values)
    assert ladder.inductance_inf >= 0.0
    assert all(l > 0.0 and r > 0.0 for l, r in ladder.sections)
    # two neighbours of the grid, T 13 % apart, stand for one between them: second order, d^2 / 8 = 2e-3 at most
    assert ladder.error < 2.2e-3


# ---- two coils ----


@cache
def pair() -> np.ndarray:
    """L (f, 2, 2) [H] of two unequal coils under one cover of brass."""
    one, other = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 8 * MM), CoilBox(50 * MM, 3.2 * MM, 7.6 * MM, 8 * MM)
    modes = sheet_modes(cover(Outline(0, 0, 70 * MM, 36 * MM, 3 * MM), 6 * MM, 12 * MM, 0.5 * MM), 1 / 6.2e-8)
    at = [(0.0, 8.8 * MM, 0.0), (0.0, -8.8 * MM, 0.0)]
    g, h = sheet_touch(modes, one, at[0]), sheet_touch(modes, other, at[1])
    air = mutual_inductance(one, other, (0.0, -17.6 * MM, 0.0))
    out = np.empty((len(F), 2, 2), dtype=complex)
    out[:, 0, 0] = air_inductance(one) + inductance_change(modes, g, g, F)
    out[:, 1, 1] = air_inductance(other) + inductance_change(modes, h, h, F)
    out[:, 0, 1] = out[:, 1, 0] = air + inductance_change(modes, g, h, F)
    return out * np.outer([5000, 4500], [5000, 4500])


def test_a_pair_under_one_cover_is_two_coils_and_shorted_loops() -> None:
    exact, ladder = pair(), fit_coupled(pair(), F)
    assert ladder.error < 5e-4
    assert np.all(np.linalg.eigvalsh(ladder.inductance_inf) > 0)
    assert all(t > 0 for t, _ in ladder.loops)
    # mutual inductance is negative here and its change too, which no ladder of the mutual alone could be
    assert exact[0, 0, 1].real < 0
    # as a circuit: loops of 1 H with their resistance, coupled to the two coils; loop currents eliminated here
    m = np.array([m for _, m in ladder.loops])
    t = np.array([t for t, _ in ladder.loops])
    for n in (0, 40, 79):
        s = 2j * math.pi * F[n]
        impedance = s * ladder.still - (s * m.T) @ np.diag(1 / (s + 1 / t)) @ (s * m)
        off = np.abs(impedance / s - exact[n]) / np.sqrt(
            np.outer(np.abs(exact[n].diagonal()), np.abs(exact[n].diagonal()))
        )
        assert off.max() <= ladder.error * (1 + 1e-9)


def test_turns_scale_a_pair() -> None:
    scale = np.outer([2.0, 0.5], [2.0, 0.5])
    one, other = fit_coupled(pair(), F), fit_coupled(scale * pair(), F)
    assert other.still == pytest.approx(scale * one.still, rel=1e-6)
    assert other.error == pytest.approx(one.error, rel=1e-3)


def test_two_coils_that_do_not_meet_are_two_ladders() -> None:
    s = 2j * math.pi * F
    values = np.zeros((len(F), 2, 2), dtype=complex)
    values[:, 0, 0] = 1 + 0.5 / (1 + 3e-5 * s)
    values[:, 1, 1] = 2 + 0.7 / (1 + 1e-4 * s)
    ladder = fit_coupled(values, F)
    assert ladder.error < 1e-3
    assert np.max(np.abs(ladder.inductance(F)[:, 0, 1])) < 1e-3


# ---- refused ----

VALUES = 1.0 + 0.4 / (1 + 2j * math.pi * F * 2e-5)
BAD: dict[str, tuple[Callable[[], Ladder | CoupledLadder], str]] = {
    "a coil that gives energy": (lambda: fit_ladder(VALUES.conj()), "loses energy"),
    "negative inductance": (lambda: fit_ladder(-VALUES), "loses energy"),
    "not a number": (lambda: fit_ladder(VALUES * math.nan), "finite"),
    "other length": (lambda: fit_ladder(VALUES[1:], F), "one finite inductance for each frequency"),
    "frequency 0": (lambda: fit_ladder(VALUES, F - F[0]), "above 0"),
    "one frequency": (lambda: fit_ladder(VALUES[:1], F[:1]), "four frequencies"),
    "three coils": (lambda: fit_coupled(np.ones((80, 3, 3)) + 0j, F), "two by two"),
    "one-sided": (lambda: fit_coupled(VALUES[:, None, None] * np.array([[1, 0.1], [0.2, 1]]), F), "either coil"),
}


@pytest.mark.parametrize(("act", "words"), BAD.values(), ids=BAD)
def test_what_is_no_passive_coil_is_refused(act: Callable[[], Ladder | CoupledLadder], words: str) -> None:
    with pytest.raises(DomainError, match=words):
        act()
