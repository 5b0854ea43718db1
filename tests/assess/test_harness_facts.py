"""Figures of the selector's positions against circuits written out by hand and solved the plain way (harness_sets)."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from example_sets import SHARED
from harness_sets import END, FREQUENCIES, Plain, apart, coil_z, model_of, number, of_positions, set_with, word
from scipy.interpolate import CubicSpline

from lodestring.assess import circuit, circuit_coil, circuit_net, harness_inputs
from lodestring.assess.model import Model

WRITTEN = """
cable = { length = "5 m", per_metre = "100 pF/m" }
lead_out = { length = "0.4 m", per_metre = "100 pF/m" }
input = { resistance = "1M", capacitance = "30 pF" }
"""
LEAD, WIRE, INPUT = 40e-12, 530e-12, 1e6
PEAK_CLOSE = 1e-4
PAIR_POSITIONS = """positions = [
  { name = "series", on = ["main"] },
  { name = "parallel", on = ["main.front", "main.rear"] },
  { name = "split", on = ["main.front"] },
  { name = "reversed", on = ["main.front", "main.rear"], reversed = ["main.rear"] },
]
"""


def own(model: Model, pickup: str, coil: str = "main") -> float:
    """A coil's own capacitance: with no metal tied to anything, all of what is at its ends."""
    return number(model, f"pickup.{pickup}.coil.{coil}.capacitance")


def loaded(circuit: Plain) -> Plain:
    return circuit.resistor("jack", "0", INPUT).capacitor("jack", "0", WIRE)


def toned(circuit: Plain, at: str, ohm: float = 250e3, farad: float = 22e-9) -> Plain:
    """A tone control fully up: the whole track in series with its capacitor."""
    return circuit.resistor(at, "tone", (1 - END) * ohm).capacitor("tone", "0", farad)


def one_coil(model: Model, pickup: str = "bridge") -> Plain:
    return Plain().coils([("hot", "0")], coil_z(model, pickup, "main")).capacitor("hot", "0", own(model, pickup) + LEAD)


def straight(model: Model) -> Plain:
    made = Plain().coils([("jack", "0")], coil_z(model, "bridge", "main"))
    return loaded(made.capacitor("jack", "0", own(model, "bridge") + LEAD))


def one_volume(model: Model, share: float = 1.0) -> Plain:
    return loaded(one_coil(model).control("hot", "jack", "0", 500e3, share))


def volume_and_tone(model: Model) -> Plain:
    return toned(one_volume(model), "hot")


def both_volumes(model: Model) -> Plain:
    coils = apart(coil_z(model, "bridge", "main"), coil_z(model, "neck", "main"))
    made = Plain().coils([("b", "0"), ("n", "0")], coils)
    for node, pickup, ohm in (("b", "bridge", 500e3), ("n", "neck", 250e3)):
        made.capacitor(node, "0", own(model, pickup) + LEAD).control(node, "jack", "0", ohm, 1.0)
    return loaded(toned(made, "jack"))


def blended(model: Model, shares: tuple[float, float]) -> Plain:
    coils = apart(coil_z(model, "bridge", "main"), coil_z(model, "neck", "main"))
    made = Plain().coils([("b", "0"), ("n", "0")], coils)
    for node, pickup, share in (("b", "bridge", shares[0]), ("n", "neck", shares[1])):
        made.capacitor(node, "0", own(model, pickup) + LEAD).control(node, "jack", "0", 500e3, share)
    return loaded(toned(made, "jack"))


def pair(model: Model, ends: list[tuple[str, str]], coils: tuple[str, ...] = ("front", "rear")) -> Plain:
    made = Plain().coils(ends, coil_z(model, "main", *coils))
    for (a, b), coil in zip(ends, coils, strict=True):
        made.capacitor(a, b, own(model, "main", coil))
    return loaded(made)


def pair_in_series(model: Model) -> Plain:
    return pair(model, [("jack", "middle"), ("middle", "0")]).capacitor("jack", "0", LEAD)


def pair_in_parallel(model: Model) -> Plain:
    return pair(model, [("jack", "0"), ("jack", "0")]).capacitor("jack", "0", LEAD)


def pair_split(model: Model) -> Plain:
    # the idle coil: nothing on its two ends but its own capacitance and the other coil's field
    made = pair(model, [("jack", "0"), ("r", "s")]).capacitor("jack", "0", LEAD)
    return made.resistor("s", "0", 1e12)  # somewhere to stand; carries nothing


def rear_reversed(model: Model) -> Plain:
    return pair(model, [("jack", "0"), ("0", "jack")]).capacitor("jack", "0", LEAD)


ONE = 'circuit = "one volume"\nvolume = { value = "500k" }\n'
TWO = """circuit = "two volumes, one tone"
volume = [{ value = "500k" }, { value = "250k" }]
tone = { value = "250k", capacitor = "22 nF" }
"""
BLEND = """circuit = "blend, one tone"
blend = { value = "500k" }
tone = { value = "250k", capacitor = "22 nF" }
"""
STRAIGHT = 'circuit = "straight to the jack"\n'
FULL = 'circuit = "one volume, one tone"\nvolume = { value = "500k" }\ntone = { value = "250k", capacitor = "22 nF" }\n'

# id: example, harness, position, circuit by hand
CIRCUITS: dict[str, tuple[str, str, str, Callable[[Model], Plain]]] = {
    "straight to the jack": ("heron", STRAIGHT + WRITTEN, "bridge", straight),
    "one volume": ("heron", ONE + WRITTEN, "bridge", one_volume),
    "one volume, one tone": ("heron", FULL + WRITTEN, "bridge", volume_and_tone),
    "two volumes, one tone": ("heron", TWO + WRITTEN, "bridge-neck", both_volumes),
    "blend, one tone": ("heron", BLEND + WRITTEN, "blend", lambda m: blended(m, (1.0, 1.0))),
    "a pair in series": ("plover", STRAIGHT + WRITTEN + PAIR_POSITIONS, "series", pair_in_series),
    "a pair in parallel": ("plover", STRAIGHT + WRITTEN + PAIR_POSITIONS, "parallel", pair_in_parallel),
    "a pair split": ("plover", STRAIGHT + WRITTEN + PAIR_POSITIONS, "split", pair_split),
    "a pair in parallel, one reversed": ("plover", STRAIGHT + WRITTEN + PAIR_POSITIONS, "reversed", rear_reversed),
}


def alike(mine: np.ndarray, plain: np.ndarray, close: float = 1e-8) -> bool:
    """Equal to `close` of the greatest over all frequencies and coils: rounding, condition of the plain matrix."""
    return bool(np.abs(mine - plain).max() < close * np.abs(plain).max())


@pytest.mark.parametrize(("name", "harness", "position", "by_hand"), CIRCUITS.values(), ids=CIRCUITS)
def test_a_ready_circuit_is_the_one_drawn_by_hand(
    name: str, harness: str, position: str, by_hand: Callable[[Model], Plain]
) -> None:
    model = set_with(name, harness)
    transfer, z_out = by_hand(model).solve("jack")
    found = circuit.response(model, position)
    on = [found.branches.index(n) for n in circuit.coils_on(model, position)]
    # the plain matrix of a split pair holds 1e12 ohm: that costs it digits
    close = 1e-6 if position == "split" else 1e-8
    assert alike(found.transfer[on, 0], transfer[: len(on)], close)
    assert alike(found.z_out[0], z_out, close)


def size_by_hand(model: Model, position: str, plain: Plain) -> np.ndarray:
    """(f,) response of a position: turns times what eddy currents leave of the string's share times the transfer, coils
    of one pickup added as they are, pickups by power."""
    transfer, _ = plain.solve("jack")
    power = np.zeros(len(plain.frequencies))
    by_pickup: dict[str, np.ndarray] = {}
    for i, coil in enumerate(circuit.coils_on(model, position)):
        pickup, name = coil.split(".")
        share = circuit_coil.string_share(model, pickup, name)
        left = CubicSpline(np.log(FREQUENCIES), share)(np.log(plain.frequencies))
        record = model.inputs.design.pickup[pickup]
        # front and rear of the pair are wound opposite ways over opposite magnets: both add at the finish
        share = (record.coil or {})[name].turns * left * transfer[i]
        by_pickup[pickup] = by_pickup.get(pickup, 0.0) + share
    for share in by_pickup.values():
        power = power + np.abs(share) ** 2
    return np.sqrt(power)


PEAKS = {name: case for name, case in CIRCUITS.items() if "reversed" not in name}


@pytest.mark.parametrize(("name", "harness", "position", "by_hand"), PEAKS.values(), ids=PEAKS)
def test_the_peak_is_that_of_the_circuit_by_hand(
    name: str, harness: str, position: str, by_hand: Callable[[Model], Plain]
) -> None:
    model = set_with(name, harness)
    plain = by_hand(model)
    top = FREQUENCIES[int(np.argmax(size_by_hand(model, position, plain)))]
    near = np.concatenate([[100.0], np.geomspace(top / 1.06, top * 1.06, 2001)])
    size = 20 * np.log10(size_by_hand(model, position, plain.at(near)))
    at = 1 + int(np.argmax(size[1:]))
    # three points of the grid, 15 to an octave, against 2,000 in a sixth of one
    assert number(model, f"position.{position}.peak_frequency") == pytest.approx(near[at], rel=PEAK_CLOSE)
    assert number(model, f"position.{position}.peak_gain") == pytest.approx(size[at] - size[0], abs=0.001)


@pytest.mark.parametrize(("name", "harness", "position", "by_hand"), CIRCUITS.values(), ids=CIRCUITS)
def test_noise_is_that_of_the_circuit_by_hand(
    name: str, harness: str, position: str, by_hand: Callable[[Model], Plain]
) -> None:
    # Nyquist: 4 k T times the integral of Re Z from 20 Hz to 20 kHz at 300 K; straight between 15 points an octave
    model = set_with(name, harness)
    f = np.linspace(20.0, 20e3, 4_000)
    _, z_out = by_hand(model).at(f).solve("jack")
    volts = math.sqrt(4 * 1.380649e-23 * 300.0 * float(np.trapezoid(z_out.real, f)))
    assert number(model, f"position.{position}.noise") == pytest.approx(volts, rel=2e-3)


# ---- direct current: Ohm's law ----


def side_by_side(*ohm: float) -> float:
    return 1.0 / sum(1.0 / r for r in ohm)


def r_of(model: Model, path: str) -> float:
    return number(model, f"{path}.dc_resistance")


# id: example, harness, position, ohms at the jack from the coils' own
METER: dict[str, tuple[str, str, str, Callable[..., float]]] = {
    "one coil, straight": ("heron", STRAIGHT, "neck", lambda b, n: n),
    "both, straight": ("heron", STRAIGHT, "bridge-neck", lambda b, n: side_by_side(b, n)),
    "one volume": ("heron", ONE, "bridge", lambda b, n: side_by_side(b, 500e3)),
    "two volumes, only one is on": ("heron", TWO, "neck", lambda b, n: side_by_side(n, 250e3)),
    "two volumes, both on": ("heron", TWO, "bridge-neck", lambda b, n: side_by_side(b, n, 500e3, 250e3)),
    "blend": ("heron", BLEND, "blend", lambda b, n: side_by_side(b, n, 500e3, 500e3)),
    "two pickups in series": (
        "heron",
        STRAIGHT + 'positions = [{ name = "both", on = ["bridge", "neck"], joined = "series" }]\n',
        "both",
        lambda b, n: b + n,
    ),
    "a pair in series": ("plover", STRAIGHT + PAIR_POSITIONS, "series", lambda f, r: f + r),
    "a pair in parallel": ("plover", STRAIGHT + PAIR_POSITIONS, "parallel", lambda f, r: side_by_side(f, r)),
    "a pair split": ("plover", STRAIGHT + PAIR_POSITIONS, "split", lambda f, r: f),
}


@pytest.mark.parametrize(("name", "harness", "position", "ohms"), METER.values(), ids=METER)
def test_the_meter_at_the_jack_reads_what_ohm_s_law_says(
    name: str, harness: str, position: str, ohms: Callable[..., float]
) -> None:
    model = set_with(name, harness)
    paths = {
        "heron": ("pickup.bridge.coil.main", "pickup.neck.coil.main"),
        "plover": ("pickup.main.coil.front", "pickup.main.coil.rear"),
    }
    coils = [r_of(model, path) for path in paths[name]]
    # a wiper fully up leaves a millionth of the track: half an ohm at most of some thousand
    assert number(model, f"position.{position}.dc_resistance_at_jack") == pytest.approx(ohms(*coils), rel=2e-4)


# ---- positions by name ----


@pytest.mark.parametrize(
    ("name", "harness", "names"),
    [
        ("wren", "", ("main",)),
        ("heron", "", ("bridge", "bridge-neck", "neck")),
        ("heron", BLEND, ("blend",)),
        ("plover", "", ("series", "parallel", "split")),
        ("heron", STRAIGHT + 'positions = [{ name = "all", on = ["neck", "bridge"] }]\n', ("all",)),
    ],
    ids=["one pickup", "two pickups: a selector of three", "blend", "as given", "one position given"],
)
def test_positions_have_the_given_names_or_each_pickup_s_and_the_neighbours(
    name: str, harness: str, names: tuple[str, ...]
) -> None:
    model = set_with(name, harness)
    assert circuit_net.position_names(model) == names
    seen = dict.fromkeys(key.split(".")[1] for key in of_positions(model))
    assert tuple(seen) == names  # and none of the hidden ones


def test_a_set_without_a_harness_has_no_positions() -> None:
    assert not of_positions(model_of("heron", {"harness": None}))


# ---- own netlist ----

OWN = """circuit = "own netlist"
positions = [
  { name = "bridge", closed = [["bridge.main.finish", "top"]] },
  { name = "both", closed = [["bridge.main.finish", "top"], ["neck.main.finish", "top"]] },
]
[harness.part.volume]
kind = "control"
ends = ["top", "jack", "ground"]
resistance = "500k"
[harness.part.tone]
kind = "control"
ends = ["t", "t", "top"]
resistance = "250k"
taper = "reverse audio"
[harness.part.tone-capacitor]
kind = "capacitor"
ends = ["t", "ground"]
capacitance = "22 nF"
[harness.part.lead]
kind = "capacitor"
ends = ["bridge.main.finish", "ground"]
capacitance = "40 pF"
[harness.part.neck-lead]
kind = "capacitor"
ends = ["neck.main.finish", "ground"]
capacitance = "40 pF"
[harness.part.bridge-ground]
kind = "resistor"
ends = ["bridge.main.start", "ground"]
resistance = "1 mOhm"
[harness.part.neck-ground]
kind = "resistor"
ends = ["neck.main.start", "ground"]
resistance = "1 mOhm"
"""


def own_netlist() -> str:
    head, _, parts = OWN.partition("[harness.part.volume]")
    return (
        head
        + WRITTEN.replace('lead_out = { length = "0.4 m", per_metre = "100 pF/m" }\n', "")
        + "[harness.part.volume]"
        + parts
    )


def test_an_own_netlist_of_a_ready_circuit_gives_the_ready_circuit_s_figures() -> None:
    mine, ready = set_with("heron", own_netlist()), set_with("heron", FULL + WRITTEN)
    for position, other in (("bridge", "bridge"), ("both", "bridge-neck")):
        one, two = circuit.response(mine, position), circuit.response(ready, other)
        assert alike(one.z_out, two.z_out, 1e-5)  # a milliohm where the ready circuit has a wire
        for key in ("peak_frequency", "peak_gain", "noise", "dc_resistance_at_jack", "hum"):
            assert number(mine, f"position.{position}.{key}") == pytest.approx(
                number(ready, f"position.{other}.{key}"), rel=1e-4
            )
    assert word(mine, "position.both.phase") == "in"


# ---- controls over their travel ----

# share of the track under the wiper at half travel: 10 % is common practice, no source
HALF = {"linear": 0.5, "audio": 0.1, "audio exponential": 0.1, "reverse audio": 0.9}


@pytest.mark.parametrize(("taper", "share"), HALF.items(), ids=HALF)
@pytest.mark.parametrize("travel", [0.0, 0.5, 1.0])
def test_a_volume_control_divides_as_its_taper_says(taper: str, share: float, travel: float) -> None:
    harness = f'circuit = "one volume"\nvolume = {{ value = "500k", taper = "{taper}" }}\n' + WRITTEN
    model = set_with("heron", harness)
    found = circuit.family(model, "bridge", "volume", (travel,))
    transfer, z_out = one_volume(model, {0.0: 0.0, 0.5: share, 1.0: 1.0}[travel]).solve("jack")
    assert alike(found.transfer[:1, 0], transfer)
    assert alike(found.z_out[0], z_out)


def test_every_taper_word_has_a_case_here() -> None:
    assert set(HALF) == set(harness_inputs.TAPERS)


BLEEDS: dict[str, tuple[str, Callable[[Plain], Plain]]] = {
    "capacitor": ('{ capacitor = "1 nF" }', lambda p: p.capacitor("hot", "jack", 1e-9)),
    "in parallel": (
        '{ capacitor = "1 nF", resistor = "150k" }',
        lambda p: p.capacitor("hot", "jack", 1e-9).resistor("hot", "jack", 150e3),
    ),
    "in series": (
        '{ capacitor = "1 nF", resistor = "130k", joined = "series" }',
        lambda p: p.capacitor("hot", "between", 1e-9).resistor("between", "jack", 130e3),
    ),
}


@pytest.mark.parametrize(("bleed", "added"), BLEEDS.values(), ids=BLEEDS)
def test_a_treble_bleed_lies_from_the_control_s_top_to_its_wiper(bleed: str, added: Callable[[Plain], Plain]) -> None:
    plain = f'circuit = "one volume"\nvolume = {{ value = "500k", bleed = {bleed} }}\n' + WRITTEN
    model = set_with("heron", plain)
    found = circuit.family(model, "bridge", "volume", (0.5,))
    transfer, _ = added(one_volume(model, 0.1)).solve("jack")
    assert alike(found.transfer[:1, 0], transfer)
    # what it is for: turned down, it keeps treble against 100 Hz that a bare control loses (common practice, no source)
    bare = circuit.family(set_with("heron", ONE + WRITTEN), "bridge", "volume", (0.5,))

    def treble(transfer: np.ndarray) -> float:
        low, high = (np.abs(circuit.at(transfer, f)) for f in (100.0, 3000.0))
        return float(high / low)

    assert treble(found.transfer[0, 0]) > 1.3 * treble(bare.transfer[0, 0])


@pytest.mark.parametrize(
    ("travel", "shares"), [(0.0, (1.0, 0.0)), (0.25, (1.0, 0.5)), (0.5, (1.0, 1.0)), (1.0, (0.0, 1.0))]
)
def test_a_blend_control_turns_down_one_side_at_a_time(travel: float, shares: tuple[float, float]) -> None:
    model = set_with("heron", BLEND + WRITTEN)
    transfer, _ = blended(model, shares).solve("jack")
    assert alike(circuit.family(model, "blend", "blend", (travel,)).transfer[:, 0], transfer)


def test_a_tone_control_turned_down_leaves_the_capacitor_across_the_pickup() -> None:
    model = set_with("heron", FULL + WRITTEN)
    found = circuit.family(model, "bridge", "tone", (0.0,))
    made = one_volume(model).resistor("hot", "tone", END * 250e3).capacitor("tone", "0", 22e-9)
    assert alike(found.transfer[:1, 0], made.solve("jack")[0])


# ---- usual values where nothing is written ----


def test_what_is_not_written_is_taken_as_usual_and_said_to_be_assumed() -> None:
    fact = model_of("wren").fact("position.main.peak_frequency")
    said = " ".join(fact.warnings)
    for word_of in ("volume control", "tone control", "tone capacitor", "cable", "input", "lead from pickup"):
        assert word_of in said


def test_a_pair_s_usual_controls_are_larger_than_a_single_coil_s() -> None:
    # common practice, no source: 250k with single coils, 500k with pairs
    bare = 'circuit = "one volume"\n'
    for name, ohm in (("heron", 250e3), ("plover", 500e3)):
        assert harness_inputs.volume(set_with(name, bare))[0] == pytest.approx(ohm)


# ---- facts of the trade (common practice, no source) ----


def at_bridge(key: str, harness: str = FULL + WRITTEN, changes: dict[str, str | None] | None = None) -> float:
    return number(set_with("heron", harness, changes), f"position.bridge.{key}")


def test_more_turns_put_the_peak_lower() -> None:
    few, many = (at_bridge("peak_frequency", changes={"pickup.bridge.coil.main.turns": n}) for n in ("7000", "8600"))
    assert many < 0.9 * few


def test_a_longer_cable_puts_the_peak_lower() -> None:
    short, long = (at_bridge("peak_frequency", FULL + WRITTEN.replace('"5 m"', n)) for n in ('"3 m"', '"10 m"'))
    assert long < 0.75 * short


def test_a_larger_control_leaves_a_higher_peak() -> None:
    small, large = (at_bridge("peak_gain", FULL.replace('"500k"', n) + WRITTEN) for n in ('"250k"', '"1M"'))
    assert large > small + 1.0


def test_a_pair_in_parallel_has_about_a_quarter_of_its_series_resistance_and_a_peak_an_octave_higher() -> None:
    # common practice; by circuit theory L and R go to a quarter, and with the same cable f to the double
    model = model_of("plover")
    series, parallel = (number(model, f"position.{p}.dc_resistance_at_jack") for p in ("series", "parallel"))
    assert parallel / series == pytest.approx(0.25, abs=0.01)
    low, high = (number(model, f"position.{p}.peak_frequency") for p in ("series", "parallel"))
    assert 1.8 < high / low < 2.1


# ---- intervals ----


@pytest.mark.parametrize("name", ["heron", "plover", "wren", "heron-neck-kept"])
def test_every_figure_of_a_position_lies_inside_its_interval_and_is_finite(name: str) -> None:
    model = model_of(name, store=SHARED)
    keys = of_positions(model)
    assert keys
    for key in keys:
        fact = model.fact(key)
        if fact.low is None or fact.high is None:
            assert fact.value in ("in", "out")
            continue
        assert fact.low <= fact.number <= fact.high, key
        assert all(math.isfinite(v) for v in (fact.low, fact.number, fact.high)), key
        if key.endswith(".hum"):  # a null is known by its ends, not by a factor: but no louder than a coil alone
            assert fact.low >= 0.0, key
            assert fact.high < 20.0, key
