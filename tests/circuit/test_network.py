"""The circuit against closed forms, the design page's figures for unequal coils, and laws that hold for any circuit.

Check values C01, C02, C04, C05, C08 and section 3 of the physics page, where each has its source. Random circuits
against a full matrix and ngspice are in test_network_outside, what is refused in test_network_words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from lodestring.physics.network import Settings, prepare
from lodestring.physics.network_check import Note, State
from lodestring.physics.network_parts import (
    Branches,
    Capacitor,
    Control,
    Harness,
    Inductor,
    OnePort,
    Part,
    Position,
    Resistor,
)
from lodestring.physics.taper import AUDIO, END
from lodestring.physics.thermal_noise import noise_density, thermal_noise

GRID = np.geomspace(20.0, 20e3, 61)


def decibel(ratio: np.ndarray | complex) -> float:
    return 20.0 * math.log10(abs(complex(np.squeeze(ratio))))


def coil(name: str, a: str, b: str, ohm: float, henry: float, f: np.ndarray) -> Branches:
    return Branches((name,), ((a, b),), np.array([[ohm + 2j * np.pi * f * henry]]), np.array([ohm]))


def pair(
    ends: tuple[tuple[str, str], tuple[str, str]],
    ohm: tuple[float, float],
    henry: tuple[float, float],
    mutual: float,
    f: np.ndarray,
) -> Branches:
    z = np.zeros((2, 2, len(f)), complex)
    for k in range(2):
        z[k, k] = ohm[k] + 2j * np.pi * f * henry[k]
    z[0, 1] = z[1, 0] = 2j * np.pi * f * mutual
    return Branches(("one", "two"), ends, z, np.array(ohm))


def transfer(parts: tuple[Part, ...], f: np.ndarray, settings: Settings | None = None) -> np.ndarray:
    """(c, f) of one setting, output `hot`."""
    return prepare(Harness(parts, "hot"), f).solve("only", settings).transfer[:, 0]


# ---- one coil, a capacitance and a load ----


@dataclass(frozen=True)
class LowPass:
    """Coil L, R, capacitance C, load Rl; figures as printed in check-values C02 and C04."""

    l: float
    r: float
    c: float
    load: float
    f0: float
    q: float
    f_peak: float
    peak: float

    def parts(self, f: np.ndarray) -> tuple[Part, ...]:
        return (
            coil("coil", "hot", "ground", self.r, self.l, f),
            Capacitor("c", "hot", "ground", self.c),
            Resistor("load", "hot", "ground", self.load),
        )

    def closed_form(self, f: np.ndarray) -> np.ndarray:
        """H0/(1 + s/(Q w0) + s^2/w0^2) of C02."""
        s = 2j * np.pi * f
        w0 = math.sqrt((1 + self.r / self.load) / (self.l * self.c))
        damping = (self.l / self.load + self.r * self.c) / (1 + self.r / self.load)
        return np.asarray(self.load / (self.r + self.load) / (1 + s * damping + (s / w0) ** 2))


LOW_PASSES = {
    "C02, loaded": LowPass(2.5, 6e3, 600e-12, 1e6 / 9, 4218.85702, 1.523440, 3736.87763, 4.15149),
    "C04, almost unloaded": LowPass(2.5, 6e3, 100e-12, 10e6, 10068.86172, 18.607213, 10061.58870, 25.39676),
}


@pytest.mark.parametrize("case", LOW_PASSES.values(), ids=LOW_PASSES.keys())
def test_a_loaded_coil_is_the_second_order_low_pass(case: LowPass) -> None:
    found = transfer(case.parts(GRID), GRID)[0]
    assert found == pytest.approx(case.closed_form(GRID), rel=1e-12)  # rounding


@pytest.mark.parametrize("case", LOW_PASSES.values(), ids=LOW_PASSES.keys())
def test_resonance_peak_and_quality_are_those_printed(case: LowPass) -> None:
    # Printed to 8 or 9 digits. At the peak the response is flat: 1e-4 to either side it must be lower.
    f = np.array([0.0, case.f0, case.f_peak * (1 - 1e-4), case.f_peak, case.f_peak * (1 + 1e-4)])
    rest, at_f0, below, top, above = transfer(case.parts(f), f)[0]
    assert decibel(top / rest) == pytest.approx(case.peak, abs=1e-5)
    assert abs(top) > max(abs(below), abs(above))
    assert (at_f0 / rest).imag == pytest.approx(-case.q, rel=1e-6)  # at w0 the closed form is -j Q H0
    assert abs((at_f0 / rest).real) < 1e-5 * case.q  # f0 has 9 digits, and Q times their error is left


def test_the_loss_at_rest_is_that_of_the_divider_of_c02() -> None:
    case = LOW_PASSES["C02, loaded"]
    assert decibel(transfer(case.parts(np.zeros(1)), np.zeros(1))) == pytest.approx(-0.456812, abs=1e-6)


def test_the_load_of_c02_may_be_two_controls_fully_up_and_an_amplifier() -> None:
    case = LOW_PASSES["C02, loaded"]
    parts = (
        *case.parts(GRID)[:2],
        Control("volume", "ground", "out", "hot", 250e3, AUDIO),
        Control("tone", "out", "cap", "cap", 250e3),
        Resistor("far", "cap", "ground", 1e-3),
        Resistor("amplifier", "out", "ground", 1e6),
    )
    found = prepare(Harness(parts, "out"), GRID).solve("only").transfer[0, 0]
    # The wiper stops END = 1e-6 of 250 k before the top: 0.25 ohm before 600 pF and 200 k is less than 3e-6.
    assert np.abs(found / case.closed_form(GRID) - 1) == pytest.approx(0.0, abs=1e-5)


def test_a_coil_without_loss_resonates_where_thomson_says() -> None:
    # C05: 1 H, 100 pF, 15915.49431 Hz; H = 1/(1 - (f/f0)^2) read back for f0.
    f = np.array([1000.0, 14e3, 15915.49430, 15915.49432, 18e3])
    parts = (coil("coil", "hot", "ground", 0.0, 1.0, f), Capacitor("c", "hot", "ground", 100e-12))
    found = transfer(parts, f)[0].real
    assert (f / np.sqrt(1 - 1 / found))[[1, 4]] == pytest.approx(15915.49431, rel=1e-9)
    assert found[2] > 0 > found[3]


def test_a_resistance_and_a_cable_halve_the_power_where_c08_says() -> None:
    f = np.array([12433.98])  # 8 kohm, 1600 pF
    parts = (coil("coil", "hot", "ground", 8e3, 0.0, f), Capacitor("cable", "hot", "ground", 1600e-12))
    assert abs(transfer(parts, f)[0, 0]) ** 2 == pytest.approx(0.5, rel=1e-6)


# ---- unequal coils: physics page, section 3 ----

# 7,600 and 8,100 turns: ohm, henry and moment as printed there.
R1, L1, M1 = 5602.97, 2.36282, 5.85281
R2, L2, M2 = 6004.39, 2.68540, 6.35930


def left_over(ends: tuple[tuple[str, str], tuple[str, str]], frequency: float, load: float | None = None) -> float:
    """dB of the cancelling pair over the larger coil alone with the same load."""
    f = np.array([frequency])
    behind = (Resistor("load", "hot", "ground", load),) if load else ()
    both = prepare(Harness((pair(ends, (R1, R2), (L1, L2), 0.0, f), *behind), "hot"), f).solve("only")
    alone = prepare(Harness((coil("two", "hot", "ground", R2, L2, f), *behind), "hot"), f).solve("only")
    return decibel(both.driven([M1, -M2]) / alone.driven([M2]))


SERIES = (("hot", "middle"), ("middle", "ground"))
PARALLEL = (("hot", "ground"), ("hot", "ground"))
# id: ends, Hz, load, dB. Printed to 0.01 dB; the last digits of R and m may be worth another 0.004 dB.
LEFT = {
    "series 50 Hz": (SERIES, 50.0, None, -21.98),
    "parallel 50 Hz": (PARALLEL, 50.0, None, -42.89),
    "parallel 60 Hz": (PARALLEL, 60.0, None, -42.62),
    "parallel 1 kHz": (PARALLEL, 1000.0, None, -33.83),
    "parallel 50 Hz, loaded": (PARALLEL, 50.0, 111.11e3, -42.65),
}


@pytest.mark.parametrize("case", LEFT.values(), ids=LEFT.keys())
def test_unequal_coils_leave_the_hum_printed_on_the_physics_page(case: tuple[object, ...]) -> None:
    ends, frequency, load, wanted = case
    assert left_over(ends, frequency, load) == pytest.approx(wanted, abs=0.0095)  # type: ignore[arg-type]


@pytest.mark.parametrize("ends", [SERIES, PARALLEL], ids=["series", "parallel"])
def test_a_perfect_reversed_pair_leaves_nothing(ends: tuple[tuple[str, str], tuple[str, str]]) -> None:
    parts = (
        pair(ends, (R1, R1), (L1, L1), -0.1, GRID),
        Capacitor("c1", *ends[0], 80e-12),
        Capacitor("c2", *ends[1], 80e-12),
        Capacitor("cable", "hot", "ground", 500e-12),
        Resistor("amplifier", "hot", "ground", 1e6),
    )
    found = prepare(Harness(parts, "hot"), GRID).solve("only")
    assert np.all(np.abs(found.driven([1.0, -1.0])) < 1e-12 * np.abs(found.driven([1.0, 0.0])))  # rounding


def test_coupling_of_one_sense_adds_to_the_inductance_of_two_coils_in_series() -> None:
    # L1 + L2 + 2 M, by definition of M; the pair's output impedance without any load.
    found = prepare(Harness((pair(SERIES, (R1, R2), (L1, L2), 0.2, GRID),), "hot"), GRID).solve("only")
    wanted = R1 + R2 + 2j * np.pi * GRID * (L1 + L2 + 0.4)
    assert found.z_out[0] == pytest.approx(wanted, rel=1e-12)


def test_coupled_coils_in_parallel_have_the_inductance_of_the_textbook() -> None:
    # (L1 L2 - M^2) / (L1 + L2 - 2 M), with next to no resistance
    found = prepare(Harness((pair(PARALLEL, (1e-6, 1e-6), (2.0, 3.0), 0.5, GRID),), "hot"), GRID).solve("only")
    assert found.z_out[0].imag / (2 * np.pi * GRID) == pytest.approx((6 - 0.25) / (5 - 1), rel=1e-9)


def test_a_shorted_coil_lowers_the_inductance_of_its_neighbour() -> None:
    # Transformer: Z1 + (w M)^2 / (R2 + j w L2); both ends of the second coil on one node.
    ends = (("hot", "ground"), ("x", "ground"))
    harness = Harness(
        (pair(ends, (R1, R2), (L1, L2), 0.3, GRID), Resistor("drain", "x", "hot", 1e6)),
        "hot",
        positions=(Position("split", (("x", "ground"),)),),
    )
    network = prepare(harness, GRID)
    w = 2 * np.pi * GRID
    z = R1 + 1j * w * L1 + (w * 0.3) ** 2 / (R2 + 1j * w * L2)
    assert network.solve("split").z_out[0] == pytest.approx(1 / (1 / z + 1e-6), rel=1e-12)
    assert network.notes("split") == [Note("split", State.SHORTED, ("two",))]


# ---- a harness of two pickups ----


def harness(f: np.ndarray, k: float = 1.0) -> Harness:
    """Two coils, two volumes, one tone, a selector of three; all impedances times k. Values invented."""
    blocking = OnePort("blend", "jack", "bias", k * (22e3 + 1 / (2j * np.pi * np.maximum(f, 1e-9) * 1e-9)), math.inf)
    return Harness(
        (
            coil("bridge", "b", "ground", k * R2, k * L2, f),
            Capacitor("c-bridge", "b", "ground", 90e-12 / k),
            coil("neck", "n", "ground", k * R1, k * L1, f),
            Capacitor("c-neck", "n", "ground", 85e-12 / k),
            Control("volume-b", "ground", "wb", "b", k * 500e3, AUDIO),
            Control("volume-n", "ground", "wn", "n", k * 500e3, AUDIO),
            Control("tone", "jack", "cap", "cap", k * 250e3, AUDIO),
            Capacitor("c-tone", "cap", "ground", 22e-9 / k),
            blocking,
            Inductor("choke", "bias", "ground", k * 1.0, k * 200.0),
        ),
        "jack",
        load=(Capacitor("cable", "jack", "ground", 400e-12 / k), Resistor("amplifier", "jack", "ground", k * 1e6)),
        positions=(
            Position("bridge", (("wb", "jack"),)),
            Position("both", (("wb", "jack"), ("wn", "jack"))),
            Position("neck", (("wn", "jack"),)),
        ),
    )


SETTINGS = {"volume-b": np.linspace(0, 1, 5), "volume-n": np.array([0.7]), "tone": np.array([1, 1, 0.5, 0, 0.1])}


def test_impedances_k_times_as_large_answer_alike() -> None:
    one, other = prepare(harness(GRID), GRID), prepare(harness(GRID, 3.7), GRID)
    for position in ("bridge", "both", "neck"):
        a, b = one.solve(position, SETTINGS), other.solve(position, SETTINGS)
        assert b.transfer == pytest.approx(a.transfer, rel=1e-11, abs=1e-18)
        assert b.z_out == pytest.approx(3.7 * a.z_out, rel=1e-11)


def test_settings_together_are_the_settings_one_by_one() -> None:
    network = prepare(harness(GRID), GRID)
    for position in ("bridge", "both", "neck"):
        found = network.solve(position, SETTINGS)
        assert found.transfer.shape == (2, 5, len(GRID))
        for k in range(5):
            one = {"volume-b": SETTINGS["volume-b"][k], "volume-n": 0.7, "tone": SETTINGS["tone"][k]}
            assert network.solve(position, one).transfer[:, 0] == pytest.approx(found.transfer[:, k], rel=1e-11)


def test_output_of_two_patterns_is_the_sum_of_both() -> None:
    found = prepare(harness(GRID), GRID).solve("both", SETTINGS)
    one, other = np.array([1.0, -0.3]), np.exp(1j * np.outer([1.0, 2.0], GRID / 1e4))
    together = one[:, None] + 2.0 * other
    assert found.driven(together) == pytest.approx(found.driven(one) + 2.0 * found.driven(other), rel=1e-12)


def test_a_coil_that_is_switched_off_sends_nothing() -> None:
    found = prepare(harness(GRID), GRID).solve("bridge", SETTINGS)
    assert np.all(found.transfer[1] == 0)
    assert np.all(np.abs(found.transfer[0, 1:3]) > 0)


def test_low_frequency_goes_over_into_rest() -> None:
    f = np.array([1e-6, 0.0])
    found = prepare(harness(f), f).solve("both", SETTINGS)
    # The tone capacitor's 22 nF against 63 kohm at 1 uHz: 1e-8
    assert found.transfer[..., 0] == pytest.approx(found.transfer[..., 1], rel=3e-8)
    assert found.z_out[..., 0] == pytest.approx(found.z_out[..., 1], rel=3e-8)


def test_a_meter_at_the_jack_reads_what_ohm_says() -> None:
    network = prepare(harness(GRID), GRID)
    top = 500e3 * END
    one = 1 / (1 / (500e3 * (1 - END)) + 1 / (R2 + top))
    other = 1 / (1 / (500e3 * (1 - END)) + 1 / (R1 + top))
    assert network.dc_resistance("bridge") == pytest.approx([one], rel=1e-12)
    assert network.dc_resistance("both") == pytest.approx([1 / (1 / one + 1 / other)], rel=1e-12)
    half = 1 / (1 / 50e3 + 1 / (450e3 + R2))  # audio: a tenth of the track at half travel
    assert network.dc_resistance("bridge", {"volume-b": [0.5, 1.0]}) == pytest.approx([half, one], rel=1e-12)


def test_a_meter_reads_infinity_behind_a_capacitor_and_nothing_behind_a_choke_without_resistance() -> None:
    f = np.array([1000.0])
    parts = (coil("coil", "hot", "ground", R1, L1, f), Capacitor("c", "hot", "jack", 1e-7))
    load = (Resistor("amplifier", "jack", "ground", 1e6),)
    assert np.all(np.isinf(prepare(Harness(parts, "jack", load=load), f).dc_resistance("only")))
    choke = Inductor("choke", "jack", "ground", 1.0)
    assert prepare(Harness((*parts, choke), "jack", load=load), f).dc_resistance("only")[0] == 0.0


def test_a_wire_is_a_contact_that_is_closed_in_every_position() -> None:
    shared = harness(GRID)
    wired = replace(shared, wires=(("wb", "jack"),), positions=(Position("only", (("n", "b"), ("wn", "jack"))),))
    switched = replace(
        shared, positions=(Position("only", (("n", "b"), ("wn", "jack"), ("wb", "jack"), ("wb", "jack"))),)
    )
    one, other = (prepare(h, GRID).solve("only", SETTINGS) for h in (wired, switched))
    assert one.transfer == pytest.approx(other.transfer, rel=1e-11)
    assert np.all(np.abs(one.transfer[1, 1:3]) > 0)


# ---- what holds for any passive circuit ----


def test_a_transfer_is_the_same_there_and_back() -> None:
    # E in the bridge coil, current in a probe at the jack, against E in the probe and current in the coil: its lower
    # end goes to ground over 10 ohm, where its current is read. Two outputs, so two different eliminations.
    shared = harness(GRID)
    low = (coil("bridge", "b", "foot", R2, L2, GRID), Resistor("foot", "foot", "ground", 10.0))
    probe = (coil("probe", "jack", "ground", 33e3, 0.0, GRID),)
    there = replace(shared, parts=(*low, *shared.parts[1:]), load=(*shared.load, *probe))
    back = replace(there, output="foot")
    names = there.branches
    for position in ("bridge", "both"):
        forth = prepare(there, GRID).solve(position, SETTINGS).transfer[names.index("bridge")] / 33e3
        again = prepare(back, GRID).solve(position, SETTINGS).transfer[names.index("probe")] / 10.0
        assert forth == pytest.approx(again, rel=1e-9)  # the volume at 0 leaves 1e-6 of the signal


def test_power_into_the_output_is_the_power_in_the_resistances() -> None:
    # Every resistance is a coil without inductance here, so each transfer is the current that one ampere into the
    # output sends through it: sum of |H|^2 R = Re Z_out. The same sum is the noise of all parts, one by one (Nyquist).
    ohms = {"r1": 470e3, "r2": 10e3, "r3": 1e6, "bridge": R2, "neck": R1}
    ends = {"r1": ("b", "w"), "r2": ("w", "ground"), "r3": ("w", "n"), "bridge": ("b", "ground"), "neck": ("n", "tap")}
    inductance = {"bridge": L2, "neck": L1}
    parts: tuple[Part, ...] = tuple(coil(k, *ends[k], ohms[k], inductance.get(k, 0.0), GRID) for k in ohms)
    parts += (
        Capacitor("c1", "b", "ground", 90e-12),
        Capacitor("c2", "n", "w", 2e-9),
        Capacitor("c3", "tap", "ground", 1e-8),
        Inductor("l", "tap", "w", 3.0),
    )
    found = prepare(Harness(parts, "w"), GRID).solve("only")
    power = np.array(list(ohms.values())) @ np.abs(found.transfer[:, 0]) ** 2
    assert power == pytest.approx(found.z_out[0].real, rel=1e-12)


# ---- thermal noise ----

# C01: 300 K, nV/sqrt(Hz) and uV over 20 kHz
JOHNSON = {1e3: (4.070355, 0.5756), 6e3: (9.970292, 1.4100), 10e3: (12.87159, 1.8203), 1e6: (128.7159, 18.203)}


@pytest.mark.parametrize("ohm", JOHNSON)
def test_a_resistor_has_the_noise_of_c01(ohm: float) -> None:
    density, total = JOHNSON[ohm]
    assert float(noise_density(ohm)) == pytest.approx(1e-9 * density, rel=1e-6)
    f = np.geomspace(1e-3, 20e3, 300)
    found = thermal_noise(f, np.full((2, len(f)), ohm), (1e-3, 20e3))
    assert found == pytest.approx([1e-6 * total] * 2, rel=1e-4)  # printed to 4 digits
    assert found[0] == pytest.approx(1e-9 * density * math.sqrt(20e3 - 1e-3), rel=1e-6)


def test_noise_at_290_kelvin_is_that_of_c01() -> None:
    assert float(noise_density(1e3, 290.0)) == pytest.approx(4.001941e-9, rel=1e-6)


def test_noise_behind_a_capacitor_is_kt_over_c() -> None:
    # sqrt(kT/C) whatever the resistance. The band ends at 1000 corner
    # frequencies, beyond which 2/(1000 pi) of the power lies; 600 points leave 1e-4.
    r, c = 10e3, 100e-12
    corner = 1 / (2 * np.pi * r * c)
    f = np.geomspace(1e-3 * corner, 1e3 * corner, 600)
    parts = (Resistor("r", "hot", "ground", r), Capacitor("c", "hot", "ground", c))
    z_out = prepare(Harness(parts, "hot"), f).solve("only").z_out
    wanted = math.sqrt(1.380649e-23 * 300 / c * (1 - (2e-3 + 2e-3) / math.pi))  # as much is missing below as above
    assert thermal_noise(f, z_out, (f[0], f[-1])) == pytest.approx([wanted], rel=3e-4)


def test_a_band_between_two_points_of_the_grid_is_cut_there() -> None:
    f = np.array([10.0, 100.0, 1000.0])
    rising = np.array([10.0, 100.0, 1000.0])  # ohm, straight in frequency: the sum is (b^2 - a^2)/2
    found = thermal_noise(f, rising, (50.0, 700.0)) ** 2
    assert found == pytest.approx(4 * 1.380649e-23 * 300 * (700.0**2 - 50.0**2) / 2, rel=1e-12)


# ---- coils that a position leaves open or shorts ----


def split_pair() -> Harness:
    """A pair in series whose middle goes to a selector, each coil with its own capacitance."""
    f = GRID
    return Harness(
        (
            pair((("hot", "middle"), ("middle", "foot")), (R1, R2), (L1, L2), -0.1, f),
            Capacitor("c1", "hot", "middle", 80e-12),
            Capacitor("c2", "middle", "foot", 80e-12),
            Control("volume", "ground", "jack", "common", 500e3),
        ),
        "jack",
        load=(Resistor("amplifier", "jack", "ground", 1e6),),
        positions=(
            Position("series", (("hot", "common"), ("foot", "ground"))),
            Position("split", (("hot", "common"), ("foot", "ground"), ("middle", "ground"))),
            Position("other", (("middle", "common"), ("foot", "ground"))),
            Position("parallel", (("hot", "common"), ("foot", "common"), ("middle", "ground"))),
            Position("killed", (("hot", "foot"), ("hot", "ground"))),
            Position("away", ()),
        ),
    )


# id: what is said of the position, and the signs of both coils at the output
SAID = {
    "series": ([], (1, 1)),
    "split": ([(State.SHORTED, ("two",))], (1, 0)),
    "other": ([(State.OPEN, ("one",))], (0, 1)),
    "parallel": ([], (1, -1)),
    "killed": ([(State.SHORTED, ("one", "two"))], (0, 0)),
    "away": ([(State.OPEN, ("one", "two"))], (0, 0)),
}


@pytest.mark.parametrize("position", SAID)
def test_open_and_shorted_coils_are_said_and_the_others_are_heard(position: str) -> None:
    network = prepare(split_pair(), GRID)
    said, signs = SAID[position]
    assert network.notes(position) == [Note(position, *note) for note in said]
    heard = network.solve(position).transfer[:, 0, 0]
    # At 20 Hz a coil that is shorted or open is heard through the coupling alone: w M / R = 0.002.
    assert [int(np.sign(h.real)) if abs(h) > 1e-2 else 0 for h in heard] == list(signs)


def test_two_plain_coils_in_parallel_are_no_loop_to_speak_of() -> None:
    network = prepare(Harness((pair(PARALLEL, (R1, R2), (L1, L2), 0.0, GRID),), "hot"), GRID)
    assert network.notes("only") == []
