"""What a reading should be: against the assessment, against figures worked out elsewhere, against closed forms."""

from __future__ import annotations

import math
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from coil_sets import A1_PACKING, a1

from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.physics.network import prepare
from lodestring.physics.network_parts import Branches, Capacitor, Harness, Resistor
from lodestring.proving.faults import field_ratio, ring_coupling, wire_spreads
from lodestring.proving.forward import CoilForward, Material, Wound, forward, physical
from lodestring.proving.measurement import At, measurement, parse
from lodestring.proving.tables import FREQUENCIES
from lodestring.quantity import WireSize
from lodestring.reference import magnet, metal

ONE = np.ones(1)
L1 = measurement("inductance", 1.0, frequency=1000.0, mode="series")
FREE = measurement("resonance", 1.0, capacitance=0.0)
CABLE = measurement("resonance", 1.0, capacitance=470e-12, load=1e6)
R20 = measurement("resistance", 1.0, temperature=293.15)


@cache
def reference() -> CoilForward:
    """Case A1 of the project's notes: 7,600 turns from 3.2 to 6.8 mm."""
    return forward(a1(7600, f"{A1_PACKING:.6f}"), "bridge", "main")


def wound(material: Material | None = None, of: CoilForward | None = None, **changed: float) -> Wound:
    of = of or reference()
    values = {s.name: np.array([s.centre]) for s in of.spreads}
    a1_has = {"stretch": 0.0, "permeability": 4.0, "bare": 63.5e-6, "film": 7.5e-6}
    values |= {k: np.array([float(v)]) for k, v in (a1_has | changed).items()}
    return Wound(of, values, [R20, L1, FREE, CABLE], material)


def henry(w: Wound) -> float:
    return float(w.turns[0] ** 2 * sum(w._per_turn(w.of.tables))[0])


def shares(material: Material | None = None, **changed: float) -> dict[str, float]:
    """Resistance, inductance at 1 kHz and free resonance against the coil as it should be: ratios."""
    before, after = wound(), wound(material, **changed)
    out = {
        "R": after.reading(0)[0] / before.reading(0)[0],
        "L": after.reading(1)[0] / before.reading(1)[0],
        "f": after.reading(2)[0] / before.reading(2)[0],
        "loaded": after.reading(3)[0] / before.reading(3)[0],
        "peak": after._peak(FREE)[0] - before._peak(FREE)[0],
        "loaded peak": after._peak(CABLE)[0] - before._peak(CABLE)[0],
        "depth": float(after.depth[0] / before.depth[0]),
    }
    return {k: float(v) for k, v in out.items()}


# ---- against the assessment, which the tables were made from but not made by ----

SETS = {"heron": ("bridge", "main"), "wren": ("main", "main"), "plover": ("main", "front")}
FACTS = {
    # key: (measurement, tolerance: what the tables interpolate; 1 kHz with bars: eddy part in the small system)
    "dc_resistance": ("resistance=1 ohm @ 20 C", 1e-3),
    "outer_length": ("outer_length=1 mm", 1e-9),
    "outer_width": ("outer_width=1 mm", 1e-9),
    "wire_mass": ("wire_mass=1 g", 1e-9),
    "inductance_1khz": ("inductance=1 H @ 1 kHz, series", 0.012),
    "inductance_air": ("inductance_poles_out=1 H @ 1 kHz, series", 1e-5),
}


@cache
def example(name: str) -> Model:
    from importlib.resources import files

    return Model(Inputs(read_set(files("lodestring.examples").joinpath(f"{name}.toml").read_bytes()).record))


@pytest.mark.parametrize("name", SETS)
def test_a_coil_as_drawn_reads_what_the_assessment_says(name: str) -> None:
    model, (pickup, coil) = example(name), SETS[name]
    of = forward(model, pickup, coil)
    taken = [parse(text) for text, _ in FACTS.values()]
    found = of.readings(physical(of.spreads, np.zeros((1, len(of.spreads)))), taken)[0]
    for (key, (_, tolerance)), value in zip(FACTS.items(), found, strict=True):
        fact = model.fact(f"pickup.{pickup}.coil.{coil}.{key}").number
        assert value == pytest.approx(fact, rel=tolerance), key


def test_many_trials_at_once_are_the_same_as_one_by_one() -> None:
    of = reference()
    rng = np.random.default_rng(4)
    z = 0.5 * rng.standard_normal((5, len(of.spreads)))
    taken = [R20, L1, FREE, CABLE, measurement("peak", 1.0, capacitance=0.0), measurement("wire_mass", 1.0)]
    together = of.readings(physical(of.spreads, z), taken)
    apart = np.vstack([of.readings(physical(of.spreads, row[None]), taken) for row in z])
    assert together == pytest.approx(apart, rel=1e-12)


# ---- figures of the project's physics page, section 5, worked out before any code of ours ----


@pytest.mark.parametrize(("mu", "value"), [(3, 2.205), (4, 2.363), (5, 2.499), (7, 2.722), (200, 4.2426)])
def test_the_inductance_follows_the_permeability(mu: float, value: float) -> None:
    # printed to 1e-3 H; at 200 the page itself is good to 4e-4
    assert henry(wound(permeability=mu)) == pytest.approx(value, abs=6e-4 if mu < 100 else 1.7e-3)


def test_the_inductance_knows_turns_and_permeability_only() -> None:
    def slope(**changed: float) -> float:
        return math.log(henry(wound(**changed)) / henry(wound()))

    assert slope(permeability=4.04) / math.log(1.01) == pytest.approx(0.247, abs=2e-3)
    assert slope(packing=A1_PACKING * 3.6 / 3.7) / 0.1 == pytest.approx(0.002, abs=1e-3)  # per mm of outer half-width
    assert slope(inner=3.3e-3, packing=A1_PACKING * 3.6 / 3.5) / 0.1 == pytest.approx(
        0.0925, rel=0.04
    )  # the outer one kept
    assert slope(window=10.6e-3, packing=A1_PACKING * 10.5 / 10.6) / 0.1 == pytest.approx(-0.046, rel=0.05)


def test_a_stretch_of_five_per_cent_changes_resistance_and_mass_and_no_inductance() -> None:
    found = shares(stretch=0.05)
    assert found["R"] - 1 == pytest.approx(0.046, abs=0.001)
    assert found["L"] == pytest.approx(1.0, abs=0.001)
    assert float(wound(stretch=0.05).mass[0] / wound().mass[0]) == pytest.approx(0.95, abs=0.002)


def test_a_sample_off_the_spool_knows_nothing_of_the_stretch() -> None:
    sample = measurement("sample", 1.0)
    plain, stretched = wound(), wound(stretch=0.05)
    before, after = (float(Wound(w.of, dict(w.v), [sample], None).reading(0)[0]) for w in (plain, stretched))
    assert after == pytest.approx(before, rel=1e-12)
    assert 10 * before == pytest.approx(54.0, abs=0.6)  # the bench's 10 m of 42 AWG
    # as wound, a metre reads (1 + e) times that: physics page, section 5
    assert float(stretched.per_metre[0]) == pytest.approx(1.05 * before, rel=1e-12)


def test_a_hundred_turns_missed_show_as_worked_out() -> None:
    found = shares(turns=7500)
    assert found["R"] - 1 == pytest.approx(-0.0142, abs=1e-4)
    assert found["L"] - 1 == pytest.approx(-0.0262, abs=2e-4)
    assert 1e3 * float(wound(turns=7500).depth[0] - wound().depth[0]) == pytest.approx(-0.047, abs=1e-3)


def test_41_gauge_in_place_of_42_shows_as_worked_out() -> None:
    bare, film = wire_spreads(WireSize("AWG", 41, None, "41 AWG"), "single")
    found = wound(bare=bare.centre, film=film.centre)
    assert float(found.resistance[0] / wound().resistance[0]) - 1 == pytest.approx(-0.188, abs=0.006)
    # +0.82 mm there with 78.7 um over the enamel; the tables' wire is within 1 um of it, 0.09 mm
    assert 1e3 * float(found.depth[0] - wound().depth[0]) == pytest.approx(0.82, abs=0.1)


SHORTS = {  # turns, place: change of R [%], tan delta added at 6 kHz, R of the short [ohm]
    "one, inner": (1, 0.0, -0.012, 0.0018, 0.677),
    "ten, inner": (10, 0.0, -0.12, 0.018, 6.77),
    "a hundred, inner": (100, 0.0, -1.2, 0.147, 67.7),
    "one, outer": (1, 1.0, None, None, 0.797),
}


@pytest.mark.parametrize(("turns", "place", "ohm", "tangent", "own"), SHORTS.values(), ids=SHORTS)
def test_shorted_turns_show_as_worked_out(
    turns: float, place: float, ohm: float | None, tangent: float | None, own: float
) -> None:
    w, before = wound(shorted=turns, shorted_place=place), wound()
    assert float(w.shorted_ohm[0]) == pytest.approx(own, rel=3e-3)
    if ohm is not None and tangent is not None:
        assert -100 * float(w.shorted_ohm[0] / w.resistance[0]) == pytest.approx(ohm, rel=0.01)
        f = np.array([6000.0])
        added = (w.impedance(f, ONE).real - before.impedance(f, ONE).real) / before.impedance(f, ONE).imag
        # the page's turn lies at half height; here it is the mean over the window, whose flux is 4 to 8 per cent less
        assert float(added[0, 0]) == pytest.approx(tangent, rel=0.2)


def test_rod_eddies_alone_give_the_loss_of_the_page() -> None:
    z = wound().impedance(np.array([5000.0]), ONE)[0, 0]
    tangent = (z.real - float(wound().resistance[0])) / z.imag
    assert tangent == pytest.approx(0.054, rel=0.08)  # alnico 47e-8 ohm m there; mu_eff is 4 to 5 per cent high in R


# ---- check-values C02, C04, C05 (circuit theory) ----

RLC = {  # L, R, C, load: peak frequency, peak over DC [dB]
    "C02 loaded by controls": (2.5, 6000.0, 600e-12, 111111.111, 3736.87763, 4.15149),
    "C04 nearly free": (2.5, 6000.0, 100e-12, 10e6, 10061.58870, 25.39676),
}


@pytest.mark.parametrize(("l", "ohm", "farad", "load", "f", "db"), RLC.values(), ids=RLC)
def test_the_peak_of_a_plain_circuit_is_found_between_the_points(
    l: float, ohm: float, farad: float, load: float, f: float, db: float
) -> None:
    w = wound(capacitance=farad, loss=0.0)
    w._z["sweep"] = (ohm + 2j * np.pi * FREQUENCIES * l)[None]
    w._z["driven"] = np.ones((1, 1))
    into = SimpleNamespace(
        at=At(capacitance=0.0, load=load)
    )  # 111 k is what controls make of it; a reading may not be so
    place, high = w._peaked(into)  # type: ignore[arg-type]
    w0, q = math.sqrt((1 + ohm / load) / (l * farad)), 0.0
    q = 1 / (w0 * (l / load + ohm * farad) / (1 + ohm / load))
    low = abs(1 / (1 + 1j * 400 * math.pi / (w0 * q) - (400 * math.pi / w0) ** 2))
    assert float(place[0]) == pytest.approx(f, rel=2e-5)  # 1 / |H|^2 is a parabola over f^2: exact but for rounding
    assert float(high[0]) == pytest.approx(db - 20 * math.log10(low), abs=1e-3)  # ours is told over 200 Hz


def test_one_henry_and_100_picofarad_resonate_where_they_must() -> None:
    w = wound(capacitance=100e-12, loss=0.0)
    w._z["sweep"], w._z["driven"] = (1.0 + 2j * np.pi * FREQUENCIES)[None], np.ones((1, 1))
    assert float(w._peaked(FREE)[0][0]) == pytest.approx(15915.49431, rel=1e-6)  # C05


def test_added_capacitance_over_one_by_frequency_squared_is_a_straight_line_to_the_coils_own() -> None:
    # check-value P14: the intercept of 1/f^2 over added C is the coil's own. Only without eddy currents: no rods.
    w = wound(capacitance=90e-12, loss=0.0)
    w._z["sweep"], w._z["driven"] = (500.0 + 2j * np.pi * FREQUENCIES * 2.4)[None], np.ones((1, 1))
    added = np.array([0.0, 220e-12, 470e-12, 1e-9])
    f = np.array([float(w._peaked(measurement("resonance", 1.0, capacitance=float(c)))[0][0]) for c in added])
    slope, level = np.polyfit(added, 1 / f**2, 1)
    assert level / slope == pytest.approx(90e-12, rel=1e-3)  # 500 ohm: R moves each peak by 1/(4 Q^2), 1e-4 at most


def test_one_inductance_for_two_resonances_is_the_trap_of_the_page() -> None:
    w = wound(capacitance=90e-12)
    low, high = (float(w._peaked(m)[0][0]) for m in (measurement("resonance", 1.0, capacitance=470e-12), FREE))
    one_l = 470e-12 / ((high / low) ** 2 - 1)
    assert one_l == pytest.approx(86.8e-12, rel=0.03)  # "fitting one L gives 86.8 pF for 90"


# ---- another way through the circuit ----


def test_a_shorted_coil_is_the_same_to_the_network_solver() -> None:
    w = wound(shorted=400.0, shorted_place=0.3)
    t, f = w.of.tables, FREQUENCIES[::5]
    z = w.impedance(f, ONE)[0]
    y = w._outside(2 * np.pi * f, 470e-12, 1e6)[0]
    driven = w.driven[0]
    mine = np.abs(driven) / np.abs(1 + z * y)
    # the same two windings as coupled branches: their impedances read back from cases that isolate each
    air, poles = (float(x[0]) for x in w._per_turn(t))
    p = poles * w._left(t, f)[0]
    q, s = float(w.share[0]), t.sections
    ka, kp = (
        sum(
            g * np.interp(w.middle[0] + x * w.wide[0], s.depth, c)
            for x, g in ((-0.387298, 5 / 18), (0, 8 / 18), (0.387298, 5 / 18))
        )
        for c in (s.whole_air, s.whole_poles)
    )
    op = np.interp(w.middle[0], s.depth, s.own_poles)
    oa = [np.interp(math.log(q), np.log(s.share), c) for c in s.own_air.T]
    oa = oa[0] + (oa[1] - oa[0]) * 2 * 0.3
    n2 = float(w.turns[0]) ** 2
    own, all_ = n2 * q * q * (air * oa + p * op), n2 * q * (air * ka + p * kp)
    rest, mutual = n2 * (air + p) - 2 * all_ + own, all_ - own
    jw, short = 2j * np.pi * f, float(w.shorted_ohm[0])
    matrix = np.array([[float(w.resistance[0]) - short + jw * rest, jw * mutual], [jw * mutual, short + jw * own]])
    farad = 470e-12 + 70e-12
    net = prepare(
        Harness(
            (
                Branches(("rest", "short"), (("hot", "ground"), ("tie", "ground")), matrix, np.array([5000.0, short])),
                Resistor("touch", "tie", "ground", 1e-6),
                Capacitor("own", "hot", "ground", farad),
                Resistor("load", "hot", "ground", 1e6),
            ),
            "hot",
        ),
        f,
    ).solve("only")
    volts = np.abs(net.driven([1 - q * kp, q * kp])[0])
    lossless = np.abs(driven) / np.abs(1 + z * (jw * farad + 1e-6))
    assert volts == pytest.approx(lossless, rel=1e-6)
    assert mine == pytest.approx(volts, rel=0.1)  # the coil's own C and loss differ a little


# ---- the bench's table of faults (trade page; common practice, no source): each row out of the physics ----
#
# Departures from that page, by physics: shorted turns drop out of the coil, so L falls at least by (1 - q)^2, 1.3 per
# cent for 50 turns of 7,600 and 2.6 for 100 (the page says 0 to 1), 12.7 for 500 (the page: 5); a steel row costs 2
# to 3 dB of peak here ("well down").

AWG = {n: wire_spreads(WireSize("AWG", n, None, f"{n} AWG"), "single") for n in (40, 41, 43, 44)}
HEAVY = wire_spreads(WireSize("AWG", 42, None, "42 AWG"), "heavy")


def gauge(n: int) -> dict[str, float]:
    return {"bare": AWG[n][0].centre, "film": AWG[n][1].centre}


ROWS: dict[str, tuple[dict[str, float], dict[str, tuple[float, float]]]] = {
    "1-10 turns shorted": ({"shorted": 10}, {"R": (0.9985, 1), "L": (0.99, 1), "f": (0.99, 1.01)}),
    "50 turns shorted": ({"shorted": 50}, {"R": (0.992, 0.994), "L": (0.98, 0.988), "peak": (-9, -3)}),
    "100 turns shorted": ({"shorted": 100}, {"R": (0.985, 0.99), "L": (0.96, 0.975), "peak": (-14, -5)}),
    "500 turns shorted": ({"shorted": 500}, {"R": (0.92, 0.945), "L": (0.7, 0.874), "loaded peak": (-18, -8)}),
    "a third shorted": ({"shorted": 2533}, {"R": (0.65, 0.69), "L": (0.0, 0.5)}),
    "40 in place of 42": (gauge(40), {"R": (0.62, 0.70), "L": (0.95, 1.05), "depth": (1.49, 1.59)}),
    "41 in place of 42": (gauge(41), {"R": (0.78, 0.83), "L": (0.95, 1.05), "depth": (1.19, 1.29)}),
    "43 in place of 42": (gauge(43), {"R": (1.24, 1.34), "L": (0.95, 1.05), "depth": (0.73, 0.81)}),
    "44 in place of 42": (gauge(44), {"R": (1.50, 1.65), "L": (0.95, 1.05), "depth": (0.62, 0.70)}),
    "heavy enamel": ({"film": HEAVY[1].centre}, {"R": (1.01, 1.025), "L": (0.99, 1.02), "depth": (1.10, 1.22)}),
    "+500 turns": ({"turns": 8100}, {"R": (1.06, 1.075), "L": (1.12, 1.14), "f": (0.93, 0.945)}),
    "-500 turns": ({"turns": 7100}, {"R": (0.925, 0.94), "L": (0.86, 0.88), "f": (1.06, 1.08)}),
    "stretched": ({"stretch": 0.04}, {"R": (1.02, 1.06), "L": (0.995, 1.005), "f": (0.99, 1.01)}),
    "loose": ({"packing": A1_PACKING * 0.85}, {"R": (1.01, 1.03), "L": (0.99, 1.03)}),
    "warm": ({"warmer": 10.0}, {"R": (1.0385, 1.0395), "L": (0.999, 1.001)}),
    "fingers": ({"shunt": 300e3}, {"R": (0.97, 0.99)}),
    "another coil across": ({"shunt": 8e3, "shunt_time": 0.42e-3}, {"R": (0.50, 0.65), "L": (0.45, 0.65)}),
    "a bad joint": ({"joint": 500.0}, {"L": (0.999, 1.001), "f": (0.999, 1.001)}),
}


@pytest.mark.parametrize(("changed", "bands"), ROWS.values(), ids=ROWS)
def test_a_row_of_the_table_of_faults_comes_out_of_the_physics(
    changed: dict[str, float], bands: dict[str, tuple[float, float]]
) -> None:
    found = shares(**changed)
    for name, (low, high) in bands.items():
        assert low <= found[name] <= high, f"{name} {found[name]:.4f}"


def of_grade(name: str) -> tuple[Material, dict[str, float]]:
    grade = magnet(name)
    ratio = field_ratio(a1(7600, f"{A1_PACKING:.6f}"), "bridge", "main", name)
    return Material(1 / grade.resistivity.nominal, ratio), {
        "permeability": max(grade.recoil_permeability.nominal, 1.001)
    }


GRADES: dict[str, dict[str, tuple[float, float]]] = {
    "alnico 2": {"L": (1.04, 1.14), "f": (0.93, 0.985), "field": (0.55, 0.75)},
    "alnico 3": {"L": (1.04, 1.14), "f": (0.93, 0.985), "field": (0.50, 0.75)},
    "NdFeB N42": {"L": (0.75, 0.90), "f": (1.04, 1.15), "field": (2.0, 4.0)},
    "ferrite C5": {"L": (0.75, 0.90), "f": (1.04, 1.15)},
}


@pytest.mark.parametrize("name", GRADES)
def test_other_magnets_show_as_the_bench_says(name: str) -> None:
    # the bands of the table are for its own reference coil: an end may be missed by 2 per cent of L
    material, changed = of_grade(name)
    before = wound(permeability=4.3)
    after = wound(material, **changed)
    found = {"L": after.reading(1)[0] / before.reading(1)[0], "f": after.reading(2)[0] / before.reading(2)[0]}
    found["field"] = material.field
    for key, (low, high) in GRADES[name].items():
        assert low <= found[key] <= high, f"{key} {found[key]:.3f}"


def test_steel_where_magnets_were_meant_has_more_inductance_and_no_field() -> None:
    steel = metal("low-carbon steel")
    found = shares(Material(1 / steel.resistivity.nominal, 0.0), permeability=steel.relative_permeability.nominal)
    assert 1.4 <= found["L"] <= 2.0
    assert 0.65 <= found["loaded"] <= 0.85
    assert found["loaded peak"] < -2.0


def test_a_closed_ring_round_the_coil_raises_the_resonance_and_takes_the_peak() -> None:
    found = shares(ring=0.85 * ring_coupling(reference()), ring_time=25e-6)
    assert 0.85 <= found["L"] <= 1.0
    assert found["f"] > 1.05
    assert -9.0 < found["loaded peak"] < -4.0


# ---- laws ----


def test_a_meter_in_parallel_mode_reads_ten_times_as_much() -> None:
    # trade page, 13 (reckoned): 3 H with 6.4 k reads about 27 H at 120 Hz; here the closed form for this coil's own
    w = wound()
    parallel = measurement("inductance", 1.0, frequency=120.0, mode="parallel")
    series = measurement("inductance", 1.0, frequency=120.0, mode="series")
    both = Wound(w.of, dict(w.v), [series, parallel], None)
    l, found = float(both.reading(0)[0]), float(both.reading(1)[0])
    ohm = float(both._at_meter(series).real[0])
    assert found == pytest.approx(l + (ohm / (240 * math.pi)) ** 2 / l, rel=1e-9)
    assert 5 < found / l < 15


def test_inductance_goes_with_the_square_of_turns_in_the_same_space() -> None:
    one, two = wound(), wound(turns=15200, packing=2 * A1_PACKING)
    assert henry(two) == pytest.approx(4 * henry(one), rel=1e-8)  # the depth by two ways


def test_resistance_times_mass_gives_the_length_without_the_diameter() -> None:
    # R m = rho rho_m l^2 for bare copper
    for bare in (55e-6, 63.5e-6, 70e-6):
        w = wound(bare=bare, film=1e-12)
        density, rho = float(w.v["density"][0]), float(w.v["resistivity"][0])
        assert float(w.resistance[0] * w.mass[0]) == pytest.approx(rho * density * float(w.length[0]) ** 2, rel=1e-6)


def test_what_is_measured_of_a_word_has_no_number() -> None:
    with pytest.raises(TypeError):
        _ = measurement("kick", "plus").number


def test_every_numeric_quantity_has_its_reading() -> None:
    from lodestring.proving.measurement import quantities

    missing = [a.name for a in quantities().values() if a.kind is not None and not hasattr(Wound, f"_{a.name}")]
    assert missing == []
