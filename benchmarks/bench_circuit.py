"""The circuit: 5 positions, 11 settings, 400 frequencies of a harness of two pickups, and ngspice at the same work.

ngspice gets one netlist, a control script and one run: for each position and setting it alters the resistors that stand
for contacts and tracks, and sweeps 400 frequencies for each of the three things that ours gives: the transfer of either
coil, and the output impedance. One voltage is saved and nothing is written to disk. Both times of ngspice are printed:
the whole run, and less its start-up, which is the same script with sweeps of one point.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits
from timing import Row, duration, warm

from lodestring.physics.network import Network, prepare
from lodestring.physics.network_parts import Branches, Capacitor, Control, Harness, Part, Position, Resistor

# 400 points as ngspice lays them: 200 a decade, from 100 Hz. Values invented.
F = 100.0 * 10.0 ** (np.arange(400) / 200.0)
TRAVEL = np.linspace(0.0, 1.0, 11)
CONTACTS = {"b": ("wb", "jack"), "n": ("wn", "jack"), "B": ("hb", "jack"), "N": ("hn", "jack")}
POSITIONS = ("b", "bn", "n", "B", "BN")
COILS = {"b": (6000.0, 2.6), "n": (5600.0, 2.3)}
TRACK, CLOSED, OPEN = 500e3, 1e-3, 1e12


def harness() -> Harness:
    """Two coils with their capacitance, two volumes, one tone, cable and amplifier."""
    parts: list[Part] = []
    for which, (ohm, henry) in COILS.items():
        z = np.array([[ohm + 2j * np.pi * F * henry]])
        parts += [
            Branches((f"coil-{which}",), ((f"h{which}", "ground"),), z, np.array([ohm])),
            Capacitor(f"c-{which}", f"h{which}", "ground", 100e-12),
            Control(f"volume-{which}", "ground", f"w{which}", f"h{which}", TRACK),
        ]
    parts += [Control("tone", "jack", "t", "t", TRACK), Capacitor("c-tone", "t", "ground", 22e-9)]
    load = (Capacitor("cable", "jack", "ground", 500e-12), Resistor("amplifier", "jack", "ground", 1e6))
    places = tuple(Position(name, tuple(CONTACTS[c] for c in name)) for name in POSITIONS)
    return Harness(tuple(parts), "jack", load=load, positions=places)


SETTINGS = {"volume-b": TRAVEL, "volume-n": TRAVEL, "tone": TRAVEL}


SOURCES = ("vb", "vn", "iout")


def solved(network: Network) -> np.ndarray:
    """(positions, settings, sources, f)."""
    found = [network.solve(name, SETTINGS) for name in POSITIONS]
    return np.moveaxis(np.array([[*one.transfer, one.z_out] for one in found]), 1, 2)


def rows() -> Iterator[Row]:
    """One thread."""
    what = harness()
    with threadpool_limits(1):
        network = prepare(what, F)
        yield Row("check and reduce the circuit", "", warm(lambda: prepare(what, F), n=50))
        times = warm(lambda: [network.solve(name, SETTINGS) for name in POSITIONS], n=50)
        yield Row("5 positions, 11 settings, 400 points", "under 25 ms", times)
        yield Row("the meter at the jack, 55 readings", "", warm(lambda: _meter(network), n=50))
        both = warm(lambda: [prepare(what, F).solve(name, SETTINGS) for name in POSITIONS[:1]], n=20)
        yield Row("one position from nothing", "", both)
    if shutil.which("ngspice"):
        _ngspice(min(times.seconds), solved(network))


def _meter(network: Network) -> None:
    for name in POSITIONS:
        network.dc_resistance(name, SETTINGS)


SWEEP = f"ac dec 200 100 {F[-1] * (1 + 1e-9):.12g}"
ONE_POINT = "ac lin 1 100 100"


def script(sweep: str, last: str = "") -> str:
    """The netlist; only names and numbers of this file. `last` is a command after the sweeps."""
    lines = ["benchmark"]
    for w, (ohm, henry) in COILS.items():
        lines += [f"V{w} h{w} x{w} DC 0 AC 0", f"L{w} x{w} y{w} {henry}", f"R{w} y{w} 0 {ohm}", f"C{w} h{w} 0 100e-12"]
        lines += [f"Rlow{w} 0 w{w} 1", f"Rtop{w} w{w} h{w} 1"]
    lines += ["Rtone jack t 1", "Ctone t 0 22e-9", "Ccable jack 0 500e-12", "Ramp jack 0 1e6", "Iout 0 jack DC 0 AC 0"]
    # SPICE knows no upper case: k0 to k3 in the order of CONTACTS
    lines += [f"Rk{k} {a} {b} {OPEN}" for k, (a, b) in enumerate(CONTACTS.values())]
    lines += [".save v(jack)", ".control"]
    for name in POSITIONS:
        lines += [f"alter rk{k} = {CLOSED if c in name else OPEN}" for k, c in enumerate(CONTACTS)]
        for share in np.clip(TRAVEL, 1e-6, 1 - 1e-6):
            lines += [f"alter rlow{w} = {TRACK * share:.12g}" for w in COILS]
            lines += [f"alter rtop{w} = {TRACK * (1 - share):.12g}" for w in COILS]
            lines += [f"alter rtone = {TRACK * share:.12g}"]
            for source in SOURCES:
                lines += [f"alter {source} acmag = 1", sweep, f"alter {source} acmag = 0"]
    return "\n".join([*lines, last, "quit", ".endc", ".end", ""])


def _run(text: str, folder: str) -> float:
    (Path(folder) / "b.cir").write_text(text, encoding="ascii")
    start = time.perf_counter()
    subprocess.run(["ngspice", "-b", "b.cir"], cwd=folder, check=False, capture_output=True, timeout=30)
    return time.perf_counter() - start


def _ngspice(ours: float, wanted: np.ndarray) -> None:
    """Print both times and ratios, least over least, and that the answers are the same."""
    with tempfile.TemporaryDirectory() as folder:
        whole = min(_run(script(SWEEP), folder) for _ in range(5))
        start = min(_run(script(ONE_POINT), folder) for _ in range(5))
        names = " ".join(f"ac{k + 1}.v(jack)" for k in range(wanted[..., 0].size))
        _run(script(SWEEP, f"set wr_singlescale\nwrdata out {names}"), folder)
        data = np.loadtxt(Path(folder) / "out")[:, 1:]
    found = (data[:, ::2] + 1j * data[:, 1::2]).T.reshape(wanted.shape)
    apart = np.max(np.abs(found - wanted) / np.abs(wanted).max(axis=(0, 1, 3), keepdims=True))
    print(
        f"  ngspice, the same sweeps in one run: {duration(whole)}, of which start-up and script {duration(start)}; "
        f"ratio {whole / ours:.0f}, without start-up {(whole - start) / ours:.0f}; answers apart {apart:.0e}"
    )
