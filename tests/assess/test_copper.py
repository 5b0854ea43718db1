"""A coil as copper: stretched wire keeps its volume, and belly, tape and stretch go where they belong."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from example_sets import BRIDGE, model_of
from hypothesis import given
from hypothesis import strategies as st

from lodestring.assess.steps import CopperIn, StretchIn, TimeIn, copper_step, stretch_step, time_step

# Invented round figures near a six-rod coil of 42 AWG; resistivity and density of IEC 60028.
COIL = CopperIn(
    straight=51.4e-3,
    inner=2.5e-3,
    height=10.5e-3,
    turns=7800,
    bare=63.5e-6,
    overall=71e-6,
    packing=0.65,
    belly=0.15,
    strain=0.0,
    resistivity=1 / 58e6,
    density=8890.0,
    enamel_density=1200.0,
)
ROUNDING = 1e-12
strains = st.floats(0.0, 0.12)


@given(strains)
def test_stretching_keeps_the_volume_of_the_copper(strain: float) -> None:
    wound = copper_step(replace(COIL, strain=strain))
    thin = COIL.bare / math.sqrt(1 + strain)
    on_the_coil = math.pi / 4 * thin**2 * wound.length
    off_the_spool = math.pi / 4 * COIL.bare**2 * wound.length_off_spool
    assert on_the_coil == pytest.approx(off_the_spool, rel=ROUNDING)
    assert wound.copper_mass == pytest.approx(8890.0 * on_the_coil, rel=ROUNDING)


@given(strains)
def test_resistance_is_that_of_the_thinner_longer_wire(strain: float) -> None:
    wound = copper_step(replace(COIL, strain=strain))
    thin = COIL.bare / math.sqrt(1 + strain)
    assert wound.resistance == pytest.approx(wound.length / 58e6 / (math.pi / 4 * thin**2), rel=ROUNDING)
    # per metre off the spool it is (1 + e)^2 times the spool's own
    spool = 1 / 58e6 / (math.pi / 4 * COIL.bare**2)
    assert wound.resistance / wound.length_off_spool == pytest.approx(spool * (1 + strain) ** 2, rel=ROUNDING)


def test_five_per_cent_of_stretch_cost_5_per_cent_of_copper_and_add_4_6_per_cent_of_resistance() -> None:
    # Worked for depth 4.56, mean turn 132.8 mm: depth / 1.05, so the mean turn is pi 0.217 = 0.68 mm = 0.51 % shorter;
    # R 1.05 x 0.9949 = +4.46 %, copper 0.9949/1.05 = -5.25 %. (For the notes' coil, 3.6 of 135.4 mm: +4.6, -5.1.)
    loose, tight = copper_step(COIL), copper_step(replace(COIL, strain=0.05))
    assert tight.resistance / loose.resistance - 1 == pytest.approx(0.0446, abs=5e-4)
    assert tight.copper_mass / loose.copper_mass - 1 == pytest.approx(-0.0525, abs=5e-4)


def test_the_belly_stands_out_at_mid_side_only() -> None:
    flat, round_ = copper_step(replace(COIL, belly=0.0)), copper_step(COIL)
    assert flat.depth_side == flat.depth_end == round_.depth_end
    assert round_.depth_side == pytest.approx(1.15 * round_.depth_end, rel=ROUNDING)
    assert round_.outer_width - flat.outer_width == pytest.approx(2 * 0.15 * flat.depth_end, rel=1e-9)
    assert (round_.outer_length, round_.length, round_.resistance) == (flat.outer_length, flat.length, flat.resistance)


def test_a_coil_is_its_core_and_twice_its_depth() -> None:
    wound = copper_step(COIL)
    assert wound.outer_length == pytest.approx(51.4e-3 + 2 * (2.5e-3 + wound.depth_end), rel=ROUNDING)
    assert wound.outer_width == pytest.approx(2 * (2.5e-3 + wound.depth_side), rel=ROUNDING)


def test_stretch_stops_where_the_wire_parts() -> None:
    pull = StretchIn(1.0, 63.5e-6, 70e6, 220e6, 0.12, 1.0)  # 1 N: 316 MPa, above its strength
    assert stretch_step(pull) == 0.12
    assert stretch_step(replace(pull, tension=0.0)) == 0.0


def test_the_factor_on_the_law_of_stretch_is_a_factor() -> None:
    pull = StretchIn(0.18, 63.5e-6, 70e6, 220e6, 0.12, 1.0)
    assert stretch_step(replace(pull, factor=2.0)) == pytest.approx(2 * stretch_step(pull), rel=ROUNDING)


def test_time_is_cranking_and_pauses() -> None:
    # 7,000 turns at 200 a minute: 35 minutes; six pauses of a minute.
    assert time_step(TimeIn(7000, 200 / 60, 6, 60.0)) == pytest.approx(41 * 60, rel=ROUNDING)


@pytest.mark.parametrize("packing", ['"hand"', '"traverse"', '"perfect machine layers"', "0.88", "0.9068"])
def test_every_way_of_packing_gives_a_depth_inside_its_interval(packing: str) -> None:
    # the upper end of a tight packing is the hexagonal stack, pi / (2 sqrt 3) (plane geometry), and no rounding beyond
    fact = model_of("heron", {f"{BRIDGE}.packing": packing}).fact(f"{BRIDGE}.coil_depth_end")
    assert fact.low is not None
    assert fact.high is not None
    assert 0.0 < fact.low <= fact.number <= fact.high
