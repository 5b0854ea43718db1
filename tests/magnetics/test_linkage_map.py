"""The linkage map that sound is made from: its error, its harmonics, its symmetry, strings beside and between rods."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.inductance import answer, coil_touch, remanence_charge
from lodestring.physics.linkage_map import LinkageMap, linkage_map
from lodestring.physics.poles import PoleSystem, Rod
from lodestring.physics.string_field import StringShape
from lodestring.physics.string_run import Line, Source, line_fields, string_result

BOX = CoilBox(52e-3, 3.2e-3, 6.8e-3, 10.5e-3)
TOP = 8e-3
D = 0.43e-3
SHAPE = StringShape(math.pi * D * D / 4.0, D / 2.0, 99.0, 2.0)
"""Steel of 0.43 mm, mu 100, saturation 2 T: the string of the design's harmonics, assumed there."""
UP, SIDE = (-1.35e-3, 2.35e-3), 2.5e-3


@cache
def row() -> tuple[PoleSystem, np.ndarray, Source]:
    """Case A1 of the finite-element table: six rods of recoil permeability 4, remanence 1 T."""
    system = PoleSystem([Rod((i - 2.5) * 10.4e-3, 0.0, 0.0, 16e-3, 2.4e-3, 4.0) for i in range(6)])
    coil = answer(system, coil_touch(system, BOX))
    return system, remanence_charge(system, [1.0] * 6), Source(BOX, (0.0, 0.0, 0.0), coil.sigma)


def over(x: float, order: tuple[int, int] = (12, 9), height: float = 2.25e-3) -> LinkageMap:
    system, magnets, source = row()
    return linkage_map(system, magnets, (source,), Line(x, TOP + height, 0.0, (0.0,)), SHAPE, UP, SIDE, order)


THIRD = -0.5 * 10.4e-3


def test_twelve_by_nine_places_are_enough() -> None:
    """Against 18 by 14 places. 4e-5 of the linkage and 6e-4 of its slope are the design's own figures for 12 by 9 on
    this case; half as much again allows for the places of the grid they were taken on."""
    coarse, fine = over(THIRD), over(THIRD, (18, 14))
    up, side = np.meshgrid(np.linspace(-1.3e-3, 2.3e-3, 31), np.linspace(-2.4e-3, 2.4e-3, 25), indexing="ij")
    most = np.abs(fine.linkage(up, side)).max()
    assert np.abs(coarse.linkage(up, side) - fine.linkage(up, side)).max() < 6e-5 * most
    steepest = np.abs(fine.slopes(up, side)[0]).max()
    for one, other in zip(coarse.slopes(up, side), fine.slopes(up, side), strict=True):
        assert np.abs(one - other).max() < 9e-4 * steepest


def test_each_step_of_places_leaves_less() -> None:
    """Order of convergence: a smooth function's Chebyshev series falls faster than any power."""
    fine = over(THIRD, (18, 14))
    up, side = np.meshgrid(np.linspace(-1.3e-3, 2.3e-3, 21), np.linspace(-2.4e-3, 2.4e-3, 17), indexing="ij")
    left = [
        np.abs(over(THIRD, order).linkage(up, side) - fine.linkage(up, side)).max()
        for order in ((6, 5), (9, 7), (12, 9))
    ]
    assert left[1] < left[0] / 4.0
    assert left[2] < left[1] / 4.0


@pytest.mark.parametrize(
    ("swing", "decibels"), [(0.1e-3, -34.4), (0.25e-3, -26.4), (0.5e-3, -20.4), (1e-3, -14.4)], ids=lambda v: f"{v:g}"
)
def test_second_harmonic_of_an_up_and_down_swing(swing: float, decibels: float) -> None:
    """The design's table for A1, string of 0.43 mm at 2.25 mm, saturated, worked out there with the poles' answer left
    as it is at rest; that alone moves the even part of the slope by about 2 per cent, so 0.3 dB."""
    angle = np.linspace(0.0, 2.0 * np.pi, 256, endpoint=False)
    linkage = over(THIRD, (18, 14)).linkage(swing * np.cos(angle), 0.0 * angle)[0]
    volts = np.abs(np.fft.rfft(linkage) * np.arange(129))
    assert 20.0 * math.log10(volts[2] / volts[1]) == pytest.approx(decibels, abs=0.3)


def test_its_slope_is_the_output_worked_out_from_the_sensitivity_along_the_string() -> None:
    """A second route: the string's sensitivity summed along it. The two differ in what the poles' answer does as the
    string moves, a few tenths of a per cent."""
    system, magnets, source = row()
    line = Line(THIRD, TOP + 2.25e-3, 0.0, (0.0,))
    found = string_result(SHAPE, line_fields(system, magnets, (source,), line, SHAPE.area))
    rise, _ = over(THIRD).slopes(np.zeros(1), np.zeros(1))
    assert rise[0, 0] == pytest.approx(found.output[0], rel=5e-3)


def test_a_string_between_two_rods_swings_alike_to_both_sides() -> None:
    """x = 0 is the mirror line of six rods: the linkage is even in the sideways displacement, so that a sideways swing
    gives no fundamental, only its even harmonics."""
    between = over(0.0)
    side = np.linspace(0.0, 2.4e-3, 7)
    up = np.zeros_like(side)
    even = between.linkage(up, side) - between.linkage(up, -side)
    assert np.abs(even).max() < 1e-9 * np.abs(between.linkage(up, side)).max()
    angle = np.linspace(0.0, 2.0 * np.pi, 128, endpoint=False)
    volts = np.abs(np.fft.rfft(between.linkage(0.0 * angle, 1e-3 * np.sin(angle))[0]) * np.arange(65))
    assert volts[1] < 1e-6 * volts[2]


def test_a_bent_string_loses_level_as_it_leaves_its_rod() -> None:
    """Between two rods 10.4 mm apart the slope is least midway; a bend of 2.4 mm off a rod lies on that way down."""
    side = np.linspace(0.0, 2.4e-3, 9)
    rise = np.abs(over(THIRD).slopes(np.zeros_like(side), side)[0][0])
    assert np.all(np.diff(rise) < 0.0)


def test_a_string_between_its_two_rods_gains_as_it_is_bent_toward_one() -> None:
    """Two rods 9 mm apart and the string midway: a bend of 1.5 mm to either side brings it nearer to a rod and raises
    the slope alike; over one rod the same bend lowers it."""
    rods = [Rod(x, 0.0, 0.0, 16e-3, 2.4e-3, 4.0) for x in (-4.5e-3, 4.5e-3)]
    system = PoleSystem(rods)
    box = CoilBox(9e-3, 3.2e-3, 6.8e-3, 10.5e-3)
    coil = Source(box, (0.0, 0.0, 0.0), answer(system, coil_touch(system, box)).sigma)
    charge = remanence_charge(system, [1.0, 1.0])
    two = linkage_map(system, charge, (coil,), Line(0.0, TOP + 2.25e-3, 0.0, (0.0,)), SHAPE, UP, SIDE)
    side = np.array([-1.5e-3, 0.0, 1.5e-3])
    slope = np.abs(two.slopes(np.zeros(3), side)[0][0])
    assert slope[0] == pytest.approx(slope[2], rel=1e-6)
    assert slope[0] > 1.05 * slope[1]
    alone = np.abs(over(THIRD).slopes(np.zeros(3), side)[0][0])
    assert alone[2] < 0.95 * alone[1]


@pytest.mark.parametrize(
    ("up", "side", "must"),
    [
        ((-2.3e-3, 1e-3), 1e-3, "passes a pole piece"),
        ((1e-3, 1e-3), 1e-3, "covers a range"),
        ((-1e-3, 1e-3), 0.0, "covers a range"),
    ],
    ids=["into the rod", "no range", "no side"],
)
def test_a_map_that_cannot_be_gets_a_sentence(up: tuple[float, float], side: float, must: str) -> None:
    system, magnets, source = row()
    with pytest.raises(DomainError, match=must):
        linkage_map(system, magnets, (source,), Line(THIRD, TOP + 2.25e-3, 0.0, (0.0,)), SHAPE, up, side)


def test_a_place_outside_the_map_gets_a_sentence() -> None:
    with pytest.raises(DomainError, match="is followed from"):
        over(THIRD, (6, 5)).linkage(np.array([3e-3]), np.array([0.0]))
