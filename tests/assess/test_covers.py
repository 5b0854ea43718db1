"""Covers, baseplates and foils as the assessment takes them.

Witnesses: a solve with the pole pieces' complex permeability at each frequency, without the small system; a closed
foil as coupled one-turn coils of Neumann's formula, which share nothing with triangles and stream functions; laws of
thin sheets (f times thickness times conductivity, f and f^2 at the low end, energy); the bench's bands.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from example_sets import model_of
from harness_sets import number, text_with

from lodestring.assess import (
    blocks,
    circuit_coil,
    circuit_facts,
    circuit_net,
    coil_capacitance,
    eddy_blocks,
    named,
    pole_blocks,
    pole_bodies,
    sheet_places,
)
from lodestring.assess.buildable import obstacles
from lodestring.assess.circuit_curves import MAINS
from lodestring.assess.eddy_blocks import FREQUENCIES, Eddy
from lodestring.assess.findings.harness import _without_metal
from lodestring.assess.model import Model
from lodestring.cli.main import main
from lodestring.physics.bodies import MagneticSystem
from lodestring.physics.coil import CoilBox, air_inductance, coil_field, moment, mutual_inductance
from lodestring.physics.pole_field import field_operator
from lodestring.physics.sheet_coil import field_factor, inductance_change, kept, sheet_touch
from lodestring.physics.sheet_modes import SheetModes, at_permeability, sheet_modes
from lodestring.reference import metal

Changes = dict[str, str | None]
MM = 1e-3
PICKUPS = {"heron": ("bridge", "main"), "plover": ("main", "front"), "wren": ("main", "main")}
FOIL = '{ material = "copper", thickness = "0.1 mm", ends = "joined" }'


def cover(pickup: str, material: str = "brass", thickness: str = "0.5 mm", **more: str) -> Changes:
    given = {"material": f'"{material}"', "thickness": f'"{thickness}"', **more}
    return {f"pickup.{pickup}.cover.{key}": value for key, value in given.items()}


def no_poles(pickup: str = "bridge") -> Changes:
    """Heron's coil on a bare core."""
    coil = f"pickup.{pickup}.coil.main"
    return {
        f"{coil}.poles.layout.kind": '"none"',
        **{f"{coil}.poles.{key}": None for key in ("body", "up", "height")},
        f"{coil}.bobbin.core.kind": '"walled"',
        f"{coil}.bobbin.core.wrap": None,
        f"{coil}.bobbin.core.length": '"58 mm"',
        f"{coil}.bobbin.core.width": '"6 mm"',
    }


def blades() -> Changes:
    """Plover with a blade in each coil in place of its rods."""
    out: Changes = {}
    for coil in ("front", "rear"):
        poles = f"pickup.main.coil.{coil}.poles"
        out |= {f"{poles}.layout.{k}": v for k, v in (("kind", '"blade"'), ("length", '"70 mm"'))}
        out |= {f"{poles}.layout.thickness": '"3 mm"', f"{poles}.body.diameter": None}
    return out


@cache
def covered(name: str, material: str) -> Model:
    return model_of(name, cover(PICKUPS[name][0], material))


def nearest(frequency: float) -> int:
    return int(np.argmin(np.abs(np.log(FREQUENCIES / frequency))))


# ---- against a solve at each frequency ----


@cache
def solved_anew(name: str, material: str, frequency: float) -> tuple[np.ndarray, np.ndarray]:
    """dL (k, k) [H per turns squared] by the patterns beside the pole pieces of the frequency, and what is left of the
    field at the strings (k,), sums over them."""
    model, pickup = covered(name, material), PICKUPS[name][0]
    now_in = pole_bodies.poles_in(model, pickup, frequency)
    assert now_in is not None
    coils = blocks.sides(model.inputs.design.pickup[pickup])
    wound = [pole_blocks.winding(model, pickup, c) for c in coils]
    still = [pole_blocks.response(model, pickup, c) for c in coils]
    now = [pole_blocks.response(model, pickup, c, frequency) for c in coils]
    modes = _modes(name, material)
    touches = [sheet_touch(modes, w.box, w.place, r.answer) for w, r in zip(wound, still, strict=True) if r]
    system = pole_blocks.system(model, now_in)
    few = at_permeability(kept(modes, touches, 1e-3), system)
    touches = [sheet_touch(few, w.box, w.place, r.answer) for w, r in zip(wound, now, strict=True) if r]
    change = np.array([[inductance_change(few, a, b, frequency)[0] for a in touches] for b in touches])
    left = []
    for coil, w, r, touch in zip(coils, wound, now, touches, strict=True):
        assert r is not None
        at = eddy_blocks.points(model, pickup, coil)
        operator = system.field_operator(at) if isinstance(system, MagneticSystem) else field_operator(system, at)
        bare = coil_field(w.box, at - np.array(w.place))[:, 2] + operator[:, 2] @ r.answer.sigma
        left.append((field_factor(few, touch, bare, at, frequency)[0] * bare).sum() / bare.sum())
    return change, np.array(left)


@cache
def _modes(name: str, material: str) -> SheetModes:
    model, pickup = covered(name, material), PICKUPS[name][0]
    (work,) = sheet_places.metalwork(model, pickup)
    given = pole_bodies.poles_in(model, pickup)
    assert given is not None
    return sheet_modes(work.sheet, work.conductivity, pole_blocks.system(model, given))


@cache
def eddies(name: str, material: str = "") -> Eddy:
    return eddy_blocks.eddy(covered(name, material) if material else model_of(name), PICKUPS[name][0])


@pytest.mark.parametrize("frequency", [1000.0, 5000.0])
@pytest.mark.parametrize(
    ("name", "material"),
    [("heron", "nickel silver"), ("heron", "brass"), ("plover", "nickel silver"), ("plover", "brass")],
)
def test_a_cover_takes_what_a_solve_at_that_frequency_says(name: str, material: str, frequency: float) -> None:
    k = nearest(frequency)
    change, left = solved_anew(name, material, float(FREQUENCIES[k]))
    found = eddies(name, material)
    # patterns left out (PATTERNS, 1 per cent of the most) and the small system's reach: 0.2 per cent at 1 kHz and 1 at
    # 5 kHz were seen, twice that between two coils; low-frequency loops would be 2 and 9 per cent off beside steel
    alone = np.diag(change)
    assert np.abs(np.diag(found.sheets[k]) / alone - 1.0).max() < (0.004 if frequency < 2e3 else 0.015)
    assert np.abs(found.sheets[k] / change - 1.0).max() < (0.008 if frequency < 2e3 else 0.03)
    share = found.signal[k] / eddies(name).signal[k]
    assert np.abs(20.0 * np.log10(np.abs(share / left))).max() < (0.02 if frequency < 2e3 else 0.6)


# ---- against coupled one-turn coils ----

SLICES = 8
THICK = 0.1 * MM


def without_poles(name: str) -> Changes:
    """Coils on bare cores, no bars."""
    if name == "heron":
        return no_poles()
    out: Changes = {"pickup.main.bar": None}
    for coil in ("front", "rear"):
        path = f"pickup.main.coil.{coil}"
        out |= {f"{path}.poles.layout.kind": '"none"', f"{path}.poles.body": None, f"{path}.poles.height": None}
        out |= {f"{path}.bobbin.core.wall": None, f"{path}.bobbin.core.length": '"76 mm"'}
        out |= {f"{path}.bobbin.core.width": '"7 mm"'}
    return out


@pytest.mark.parametrize("name", ["heron", "plover"])
def test_closed_foils_are_stacks_of_shorted_turns(name: str) -> None:
    # one-turn coils by Neumann's formula, resistance from length and section; no stream function, no triangles. Two
    # coils have a foil each, side by side, and the foils see each other
    pickup, bare = PICKUPS[name][0], without_poles(name)
    coils = blocks.sides(model_of(name, bare).inputs.design.pickup[pickup])
    model = model_of(name, {**bare, **{f"pickup.{pickup}.coil.{c}.foil": FOIL for c in coils}})
    found, without = (eddy_blocks.eddy(m, pickup) for m in (model, model_of(name, bare)))
    wound = [pole_blocks.winding(model, pickup, c) for c in coils]
    box = wound[0].box
    assert all(w.box == box for w in wound)
    inner = box.outer + named.tape(model)  # over the tape
    high = box.height / SLICES
    turn = CoilBox(box.straight, inner, inner + THICK, high)
    levels = (np.arange(SLICES) - (SLICES - 1) / 2) * high
    places = [np.array(w.place) + np.array([0.0, 0.0, z]) for w in wound for z in levels]

    def between(one: CoilBox, other: CoilBox, run: np.ndarray) -> float:
        if one is other and float(np.abs(run).max()) < 1e-9:
            return air_inductance(one)
        return mutual_inductance(one, other, (float(run[0]), float(run[1]), float(run[2])))

    own = np.array([[between(turn, turn, b - a) for b in places] for a in places])
    flux = np.array([[between(box, turn, p - np.array(w.place)) for p in places] for w in wound])
    around = 2.0 * turn.straight + 2.0 * math.pi * (inner + THICK / 2)
    resistance = around * metal("copper").resistivity.nominal / (THICK * high)
    at = eddy_blocks.points(model, pickup, coils[0])
    reach = np.array([coil_field(turn, at - p)[:, 2].sum() for p in places])
    bare_field = coil_field(box, at - np.array(wound[0].place))[:, 2].sum()
    for frequency in (100.0, 1000.0, 5000.0, 20000.0):
        k = nearest(frequency)
        s = 2j * math.pi * FREQUENCIES[k]
        current = np.linalg.solve(resistance * np.eye(len(places)) + s * own, -s * flux.T)
        # eight slices against triangles of some 2 mm: 1 per cent
        change = flux @ current
        assert np.abs(found.sheets[k] - change).max() < 0.01 * np.abs(change).max()
        assert np.abs(found.sheets[k, 0, -1] / change[0, -1] - 1.0) < 0.03  # of two coils, the tie of the two foils
        assert found.sheet_moment[k, 0] == pytest.approx(current[:, 0].sum() * moment(turn), rel=0.01)
        lost = (found.signal[k, 0] - without.signal[k, 0]) * bare_field
        assert lost == pytest.approx(reach @ current[:, 0], rel=0.015)


def test_more_metal_never_gives_back_what_metal_takes() -> None:
    # metal that keeps all flux out leaves the less energy the more of it there is; 50 kHz is nearly that
    layers = {
        "cover": cover("bridge", "copper"),
        "foil": {"pickup.bridge.coil.main.foil": FOIL},
        "baseplate": {"pickup.bridge.baseplate.material": '"copper"', "pickup.bridge.baseplate.thickness": '"1 mm"'},
    }
    bare = circuit_coil.branches(model_of("heron"), "bridge").impedance[0, 0, -1].imag / FREQUENCIES[-1]
    left = {}
    for parts in (["cover"], ["foil"], ["baseplate"], ["cover", "foil"], ["cover", "baseplate"], list(layers)):
        changes = {k: v for part in parts for k, v in layers[part].items()}
        found = circuit_coil.branches(model_of("heron", changes), "bridge").impedance[0, 0]
        left[tuple(parts)] = found.imag[-1] / FREQUENCIES[-1]
    for parts, value in left.items():
        assert value > 0.0
        for fewer, more in left.items():
            if set(fewer) < set(parts):
                assert value < more + eddy_blocks.PATTERNS * bare  # patterns left out


# ---- laws of thin sheets ----


@pytest.mark.parametrize("faster", [4, 30])
def test_a_better_conductor_does_at_a_frequency_what_a_worse_one_does_higher(
    faster: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # without pole pieces f and conductivity enter as their product alone
    factor = FREQUENCIES[faster] / FREQUENCIES[0]
    changes = {**no_poles(), **cover("bridge")}
    plain = eddy_blocks.eddy(model_of("heron", changes), "bridge")
    given = sheet_places.metalwork(model_of("heron", changes), "bridge")
    better = tuple(replace(work, conductivity=work.conductivity * factor) for work in given)
    monkeypatch.setattr(sheet_places, "metalwork", lambda *_: better)
    other = eddy_blocks.eddy(model_of("heron", changes), "bridge")
    for part in ("sheets", "sheet_moment", "signal"):
        one, two = getattr(plain, part)[faster:], getattr(other, part)[:-faster]
        assert np.abs(one - two).max() < 1e-9 * np.abs(one).max(), part


def test_a_cover_that_hardly_conducts_takes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    model = model_of("heron", cover("bridge"))
    given = sheet_places.metalwork(model, "bridge")
    poor = tuple(replace(work, conductivity=1.0) for work in given)
    monkeypatch.setattr(sheet_places, "metalwork", lambda *_: poor)
    found, bare = eddy_blocks.eddy(model_of("heron", cover("bridge")), "bridge"), eddies("heron")
    assert np.abs(found.sheets).max() < 1e-6 * pole_blocks.air(model, "bridge", "main")
    assert np.abs(found.signal - bare.signal).max() < 1e-5


def test_twice_the_thickness_loses_twice_as_much_at_low_frequency() -> None:
    # size outside is kept: the middle of the metal moves in by a tenth of a millimetre, so 3 per cent
    size = {"size": '["70 mm", "18.5 mm", "16 mm"]'}
    thin, thick = (
        eddy_blocks.eddy(model_of("heron", cover("bridge", "brass", t, **size)), "bridge").sheets[0, 0, 0].imag
        for t in ("0.2 mm", "0.4 mm")
    )
    assert thick / thin == pytest.approx(2.0, rel=0.03)


@pytest.mark.parametrize("name", ["heron", "plover"])
def test_at_low_frequency_loss_goes_with_f_and_inductance_with_its_square(name: str) -> None:
    found = eddies(name, "nickel silver").sheets[:, 0, 0]
    step = FREQUENCIES[8] / FREQUENCIES[0]
    assert found[0].imag < 0.0
    assert found[8].imag / found[0].imag == pytest.approx(step, rel=2e-3)
    if name == "heron":  # steel adds a part that goes with f: its own loss turns the flux through the cover
        assert found[8].real / found[0].real == pytest.approx(step**2, rel=2e-2)
    assert abs(found[0].real) < 1e-4 * pole_blocks.air(covered(name, "nickel silver"), *PICKUPS[name])


@pytest.mark.parametrize("material", ["nickel silver", "brass", "copper"])
@pytest.mark.parametrize("name", ["heron", "plover"])
def test_coils_under_a_cover_give_no_power_at_any_frequency(name: str, material: str) -> None:
    model = covered(name, material)
    found = circuit_coil.branches(model, PICKUPS[name][0])
    loss = found.impedance.real.transpose(2, 0, 1) - np.diag(found.resistance)
    scale = np.abs(found.impedance).max(axis=(0, 1))
    assert np.all(np.linalg.eigvalsh(loss) > -1e-9 * scale[:, None])
    stored = found.impedance.imag.transpose(2, 0, 1)
    assert np.all(np.linalg.eigvalsh(stored) > 0.0)


def test_two_coils_alike_lose_alike_under_one_cover() -> None:
    found = eddies("plover", "brass")
    # bars, rods and strings of the two mirror each other but for the mesh
    assert found.sheets[:, 1, 1] == pytest.approx(found.sheets[:, 0, 0], rel=3e-3)
    assert np.abs(found.sheets[:, 0, 1] - found.sheets[:, 1, 0]).max() < 1e-9 * np.abs(found.sheets).max()


# ---- bands of the bench: common practice, no source ----

OUT = 1.5
"""The bands are from memory and for no cover in particular: their edges are let out by half."""
METALS = {
    "nickel silver cover": (cover, "nickel silver", (0.01, 0.03), (1.0, 3.0)),
    "brass cover": (cover, "brass", (0.05, 0.15), (4.0, math.inf)),
    "closed foil of 0.1 mm": (None, FOIL, (0.05, 0.15), (4.0, math.inf)),
}
CASES = [(name, what) for what in METALS for name in PICKUPS if what[0] != "c" or name != "plover"]


@pytest.mark.parametrize(("name", "what"), CASES, ids=[f"{what} on {name}" for name, what in CASES])
def test_metal_takes_about_what_the_bench_says(name: str, what: str) -> None:
    pickup, coil = PICKUPS[name]
    make, of, (least, most), (weak, strong) = METALS[what]
    bare = model_of(name)
    model = model_of(name, make(pickup, of) if make else {f"pickup.{pickup}.coil.{coil}.foil": of})
    k = nearest(2000.0)
    before = circuit_coil.branches(bare, pickup).impedance[0, 0, k].imag
    taken = 1.0 - circuit_coil.branches(model, pickup).impedance[0, 0, k].imag / before
    assert least / OUT < taken < most * OUT
    scope = ("position", circuit_net.position_names(bare)[0])
    lost = circuit_facts.peak_gain(bare, scope) - circuit_facts.peak_gain(model, scope)
    assert weak / OUT < lost < strong * OUT


def test_thin_foil_takes_no_more_than_a_cover_of_nickel_silver() -> None:
    # 35 um of copper conduct along the ring as 0.6 mm of nickel silver do: the bench's warning is of thicker foil
    foil = model_of("heron", {"pickup.bridge.coil.main.foil": FOIL.replace("0.1 mm", "35 um")})
    k = nearest(2000.0)
    thin, plated, bare = (
        circuit_coil.branches(m, "bridge").impedance[0, 0, k].imag
        for m in (foil, covered("heron", "nickel silver"), model_of("heron"))
    )
    assert 0.5 < (bare - thin) / (bare - plated) < 2.0


# ---- capacitance ----


@pytest.mark.parametrize("holes", ["over pole pieces", "none"])
def test_the_wall_of_a_grounded_cover_loads_the_outer_end_alone(holes: str) -> None:
    found = {}
    for hot in ("start", "finish"):
        tied = cover("bridge", grounded_to='"ground"', holes=f'"{holes}"')
        model = model_of("heron", {**tied, "pickup.bridge.coil.main.hot": f'"{hot}"'})
        bare = model_of("heron", {"pickup.bridge.coil.main.hot": f'"{hot}"'})
        found[hot] = [
            coil_capacitance.at_ends(m, "bridge", "main") - coil_capacitance.winding(m, "bridge", "main")
            for m in (model, bare)
        ]
    wound = pole_blocks.winding(model, "bridge", "main")
    gap, outer, high = sheet_places.clear(model, "bridge"), wound.box.outer, wound.box.height
    # wall against the outermost turns as two long plates and a coaxial ring, by hand; a row lies a little within
    wall = 8.8542e-12 * high * (2.0 * wound.box.straight / gap + 2.0 * math.pi / math.log(1.0 + gap / outer))
    added = {hot: both[0] - both[1] for hot, both in found.items()}
    assert added["finish"] - added["start"] == pytest.approx(wall, rel=0.25)
    # the top sees the end faces of all turns, whichever end is hot: a third each, and no wall in it
    assert 0.0 < added["start"] < 0.7 * added["finish"]


def test_a_cover_tied_to_nothing_adds_no_capacitance() -> None:
    for name, (pickup, coil) in PICKUPS.items():
        bare, model = model_of(name), covered(name, "brass")
        assert coil_capacitance.at_ends(model, pickup, coil) == coil_capacitance.at_ends(bare, pickup, coil)


# ---- figures ----


@pytest.mark.parametrize("name", ["heron", "plover"])
def test_the_inductance_at_1_khz_is_less_by_the_covers_part(name: str) -> None:
    pickup, coil = PICKUPS[name]
    key = f"pickup.{pickup}.coil.{coil}.inductance_1khz"
    k = nearest(1000.0)
    turns = blocks.coil_of(model_of(name), pickup, coil).turns
    part = turns**2 * np.diag(solved_anew(name, "brass", float(FREQUENCIES[k]))[0])[0].real
    part *= (1000.0 / FREQUENCIES[k]) ** 2  # to 1 kHz; within a per cent of it
    lost = number(covered(name, "brass"), key) - number(model_of(name), key)
    assert lost == pytest.approx(part, rel=0.02)
    assert number(covered(name, "brass"), f"pickup.{pickup}.coil.{coil}.inductance") == number(
        model_of(name), f"pickup.{pickup}.coil.{coil}.inductance"
    )


def test_hum_hardly_knows_of_a_cover_at_50_hz_and_does_at_its_harmonics() -> None:
    bare, model = model_of("heron"), covered("heron", "brass")
    position = circuit_net.position_names(bare)[0]
    with_it, without = (np.array([circuit_facts.hum_at(m, position, f) for f in MAINS]) for m in (model, bare))
    values = (with_it.reshape(len(MAINS), -1)[:, -1], without.reshape(len(MAINS), -1)[:, -1])
    ratio = np.abs(values[0] / values[1])
    # a loop's share goes with the square of f: less than a thousandth at 50 Hz, and it grows along the harmonics
    assert ratio[0] == pytest.approx(1.0, abs=1e-3)
    assert np.all(np.diff(ratio) < 0.0)
    k = nearest(5000.0)
    left = np.abs(circuit_coil.hum_moment(model, "bridge", "main") / circuit_coil.hum_moment(bare, "bridge", "main"))
    assert left[k] < 0.8


def test_taking_the_cover_off_gives_back_the_bare_figures_exactly() -> None:
    changes = {**cover("main", grounded_to='"ground"'), "pickup.main.coil.front.foil": FOIL}
    with_it = model_of("plover", changes)
    eddy_blocks.eddy(with_it, "main")
    off, bare = _without_metal(with_it, "main"), model_of("plover")
    for part in ("poles", "moment", "sheets", "sheet_moment", "signal"):
        assert np.array_equal(getattr(eddy_blocks.eddy(off, "main"), part), getattr(eddies("plover"), part)), part
    scope = ("position", circuit_net.position_names(bare)[0])
    for figure in (circuit_facts.peak_gain, circuit_facts.peak_frequency, circuit_facts.hum_left):
        assert figure(off, scope) == figure(bare, scope)
        assert figure(with_it, scope) != figure(bare, scope)
    # with and without it one small system of the pole pieces serves
    assert with_it.store.runs["sweep_step"] == 1


# ---- where it lies ----


@pytest.mark.parametrize(
    "more",
    [{}, {"instrument.handed": '"left"'}, {"pickup.bridge.place": '{ first = "40 mm", last = "52 mm" }'}],
    ids=["straight", "left-handed", "slanted"],
)
def test_a_cover_lies_over_the_top_plate_with_its_holes_round_the_pole_pieces(more: Changes) -> None:
    model = model_of("heron", {**more, **cover("bridge", thickness="0.4 mm")})
    (work,) = sheet_places.metalwork(model, "bridge")
    bobbin = blocks.coil_of(model, "bridge", "main").bobbin
    # 0.1 mm over the plate; the rim as low as the bobbin
    assert work.sheet.z - 0.2 * MM == pytest.approx(0.1 * MM)
    assert work.sheet.z - work.sheet.depth == pytest.approx(-bobbin.window.value - 2 * bobbin.plate.thickness.value)
    rods = pole_bodies.coil_rods(model, "bridge", "main")
    assert np.array([(h.x, h.y) for h in work.sheet.holes]) == pytest.approx(np.array([(r.x, r.y) for r in rods]))
    assert {round(h.length - 2 * r.radius, 9) for h, r in zip(work.sheet.holes, rods, strict=True)} == {0.4 * MM}
    wound = pole_blocks.winding(model, "bridge", "main")
    assert work.sheet.outline.width == pytest.approx(2 * wound.box.outer + 2 * 1.0 * MM + 0.4 * MM)


@pytest.mark.parametrize("how", [{"holes": '"none"'}, {"slots": "4"}], ids=["closed", "slotted"])
def test_a_cover_without_holes_lies_over_the_pole_pieces(how: Mapping[str, str]) -> None:
    model = model_of("plover", cover("main", thickness="0.4 mm", **how))
    (work,) = sheet_places.metalwork(model, "main")
    tops = [r.z + r.length / 2 for r in pole_bodies.coil_rods(model, "main", "front")]
    assert work.sheet.z - 0.2 * MM == pytest.approx(max(tops) + 0.2 * MM)


def test_a_cover_of_a_given_size_has_it_outside() -> None:
    model = model_of("plover", cover("main", size='["100 mm", "40 mm", "14 mm"]', corner='"4 mm"'))
    (work,) = sheet_places.metalwork(model, "main")
    outline = work.sheet.outline
    assert (outline.length, outline.width, outline.corner) == pytest.approx((99.5 * MM, 39.5 * MM, 3.75 * MM))
    assert work.sheet.depth == pytest.approx(13.75 * MM)


def test_holes_of_rods_that_nearly_touch_become_one() -> None:
    model = model_of("wren", {**cover("main"), "pickup.main.coil.main.poles.layout.apart": '"4.6 mm"'})
    (work,) = sheet_places.metalwork(model, "main")
    rods = pole_bodies.coil_rods(model, "main", "main")
    assert len(work.sheet.holes) == len(rods) / 2
    for rod in rods:
        around = rod.radius * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]]) + [rod.x, rod.y]
        assert any(bool(np.all(hole.holds(around))) for hole in work.sheet.holes)


# ---- what is refused, and what is not ----

BAD = {
    "shorter than the coil": (
        "plover",
        cover("main", size='["60 mm", "38 mm", "14 mm"]'),
        "cover.size",
        "80.6 mm long",
    ),
    "narrower than the coils": ("plover", cover("main", size='["95 mm", "30 mm", "14 mm"]'), "cover.size", "wide"),
    "of plastic, too small": ("plover", cover("main", "ABS", size='["95 mm", "30 mm", "14 mm"]'), "cover.size", "wide"),
    "no room inside": ("plover", cover("main", size='["5 mm", "1 mm", "5 mm"]'), "cover.size", "open box"),
    "no deeper than thick": ("plover", cover("main", size='["95 mm", "40 mm", "0.5 mm"]'), "cover.size", "open box"),
    "5 mm thick": ("plover", cover("main", thickness="5 mm"), "cover.thickness", "thin sheet"),
    "too round": ("plover", cover("main", corner='"20 mm"'), "cover.corner", "half its lesser side"),
    "round in the coils": ("plover", cover("main", corner='"17.2 mm"'), "cover.corner", "sharper corners"),
    "of no known material": ("plover", cover("main", "unobtainium"), "cover.material", "nickel silver"),
    "higher than the strings": (
        "plover",
        {**cover("main", "ABS", "2.9 mm", holes='"none"'), "pickup.main.gap.first": '"2.5 mm"'},
        "gap",
        "pass over the cover",
    ),
    "through a bar": (
        "plover",
        {
            **cover("main", size='["90 mm", "40 mm", "25 mm"]'),
            "pickup.main.bar.front.size": '["95 mm", "6 mm", "4 mm"]',
        },
        "bar.front.centre",
        "wall",
    ),
    "a thick baseplate": (
        "heron",
        {"pickup.bridge.baseplate.material": '"brass"', "pickup.bridge.baseplate.thickness": '"5 mm"'},
        "baseplate.thickness",
        "thin sheet",
    ),
    "foil of nothing known": (
        "heron",
        {"pickup.bridge.coil.main.foil": FOIL.replace("copper", "butter")},
        "foil.material",
        "copper",
    ),
    "foil like a tube": (
        "heron",
        {"pickup.bridge.coil.main.foil": FOIL.replace("0.1 mm", "3 mm")},
        "foil.thickness",
        "thin sheet",
    ),
}


@pytest.mark.parametrize(("name", "changes", "path", "words"), BAD.values(), ids=BAD)
def test_a_sheet_that_cannot_be_gets_a_sentence_with_its_place(
    name: str, changes: Changes, path: str, words: str
) -> None:
    found = obstacles(model_of(name, changes))
    assert len(found) == 1
    assert ".".join(map(str, found[0].path)).endswith(path)
    assert words in f"{found[0].must} {found[0].came} {found[0].attempt}"


def test_the_command_line_names_file_line_and_key_of_a_cover_that_is_too_small(tmp_path: Path) -> None:
    file = tmp_path / "set.toml"
    file.write_text(text_with("plover", "", BAD["narrower than the coils"][1]), encoding="utf-8")
    result = CliRunner().invoke(main, ["assess", str(file)])
    assert result.exit_code == 2
    assert "set.toml:" in result.output
    assert "pickup.main.cover.size" in result.output
    assert "Traceback" not in result.output


GOOD = {
    "high pole pieces under a closed cover": (
        "heron",
        {**cover("bridge", holes='"none"'), "pickup.bridge.coil.main.poles.height": '"3 mm"'},
    ),
    "sixty slots": ("heron", cover("bridge", slots="60")),
    "blades in slots of their own": ("plover", {**blades(), **cover("main")}),
    "blades under a closed cover": ("plover", {**blades(), **cover("main", holes='"none"')}),
    "no pole pieces": ("heron", {**no_poles(), **cover("bridge")}),
    "plastic": ("heron", cover("bridge", "ABS")),
    "steel": ("heron", cover("bridge", "low-carbon steel")),
    "everything": (
        "heron",
        {
            **cover("bridge"),
            "pickup.bridge.coil.main.foil": FOIL,
            "pickup.bridge.baseplate.material": '"copper"',
            "pickup.bridge.baseplate.thickness": '"1 mm"',
        },
    ),
}


@pytest.mark.parametrize(("name", "changes"), GOOD.values(), ids=GOOD)
def test_a_sheet_that_can_be_takes_some_of_the_signal_and_gives_none(name: str, changes: Changes) -> None:
    model, pickup = model_of(name, changes), PICKUPS[name][0]
    assert obstacles(model) == []
    bare = eddy_blocks.eddy(_without_metal(model, pickup), pickup)
    found = eddy_blocks.eddy(model, pickup)
    left = np.abs(found.signal / bare.signal)
    conducts = bool(sheet_places.metalwork(model, pickup))
    assert np.all(np.isfinite(left))
    assert (left[nearest(5000.0)].max() < 0.9) if conducts else np.array_equal(found.signal, bare.signal)
    assert left[0] == pytest.approx(1.0, abs=1e-3)
    branches = circuit_coil.branches(model, pickup)
    resistance = branches.impedance.real.transpose(2, 0, 1) - np.diag(branches.resistance)
    assert np.linalg.eigvalsh(resistance).min() > 0.0
    assert np.linalg.eigvalsh(branches.impedance.imag.transpose(2, 0, 1)).min() > 0.0
