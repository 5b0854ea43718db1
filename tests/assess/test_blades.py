"""Blades, bars between rows and steel baseplates in the assessment. Sets are invented: plover and heron, changed.

Witnesses: finite elements (tests/magnetics/fem_results.json), magpylib (an open-source library for magnets), symmetry,
scaling, reciprocity, the long way round.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from example_sets import BRIDGE, model_of

from lodestring.assess import blocks, magnet_blocks, magnet_facts, pole_blocks, pole_bodies, string_blocks
from lodestring.assess.buildable import obstacles
from lodestring.assess.findings import strings
from lodestring.assess.model import Model
from lodestring.assess.pole_steps import poles_step, together_step
from lodestring.assess.report import Assessment
from lodestring.assess.uncertainty import Input
from lodestring.physics.panels import Box

FEM = Path(__file__).resolve().parent.parent / "magnetics" / "fem_results.json"
FRONT, REAR = "pickup.main.coil.front", "pickup.main.coil.rear"
Changes = dict[str, str | None]


def blade(path: str, length: float = 76.0, thick: float = 3.0, high: float = 18.0, magnet: str = "") -> Changes:
    """A coil's pole pieces changed into a blade [mm], of steel, or a magnet with this end up."""
    body = 'kind = "magnet", grade = "alnico 5"' if magnet else 'kind = "steel", grade = "low-carbon steel"'
    return {
        f"{path}.poles.layout": f'{{ kind = "blade", length = "{length} mm", thickness = "{thick} mm" }}',
        f"{path}.poles.body": f'{{ {body}, length = "{high} mm" }}',
        f"{path}.poles.height": '"0.5 mm"',
        **({f"{path}.poles.up": f'"{magnet}"'} if magnet else {}),
    }


def pair(magnet: bool = False) -> Changes:
    """Plover with a blade in each coil."""
    ends = ("north", "south") if magnet else ("", "")
    bars: Changes = {"pickup.main.bar.front": None, "pickup.main.bar.rear": None} if magnet else {}
    return {**blade(FRONT, magnet=ends[0]), **blade(REAR, magnet=ends[1]), **bars}


def between(wide: float) -> Changes:
    """One bar between the rows in place of two under them."""
    return {
        "pickup.main.bar.front.size": f'["76 mm", "{wide} mm", "4 mm"]',
        "pickup.main.bar.front.centre": '["0 mm", "0 mm", "-15.5 mm"]',
        "pickup.main.bar.front.magnetised": '"+y"',
        "pickup.main.bar.rear": None,
    }


PLATE = {"pickup.main.baseplate": '{ material = "low-carbon steel", thickness = "1 mm" }'}
PLOVER = "plover"


@pytest.fixture(scope="module")
def blades() -> Model:
    return model_of(PLOVER, pair())


def number(model: Model, key: str) -> float:
    spec = model.specs()[key]
    return float(spec.compute(model, spec.scope))


# ---- finite elements ----


def test_a_set_with_a_blade_has_the_inductance_of_finite_elements() -> None:
    # Row B3: blade 60 x 3 x 14 mm of permeability 100 in a coil s 58, r_i 2.7, r_o 6.2, h 11 mm, 7000 turns. A set file
    # gives a blade of length l a coil of s = l - (pi/2 - 1) 3 mm: 59.86 mm shares the difference of 0.3 mm between
    # blade and coil, 0.25 per cent each. Within the 1 per cent the issue asks for blades.
    row = json.loads(FEM.read_text(encoding="utf-8"))["B3"]
    change = {
        **blade(BRIDGE, 59.86, 3.0, 14.0),
        f"{BRIDGE}.poles.up": None,
        f"{BRIDGE}.turns": "7000",
        f"{BRIDGE}.poles.height": '"0.5 mm"',  # 2 mm over the winding's top, under a plate 1.5 mm thick
        f"{BRIDGE}.bobbin.window": '"11 mm"',
        f"{BRIDGE}.bobbin.core": '{ kind = "walled", wall = "1.2 mm" }',
        f"{BRIDGE}.bobbin.plate.thickness": '"1.5 mm"',
        f"{BRIDGE}.packing": "0.721",
    }
    model = model_of("heron", change)
    name = "steel.low-carbon steel.permeability"
    model.read(name, lambda: Input(name, 100.0, 100.0, 100.0, "assumed", "as in the row"))
    wound = pole_blocks.winding(model, "bridge", "main")
    assert wound.box.inner == pytest.approx(2.7e-3)
    assert wound.box.outer == pytest.approx(6.2e-3, abs=0.1e-3)
    body = pole_bodies.coil_blade(model, "bridge", "main")
    assert body is not None
    assert body.centre[2] - wound.place[2] == pytest.approx(row["geometry_m"]["blocks"][0]["centre"][2], abs=2e-5)
    whole = (row["inductance_low_H"] + row["inductance_high_H"]) / 2
    assert number(model, f"{BRIDGE}.inductance") == pytest.approx(whole, rel=0.01)


# ---- another library ----


def test_the_field_over_a_bar_alone_is_that_of_magpylib() -> None:
    # A coil without pole pieces over a ferrite bar. Its recoil permeability takes 1 + (mu - 1) N off, N the
    # demagnetising factor along z: 6 / (6 + 5) for a long bar 6 mm wide and 5 mm high (that of the elliptic cylinder,
    # good to a few per cent of it, and that of a few per cent in all).
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    change: Changes = {
        f"{BRIDGE}.poles.layout": '{ kind = "none" }',
        f"{BRIDGE}.poles.body": None,
        f"{BRIDGE}.poles.up": None,
        f"{BRIDGE}.poles.height": None,
        f"{BRIDGE}.bobbin.core": '{ kind = "walled", length = "56 mm", width = "5 mm" }',
        "pickup.bridge.bar.under.size": '["60 mm", "6 mm", "5 mm"]',
        "pickup.bridge.bar.under.centre": '["0 mm", "0 mm", "-18 mm"]',
        "pickup.bridge.bar.under.magnetised": '"+z"',
        "pickup.bridge.bar.under.grade": '"ferrite C5"',
    }
    model = model_of("heron", change)
    (bar,), ((_, _, remanence),) = pole_bodies.bars(model, "bridge"), magnet_blocks.box_remanences(model, "bridge")
    line = string_blocks.lines(model, "bridge")[2]
    cuboid = magpylib.magnet.Cuboid(polarization=(0, 0, remanence), dimension=bar.size, position=bar.centre)
    b = cuboid.getB(line.points(line.nodes(), 0.0, 0.0))
    left = 1.0 / (1.0 + (complex(bar.mu).real - 1.0) * 6.0 / 11.0)
    expected = left * float(np.linalg.norm(b, axis=1).max())
    assert number(model, "pickup.bridge.string.3.field") == pytest.approx(expected, rel=0.005)


def test_a_magnet_blades_face_reads_what_its_charged_faces_make_less_what_its_permeability_takes() -> None:
    # Evenly magnetised, the face at 0.5 mm is that of magpylib's cuboid; the recoil permeability of alnico leads part
    # of it back inside.
    magpylib = pytest.importorskip("magpylib", reason="pip install magpylib")
    model = model_of(PLOVER, pair(magnet=True))
    body = pole_bodies.coil_blade(model, "main", "front")
    assert body is not None
    cuboid = magpylib.magnet.Cuboid(polarization=(0, 0, 1.0), dimension=body.size, position=(0, 0, 0))
    free = cuboid.getB((0, 0, body.size[2] / 2 + 0.5e-3))[2]
    assert 0.4 < magnet_blocks.face_per_tesla(model, "main", "front", 0) / free < 0.95


# ---- symmetry, scaling, reciprocity ----


def test_equal_strings_over_a_blade_are_equally_loud() -> None:
    # strings of one gauge at one height over a blade 100 mm long: the mirror image is exact, the rest is its far ends
    string = '{ note = "E3", diameter = "0.017 in" }'
    change = {
        **pair(),
        **blade(FRONT, 86.0),
        **blade(REAR, 86.0),
        "instrument.strings": "[" + ", ".join([string] * 8) + "]",
        "pickup.main.bar.front.size": '["100 mm", "6 mm", "4 mm"]',
        "pickup.main.bar.rear.size": '["100 mm", "6 mm", "4 mm"]',
    }
    model = model_of(PLOVER, change)
    outputs = [magnet_facts.output(model, ("main", str(n))) for n in range(1, 9)]
    assert outputs == pytest.approx(outputs[::-1], rel=1e-3)
    # 0.4 mm of sideways run at the outer strings and 9 mm to the blade's end leave a quarter of a decibel
    assert max(outputs) / min(outputs) < 1.03


def test_a_string_over_a_blade_does_not_care_where_it_crosses(blades: Model) -> None:
    over = [magnet_facts.output_at(blades, "main", 4, x) for x in (0.0, 2e-3, 5e-3, 9e-3)]
    assert max(over) / min(over) < 1.01
    rods = model_of(PLOVER)
    beside = [magnet_facts.output_at(rods, "main", 4, x) for x in (4.6e-3, 9.2e-3)]
    assert max(beside) / min(beside) > 1.05


def test_a_pickup_twice_as_large_has_twice_what_its_pole_pieces_add(blades: Model) -> None:
    def twice(box: Box) -> Box:
        return Box(tuple(2 * c for c in box.centre), tuple(2 * s for s in box.size), box.mu)  # type: ignore[arg-type]

    given = pole_bodies.poles_in(blades, "main")
    assert given is not None
    wounds = tuple(pole_blocks.winding(blades, "main", c) for c in ("front", "rear"))
    large = tuple(
        replace(
            w,
            box=replace(w.box, straight=2 * w.box.straight, inner=2 * w.box.inner, outer=2 * w.box.outer,
                        height=2 * w.box.height),
            place=tuple(2 * p for p in w.place),  # type: ignore[arg-type]
        )
        for w in wounds
    )  # fmt: skip
    small_parts = together_step(poles_step(given), wounds).parts
    large_parts = together_step(poles_step(replace(given, boxes=tuple(map(twice, given.boxes)))), large).parts
    # panels wider than 3 mm get more points for the winding's field, so the two differ by their quadrature
    assert np.allclose(large_parts, 2 * np.array(small_parts), rtol=1e-3)
    assert small_parts[0][1] == pytest.approx(small_parts[1][0], rel=1e-3)  # reciprocity


def test_turning_both_magnet_blades_over_changes_no_level() -> None:
    one = model_of(PLOVER, pair(magnet=True))
    over = {**pair(magnet=True), f"{FRONT}.poles.up": '"south"', f"{REAR}.poles.up": '"north"'}
    outputs = [magnet_facts.output(m, ("main", "3")) for m in (one, model_of(PLOVER, over))]
    assert outputs[0] == pytest.approx(outputs[1])
    alike = model_of(PLOVER, {**pair(magnet=True), f"{REAR}.poles.up": '"north"'})
    assert magnet_facts.output(alike, ("main", "3")) < 0.05 * outputs[0]  # the coils take from each other


# ---- what each part does ----


def test_a_blade_adds_more_than_a_row_of_rods_of_its_steel(blades: Model) -> None:
    # 76 x 3 mm of steel against eight rods of 4.8 mm: more section, and no air between
    added = [
        number(m, f"{FRONT}.inductance") - number(m, f"{FRONT}.inductance_air") for m in (blades, model_of(PLOVER))
    ]
    assert added[0] > added[1]


def test_eddy_currents_take_more_from_a_thick_blade_than_from_a_thin_one() -> None:
    def lost(thick: float) -> float:
        model = model_of(PLOVER, {**pair(), **blade(FRONT, thick=thick), **blade(REAR, thick=thick)})
        return 1.0 - number(model, f"{FRONT}.inductance_1khz") / number(model, f"{FRONT}.inductance")

    assert 0.02 < lost(2.0) < lost(4.0) < 0.25


@pytest.mark.parametrize(("change", "wide"), [({}, 13.2), (pair(), 15.0)], ids=["rods", "blades"])
def test_one_bar_between_the_rows_feeds_both_and_hardly_adds_inductance(change: Changes, wide: float) -> None:
    model, under = model_of(PLOVER, {**change, **between(wide)}), model_of(PLOVER, change)
    assert number(model, "pickup.main.inductance") == pytest.approx(number(under, "pickup.main.inductance"), rel=0.02)
    assert magnet_facts.output(model, ("main", "4")) > 0.5 * magnet_facts.output(under, ("main", "4"))
    turned = model_of(PLOVER, {**change, **between(wide), "pickup.main.coil.rear.hot": '"start"'})
    assert magnet_facts.output(turned, ("main", "4")) < 0.1 * magnet_facts.output(model, ("main", "4"))


def test_a_steel_baseplate_raises_inductance_and_field_and_says_what_is_assumed() -> None:
    with_it, without = model_of(PLOVER, PLATE), model_of(PLOVER)
    ratio = number(with_it, "pickup.main.inductance") / number(without, "pickup.main.inductance")
    assert 1.02 < ratio < 1.25
    fact = with_it.fact(f"{FRONT}.inductance")
    assert any("baseplate.share" in w for w in fact.warnings)
    assert number(with_it, "pickup.main.string.4.field") > number(without, "pickup.main.string.4.field")
    assert [f.about for f in strings.find(with_it) if f.code == "magnetics-not-covered"] == ["pickup.main.baseplate"]


def test_a_baseplate_lies_under_the_lowest_part_and_reaches_over_all_plates() -> None:
    plate = pole_bodies.baseplate(model_of(PLOVER, PLATE), "main")
    assert plate is not None
    assert plate.high[2] == pytest.approx(-21.5e-3)  # the bars' lower faces
    assert plate.size == pytest.approx((92e-3, 34e-3, 1e-3), abs=1e-4)


@pytest.mark.parametrize("material", ["brass", "ABS"])
def test_a_baseplate_of_another_material_is_no_magnetic_body(material: str) -> None:
    change = {"pickup.main.baseplate": f'{{ material = "{material}", thickness = "1 mm" }}'}
    model = model_of(PLOVER, change)
    assert pole_bodies.baseplate(model, "main") is None
    assert number(model, f"{FRONT}.inductance") == number(model_of(PLOVER), f"{FRONT}.inductance")


# ---- magnets ----


def test_a_face_reading_takes_the_place_of_a_blades_assumed_strength() -> None:
    reading = {f"{p}.poles.state": '{ face = "40 mT" }' for p in (FRONT, REAR)}
    weak, plain = (model_of(PLOVER, {**pair(magnet=True), **more}) for more in (reading, {}))
    read = magnet_blocks.remanences(weak, "main")["front"][0]
    natural = magnet_blocks.natural_remanences(weak, "main")["front"][0]
    face = natural * magnet_blocks.face_per_tesla(weak, "main", "front", 0)
    assert read / natural == pytest.approx(40e-3 / face)
    loud = magnet_facts.output(plain, ("main", "3"))
    assert (magnet_facts.output(weak, ("main", "3")) < loud) == (read < natural)


def test_every_string_key_of_a_blade_pair_is_finite_and_there(blades: Model) -> None:
    facts = Assessment(blades).facts
    keys = [k for k in facts if ".string.5." in k]
    assert len(keys) >= 9
    for key in keys:
        fact = facts[key]
        assert fact.low is not None
        assert fact.low <= fact.number <= (fact.high or math.inf), key


# ---- intervals ----


@pytest.mark.parametrize(
    ("name", "most"),
    [("steel.low-carbon steel.permeability", 0.01), (f"{FRONT}.poles.layout.thickness", 0.004)],
    ids=["permeability", "thickness"],
)
def test_the_short_way_to_a_blade_pairs_interval_agrees_with_the_long_way(name: str, most: float) -> None:
    model = model_of(PLOVER, pair())
    number(model, f"{FRONT}.inductance")
    shifted = model.at_end(name, 1)
    short = pole_blocks.pole_part(shifted, "main", "front", "front").real
    long = pole_blocks._full_part(shifted, "main", "front", "front", 0.0).real
    before = pole_blocks.pole_part(model, "main", "front", "front").real
    whole = pole_blocks.air(model, "main", "front") + long
    assert abs(short - long) / whole < most
    assert long != pytest.approx(before, rel=1e-4)


# ---- what is said ----


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            {**pair(), "pickup.main.bar.front.centre": '["0 mm", "9 mm", "-18.5 mm"]'},
            "the blade of coil front and bar front, 1.00 mm",
        ),
        (between(14.0), "bar front, 0.40 mm into one another"),
        ({"pickup.main.bar.front.centre": '["0 mm", "0 mm", "-8 mm"]'}, "bar front in the winding of coil"),
        (
            {**between(6.0), "pickup.main.bar.front.centre": '["0 mm", "0 mm", "3.5 mm"]'},
            "string 1 inside bar front",
        ),
        (
            {**pair(), "pickup.main.gap.first": '"0.1 mm"', "pickup.main.gap.last": '"0.1 mm"'},
            "string 1 at 0.28 mm from the blade of coil front",
        ),
        (blade(FRONT, 2.0), "2.0 mm long, 3.0 mm thick"),
    ],
    ids=["blade in a bar", "bar in a rod", "bar in a winding", "string in a bar", "string on a blade", "no blade"],
)  # fmt: skip
def test_bodies_in_one_anothers_place_get_a_sentence(change: Changes, said: str) -> None:
    found = obstacles(model_of(PLOVER, change))
    assert len(found) == 1
    assert said in f"{found[0].must}; {found[0].came}"


def test_a_blade_that_ends_short_of_a_string_is_told_and_one_under_it_is_not() -> None:
    short, long = ({**pair(), **blade(FRONT, n), **blade(REAR, n)} for n in (60.0, 84.0))
    found = [f for f in strings.find(model_of(PLOVER, short)) if f.code == "pole-off-string"]
    assert {f.about for f in found} == {f"{FRONT}.poles.layout.length", f"{REAR}.poles.layout.length"}
    assert all("the blade ends" in f.sentence for f in found)
    assert not [f for f in strings.find(model_of(PLOVER, long)) if f.code == "pole-off-string"]


def test_a_coil_wound_right_on_a_blade_is_worked_out() -> None:
    # The obround cuts the blade's corners off by 0.076 of its thickness, round which the wire bends. Taking a wrap of
    # 0.8 mm, 0.4 mm and none off goes smoothly: the last step is the one before it and a little more, as steel and
    # winding come together. No jump of more than half a per cent where the corners first touch.
    bare = {**blade(BRIDGE, 58.0, 4.0, 17.0), f"{BRIDGE}.poles.up": None}
    cores = ['{ kind = "on rods" }', *(f'{{ kind = "on rods", wrap = "{w} mm" }}' for w in (0.4, 0.8))]
    models = [model_of("heron", {**bare, f"{BRIDGE}.bobbin.core": core}) for core in cores]
    none, some, more = (number(m, f"{BRIDGE}.inductance") for m in models)
    assert none == pytest.approx(some + (some - more), rel=0.01)
    assert none > some + 0.9 * (some - more)
    assert blocks.row(models[0], "bridge", "main").inner.r == pytest.approx(2e-3)
