"""Mutual inductance of coils in air. Sources beside each check; ids are those of our list of check values.

Witnesses: a published pair of coils, Maxwell's circles, a plain double sum over filaments, the dipole far away, and the
law that a coil's own inductance is the sum over its parts, which ties this module to the other formula for one coil.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipk

from lodestring.errors import DomainError
from lodestring.physics.coil import CoilBox, air_inductance, coil_field, moment, mutual_inductance

MU0 = 4e-7 * math.pi
MM = 1e-3
A1 = CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 10.5 * MM)
SHORT = CoilBox(30 * MM, 4 * MM, 8 * MM, 6 * MM)
Offset = tuple[float, float, float]

# L12: a coil of three sections and a disc coil; levitation-coil geometry, Garnier; Lyle 1914.
# mean radius, half depth, height [m], turns
SECTIONS = [(0.2717, 0.00576, 0.0694, 26.6), (0.28504, 0.00754, 0.125, 81.7), (0.33734, 0.04468, 0.1615, 607.7)]
DISC = CoilBox(0.0, 0.246, 0.7, 0.1)


def section(row: int) -> CoilBox:
    mean, half, height, _ = SECTIONS[row]
    return CoilBox(0.0, mean - half, mean + half, height)


def test_the_published_pair_of_coils_has_its_mutual_inductance() -> None:
    value = sum(
        turns * 80 * mutual_inductance(section(row), DISC, (0.0, 0.0, 1.575))
        for row, (_, _, _, turns) in enumerate(SECTIONS)
    )
    assert value == pytest.approx(0.611729e-3, rel=3e-4)  # printed, from a model of filaments: low by 2.4e-4
    assert value == pytest.approx(0.611875968e-3, rel=1e-7)  # computed exactly for this list


def test_coils_one_in_anothers_bore_add_up_to_the_published_self_inductance() -> None:
    value = 0.0
    for i, j in itertools.product(range(3), range(3)):
        part = air_inductance(section(i)) if i == j else mutual_inductance(section(i), section(j), (0.0, 0.0, 0.0))
        value += SECTIONS[i][3] * SECTIONS[j][3] * part
    assert value == pytest.approx(0.386929374, rel=3e-4)  # printed with the same model as the pair


# parts of A1: (box, height of its middle)
CUTS = {
    "two floors": (
        [
            (CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 4 * MM), -3.25 * MM),
            (CoilBox(52 * MM, 3.2 * MM, 6.8 * MM, 6.5 * MM), 2 * MM),
        ],
        4e-5,  # windings that touch face to face
    ),
    "one round the other": (
        [
            (CoilBox(52 * MM, 3.2 * MM, 4.5 * MM, 10.5 * MM), 0.0),
            (CoilBox(52 * MM, 4.5 * MM, 6.8 * MM, 10.5 * MM), 0.0),
        ],
        1e-6,
    ),
    "four quarters": (
        [
            (CoilBox(52 * MM, inner * MM, outer * MM, height * MM), z * MM)
            for (inner, outer), (height, z) in itertools.product([(3.2, 4.5), (4.5, 6.8)], [(4.0, -3.25), (6.5, 2.0)])
        ],
        4e-5,
    ),
}


@pytest.mark.parametrize(("parts", "tolerance"), CUTS.values(), ids=CUTS)
def test_a_coil_cut_in_parts_has_the_inductance_of_the_whole(
    parts: list[tuple[CoilBox, float]], tolerance: float
) -> None:
    whole = A1.depth * A1.height
    total = 0.0
    for (one, low), (other, high) in itertools.product(parts, parts):
        share = one.depth * one.height * other.depth * other.height / whole**2
        total += share * (
            air_inductance(one)
            if (one, low) == (other, high)
            else mutual_inductance(one, other, (0.0, 0.0, high - low))
        )
    assert total == pytest.approx(air_inductance(A1), rel=tolerance)


def filaments(box: CoilBox, offset: Offset) -> tuple[np.ndarray, np.ndarray]:
    """Points (k, 3) and line elements (k, 2), Gauss in every direction."""

    def gauss(low: float, high: float, count: int) -> tuple[np.ndarray, np.ndarray]:
        nodes, weights = np.polynomial.legendre.leggauss(count)
        return low + (high - low) * (0.5 + 0.5 * nodes), (high - low) * 0.5 * weights

    points, steps = [], []
    x, wx = gauss(-box.straight / 2, box.straight / 2, 16)
    phi, wp = gauss(-math.pi / 2, math.pi / 2, 12)
    for r, wr in zip(*gauss(box.inner, box.outer, 3), strict=True):
        for z, wz in zip(*gauss(-box.height / 2, box.height / 2, 3), strict=True):
            share = wr * wz / (box.depth * box.height)
            for sign in (1.0, -1.0):
                points.append(np.stack([x, 0 * x - sign * r, 0 * x + z], axis=1))
                steps.append(np.stack([sign * wx * share, 0 * x], axis=1))
                points.append(
                    np.stack([sign * (box.straight / 2 + r * np.cos(phi)), sign * r * np.sin(phi), 0 * phi + z], axis=1)
                )
                steps.append(sign * r * (wp * share)[:, None] * np.stack([-np.sin(phi), np.cos(phi)], axis=1))
    return np.concatenate(points) + np.array(offset), np.concatenate(steps)


PLACES: dict[str, Offset] = {
    "beside": (0.0, 21.0, 0.0),
    "beside and higher": (5.0, 20.0, 3.0),
    "behind each other": (68.0, 0.0, 0.0),
    "stacked": (0.0, 0.0, 15.0),
    "stacked below, shifted": (10.0, 6.0, -16.0),
    "slanted away": (40.0, 30.0, 20.0),
    "three lengths away": (300.0, 100.0, 80.0),
}


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_two_coils_couple_as_neumanns_sum_over_filaments(place: Offset) -> None:
    offset = (place[0] * MM, place[1] * MM, place[2] * MM)
    one, run = filaments(A1, (0.0, 0.0, 0.0))
    two, turn = filaments(SHORT, offset)
    apart = np.linalg.norm(two[None] - one[:, None], axis=2)
    known = 1e-7 * float(np.sum((run @ turn.T) / apart))
    # three Gauss points over depth and height, windings some 6 mm apart: up to 1e-5, most where M nearly cancels
    assert mutual_inductance(A1, SHORT, offset) == pytest.approx(known, rel=2e-5)


def maxwell(a: float, b: float, z: float) -> float:
    m = 4 * a * b / ((a + b) ** 2 + z * z)
    k = math.sqrt(m)
    return float(MU0 * math.sqrt(a * b) * ((2 / k - k) * ellipk(m) - 2 / k * ellipe(m)))


def test_round_coils_on_one_axis_are_heaps_of_maxwells_circles() -> None:
    one, other = CoilBox(0.0, 3 * MM, 8 * MM, 8 * MM), CoilBox(0.0, 5 * MM, 7 * MM, 4 * MM)
    rule = np.polynomial.legendre.leggauss(8)
    u, w = 0.5 * rule[0], 0.5 * rule[1]
    known = 0.0
    for i, j, k, l in itertools.product(range(8), repeat=4):
        a, b = 5.5 * MM + u[i] * one.depth, 6 * MM + u[j] * other.depth
        known += w[i] * w[j] * w[k] * w[l] * maxwell(a, b, 9 * MM + u[l] * other.height - u[k] * one.height)
    assert mutual_inductance(one, other, (0.0, 0.0, 9 * MM)) == pytest.approx(known, rel=1e-6)


@pytest.mark.parametrize("distance", [0.8, 3.0, 30.0, 3000.0])
@pytest.mark.parametrize(
    "way", [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.6, 0.0, 0.8)], ids=["over", "off the end", "aslant"]
)
def test_far_away_two_coils_are_two_dipoles(way: Offset, distance: float) -> None:
    dipoles = MU0 * moment(A1) ** 2 * (3 * way[2] ** 2 - 1) / (4 * math.pi * distance**3)
    value = mutual_inductance(A1, A1, (way[0] * distance, way[1] * distance, way[2] * distance))
    # what is left falls with the square of the distance: 7 (76 mm / distance)^2 / 10 at most; then rounding
    assert value == pytest.approx(dipoles, rel=0.7 * (0.076 / distance) ** 2 + 2e-7)


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_each_coil_couples_with_the_other_as_the_other_with_it(place: Offset) -> None:
    x, y, z = (part * MM for part in place)
    there = mutual_inductance(A1, SHORT, (x, y, z))
    assert mutual_inductance(SHORT, A1, (-x, -y, -z)) == pytest.approx(there, rel=1e-9)
    for mirrored in ((-x, y, z), (x, -y, z), (x, y, -z)):
        assert mutual_inductance(A1, SHORT, mirrored) == pytest.approx(there, rel=1e-9)


def test_a_small_coil_in_the_bore_links_the_field_there() -> None:
    # flux through a small coil = mu0 H moment; second route through the field's code
    small = CoilBox(0.0, 0.2 * MM, 0.3 * MM, 0.2 * MM)
    at = (12 * MM, 0.4 * MM, 2 * MM)
    known = MU0 * float(coil_field(A1, np.array([at]))[0, 2]) * moment(small)
    # H bends by about (0.3 / 3)^2 / 4 over it
    assert mutual_inductance(A1, small, at) == pytest.approx(known, rel=3e-3)
    assert mutual_inductance(small, A1, (-at[0], -at[1], -at[2])) == pytest.approx(known, rel=3e-3)


def test_the_coupling_runs_on_where_the_way_of_summing_changes() -> None:
    edge = 3.0 * (A1.straight + 2 * A1.outer + A1.height)
    near, far = (mutual_inductance(A1, A1, (edge * (1 + step), 0.0, 0.0)) for step in (-1e-9, 1e-9))
    # the closed forms lose digits at this distance
    assert near == pytest.approx(far, rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 5.0), st.floats(0.1, 5.0), st.floats(1e-3, 1e3))
def test_coupling_grows_with_the_size_of_the_whole(s: float, gap: float, unit: float) -> None:
    box = CoilBox(s, 0.5, 1.0, 1.0)
    value = mutual_inductance(box, box, (0.0, 0.0, 1.0 + gap))
    assert 0.0 < value < air_inductance(box)  # over each other, k lies between 0 and 1
    scaled = CoilBox(s * unit, 0.5 * unit, unit, unit)
    assert mutual_inductance(scaled, scaled, (0.0, 0.0, (1.0 + gap) * unit)) == pytest.approx(value * unit, rel=1e-6)


BAD = {
    "same place": (A1, A1, (0.0, 0.0, 0.0)),
    "windings cut": (A1, A1, (0.0, 10 * MM, 3 * MM)),
    "too wide for the bore": (A1, CoilBox(10 * MM, 1 * MM, 4 * MM, 2 * MM), (0.0, 0.0, 0.0)),
    "through the end of the bore": (A1, CoilBox(0.0, 1 * MM, 2 * MM, 2 * MM), (28 * MM, 0.0, 0.0)),
}


@pytest.mark.parametrize(("one", "other", "offset"), BAD.values(), ids=BAD)
def test_windings_that_share_space_are_refused(one: CoilBox, other: CoilBox, offset: Offset) -> None:
    with pytest.raises(DomainError, match="share space at an offset"):
        mutual_inductance(one, other, offset)


def test_an_offset_that_is_no_place_is_refused() -> None:
    with pytest.raises(DomainError, match="three finite numbers"):
        mutual_inductance(A1, A1, (0.0, math.nan, 1.0))
