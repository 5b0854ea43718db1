"""The exported circuit does what the set's circuit does: read by ngspice, and by a matrix of this file.

Both take the text alone. What they give is compared with the network solver, which has the coils' impedances and not
the parts fitted to them; the fit's own error, which the netlist states, is the tolerance.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from lodestring.assess import circuit, circuit_facts, circuit_net
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.errors import DomainError
from lodestring.folder.examples import example_text
from lodestring.making.spice_netlist import spice_netlist, string_drive
from lodestring.physics.network import prepare
from lodestring.physics.network_parts import Branches, Capacitor, Resistor

F = 20.0 * 10.0 ** (np.arange(301) / 100.0)  # what `.ac dec 100 20 20k` asks for
OWN = """
[harness]
circuit = "own netlist"
positions = [
  { name = "both", closed = [["bridge.main.start", "ground"], ["neck.main.finish", "bridge.main.finish"]] },
  { name = "chain", closed = [["bridge.main.start", "neck.main.finish"]] },
  { name = "neck", closed = [["neck.main.finish", "top"]] },
]
[harness.part.feed]
kind = "resistor"
ends = ["bridge.main.finish", "top"]
resistance = "22k"
[harness.part.home]
kind = "resistor"
ends = ["neck.main.start", "ground"]
resistance = "10 ohm"
[harness.part.loud]
kind = "control"
ends = ["top", "jack", "ground"]
resistance = "250k"
taper = "audio exponential"
[harness.part.bright]
kind = "capacitor"
ends = ["top", "jack"]
capacitance = "680 pF"
[harness.part.soft]
kind = "control"
ends = ["jack", "between", "between"]
resistance = "500k"
taper = "reverse audio"
[harness.part.hush]
kind = "capacitor"
ends = ["between", "ground"]
capacitance = "10 nF"
"""
"""Invented. In "neck" the bridge coil hangs on the rest by one end; in "both" and "chain" nothing is left open."""


@cache
def model_of(name: str) -> Model:
    text = example_text("heron" if name == "own" else name)
    return Model(Inputs(read_set((text.partition("[harness]")[0] + OWN if name == "own" else text).encode()).record))


PLACES: list[tuple[str, str, dict[str, float]]] = [  # set, position, controls that are not fully up
    ("heron", "bridge", {}),
    ("heron", "bridge-neck", {}),
    ("heron", "neck", {}),
    ("heron", "bridge-neck", {"bridge.volume": 0.3, "tone": 0.0}),
    ("plover", "series", {}),
    ("plover", "parallel", {}),
    ("plover", "split", {}),
    ("plover", "parallel", {"volume": 0.7, "tone": 0.45}),
    ("wren", "main", {}),
    ("heron-neck-kept", "bridge", {}),
    ("heron-neck-kept", "bridge-neck", {}),
    ("heron-neck-kept", "neck", {}),
    ("own", "both", {}),
    ("own", "chain", {}),
    ("own", "neck", {}),
    ("own", "neck", {"loud": 0.5, "soft": 0.2}),
]
IDS = [f"{s} {p}{' turned' if t else ''}" for s, p, t in PLACES]


def wanted(model: Model, position: str, travels: dict[str, float]) -> np.ndarray:
    """Volts at the jack by the network solver, at F. Between the frequencies of the coils' impedances lie splines: off
    by less than 1e-7: with every other point left out it was 1e-6 at most, and each halving of the step takes 16."""
    harness = circuit.network(model).harness

    def between(values: np.ndarray) -> np.ndarray:
        return np.asarray(CubicSpline(np.log(FREQUENCIES), values, axis=-1)(np.log(F)))

    parts = []
    for part in harness.parts:
        if isinstance(part, Branches):
            still = np.diag(part.dc_resistance)[:, :, None]
            part = replace(part, impedance=still + F * between((part.impedance - still) / FREQUENCIES))
        parts.append(part)
    drive = string_drive(model, position)
    emf = (drive.weight * np.exp(1j * np.radians(drive.angle)))[:, None] * between(drive.left)
    settings = {**circuit_net.settings(model, "", 1.0), **travels}
    return prepare(replace(harness, parts=tuple(parts)), F).solve(position, settings).driven(emf)[0]


def stated(text: str) -> float:
    """The errors that a netlist states of itself, together."""
    found = re.search(r"inductances to (\S+) of their size, EMFs to (\S+) of the greatest", text)
    assert found is not None
    return float(found[1]) + float(found[2])


def tolerance(text: str) -> float:
    """At a peak of Q an error of L counts Q times; the loaded circuits here have Q below 5. The rest: the splines, the
    tie of 1e12 ohm, and what rounding leaves of 15 digits."""
    return 5.0 * stated(text) + 1e-6


# ---- two readers of the text ----


def by_ngspice(text: str, folder: Path) -> np.ndarray:
    (folder / "one.cir").write_text(text, encoding="ascii")
    command = ["ngspice", "-b", "-r", "one.raw", "one.cir"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, check=False)
    assert (folder / "one.raw").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    head, _, body = (folder / "one.raw").read_bytes().partition(b"Binary:\n")
    names = [
        row.split()[1].lower() for row in head.decode("ascii").split("Variables:\n")[1].splitlines() if row.strip()
    ]
    values = np.frombuffer(body, dtype=complex).reshape(-1, len(names)).T
    assert values[0].real == pytest.approx(F, rel=1e-9)
    return values[names.index("v(out)")]


def value(word: str, parameters: dict[str, float]) -> float:
    if not word.startswith("{"):
        return float(word)
    ohm, _, share = word.strip("{}").partition("*")
    x = parameters[share.removeprefix("(1-").rstrip(")")]
    return float(ohm) * (1.0 - x if share.startswith("(1-") else x)


def by_matrix(text: str, frequencies: np.ndarray) -> np.ndarray:
    """Volts at node out: unknowns are the nodes' volts and the currents of coils and sources."""
    lines = [line.split() for line in text.splitlines() if line[0] not in "*."]
    shares = dict(re.findall(r"^\.param (\w+)=(\S+)$", text, re.MULTILINE))
    parameters = {name: float(number) for name, number in shares.items()}
    nodes = sorted({n for line in lines if line[0][0] != "K" for n in line[1:3]} - {"0"})
    at = {node: k for k, node in enumerate(nodes)}
    branches = [line for line in lines if line[0][0] in "LV"]
    row = {line[0]: len(at) + k for k, line in enumerate(branches)}
    size = len(at) + len(branches)
    fixed, moving, right = np.zeros((size, size)), np.zeros((size, size)), np.zeros(size, complex)

    def across(matrix: np.ndarray, a: str, b: str, admittance: float) -> None:
        for i, j, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            if "0" not in (i, j):
                matrix[at[i], at[j]] += sign * admittance

    for name, a, b, *rest in lines:
        if name[0] == "R":
            across(fixed, a, b, 1.0 / value(rest[0], parameters))
        elif name[0] == "C":
            across(moving, a, b, float(rest[0]))
        elif name[0] in "LV":
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node != "0":
                    fixed[row[name], at[node]] = fixed[at[node], row[name]] = sign
            if name[0] == "L":
                moving[row[name], row[name]] = -float(rest[0])
            else:
                right[row[name]] = float(rest[3]) * np.exp(1j * np.radians(float(rest[4])))
    own = {line[0]: float(line[3]) for line in lines if line[0][0] == "L"}
    for name, one, other, *rest in lines:
        if name[0] == "K":
            mutual = float(rest[0]) * (own[one] * own[other]) ** 0.5
            moving[row[one], row[other]] = moving[row[other], row[one]] = -mutual
    return np.array([np.linalg.solve(fixed + 2j * np.pi * f * moving, right)[at["out"]] for f in frequencies])


# ---- what they say ----


def test_every_position_of_these_sets_is_looked_at() -> None:
    for name in dict.fromkeys(s for s, _, _ in PLACES):
        assert {p for s, p, _ in PLACES if s == name} == set(circuit_net.position_names(model_of(name)))


@pytest.mark.needs("ngspice")
@pytest.mark.parametrize(("name", "position", "travels"), PLACES, ids=IDS)
def test_ngspice_reads_the_circuit_that_was_meant(
    name: str, position: str, travels: dict[str, float], tmp_path: Path
) -> None:
    text = spice_netlist(model_of(name), position, travels)
    assert stated(text) < 1e-4
    assert by_ngspice(text, tmp_path) == pytest.approx(wanted(model_of(name), position, travels), rel=tolerance(text))


@pytest.mark.parametrize(("name", "position", "travels"), PLACES, ids=IDS)
def test_a_matrix_made_from_the_text_is_the_circuit_that_was_meant(
    name: str, position: str, travels: dict[str, float]
) -> None:
    text = spice_netlist(model_of(name), position, travels)
    found = by_matrix(text, F[::20])
    assert found == pytest.approx(wanted(model_of(name), position, travels)[::20], rel=tolerance(text))


@pytest.mark.parametrize(("name", "position"), [("heron", "bridge"), ("plover", "series"), ("wren", "main")])
def test_one_run_gives_the_response_that_is_drawn(name: str, position: str) -> None:
    model = model_of(name)
    text = spice_netlist(model, position)
    found = np.abs(by_matrix(text, FREQUENCIES[::10]))
    assert found == pytest.approx(circuit_facts.curve(model, position)[::10], rel=tolerance(text))


def test_two_pickups_a_quarter_turn_apart_add_nearly_by_their_power() -> None:
    # Exact where both transfers have the same phase; a fifth of a decibel allows for the coils' difference in turns.
    model = model_of("heron")
    found = np.abs(by_matrix(spice_netlist(model, "bridge-neck"), FREQUENCIES[:150:10]))
    assert 20.0 * np.log10(found / circuit_facts.curve(model, "bridge-neck")[:150:10]) == pytest.approx(0.0, abs=0.2)


def test_a_kept_pickup_straight_into_a_load_is_the_low_pass_of_the_books() -> None:
    # Loaded second-order low pass in closed form: 1 / (1 + (R + s L)(1/R_load + s C)), R and L as read in the example.
    text = example_text("heron-neck-kept").partition("[harness]")[0]
    harness = """
[harness]
circuit = "straight to the jack"
positions = [{ name = "bridge", on = ["bridge"] }, { name = "neck", on = ["neck"] }]
lead_out = { length = "0 m", per_metre = "100 pF/m" }
cable = { length = "5 m", per_metre = "100 pF/m" }
input = { resistance = "1M" }
"""
    model = Model(Inputs(read_set((text + harness).encode()).record))
    every = circuit.network(model).harness.everything
    farad = sum(p.farad for p in every if isinstance(p, Capacitor) and p.name in ("neck.capacitance", "cable"))
    s = 2j * np.pi * F[::20]
    closed = 1.0 / (1.0 + (5310.0 + s * 2.1) * (1e-6 + s * farad))
    assert by_matrix(spice_netlist(model, "neck"), F[::20]) == pytest.approx(closed, rel=1e-9)


@pytest.mark.parametrize("name", ["heron", "plover", "own"])
def test_every_resistor_and_capacitor_comes_back_to_nine_digits(name: str) -> None:
    model = model_of(name)
    for position in circuit_net.position_names(model):
        text = spice_netlist(model, position)
        for kind, letter in ((Resistor, "R"), (Capacitor, "C")):
            for part in circuit.network(model).harness.everything:
                if isinstance(part, kind):
                    called = re.sub("[^A-Za-z0-9_]", "_", part.name)
                    found = re.findall(rf"^{letter}\d+_{called} \S+ \S+ (\S+)$", text, re.MULTILINE)
                    size = part.ohm if isinstance(part, Resistor) else part.farad
                    assert [float(x) for x in found] == pytest.approx([size], rel=1e-9)


def test_sources_for_hum_are_what_the_coils_pick_up_of_it() -> None:
    model = model_of("plover")
    hum = np.real(circuit.at(circuit.emf(model, "hum"), 50.0))
    told = re.findall(r"^\* V(\d+) for hum.*AC (\S+) (\S+)$", spice_netlist(model, "series"), re.MULTILINE)
    assert [int(n) for n, _, _ in told] == [1, 2]
    assert [float(v) * np.cos(np.radians(float(a))) for _, v, a in told] == pytest.approx(hum, rel=1e-5)  # six digits


@pytest.mark.parametrize(
    ("position", "travels", "words"),
    [
        pytest.param("nek", {}, "one of bridge, bridge-neck, neck", id="no-such-position"),
        pytest.param("alone.bridge.main", {}, "one of bridge, bridge-neck, neck", id="a-position-inside-the-program"),
        pytest.param("neck", {"loud": 0.5}, "a control of the circuit", id="no-such-control"),
        pytest.param("neck", {"tone": 1.5}, "between 0 and 1", id="travel-beyond-the-stop"),
        pytest.param("neck", {"tone": float("nan")}, "between 0 and 1", id="travel-that-is-no-number"),
    ],
)
def test_what_is_not_there_is_a_sentence(position: str, travels: dict[str, float], words: str) -> None:
    with pytest.raises(DomainError, match=words):
        spice_netlist(model_of("heron"), position, travels)


def test_a_set_without_a_harness_has_no_netlist() -> None:
    bare = Model(Inputs(read_set(example_text("heron").partition("[harness]")[0].encode()).record))
    with pytest.raises(DomainError, match="needs a harness"):
        spice_netlist(bare, "bridge")
