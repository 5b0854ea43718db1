"""`lodestring sweep`, from the file that is played to the coil, as a maker types it."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from numpy.typing import NDArray
from scipy.special import jv

from lodestring.cli.main import main
from lodestring.folder.examples import example_text
from lodestring.folder.sweep import sweep_of
from lodestring.signal.recording import wav_bytes
from lodestring.signal.sweep import drive

Array = NDArray[np.float64]
RATE, SECONDS = 48000, 4.0


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["sweep", *map(str, words)])


def coil(f: Array) -> NDArray[np.complex128]:
    """6.21 kohm, 1.6 H in air and a quarter more by rods of alnico (Bessel's law), 110 pF."""
    ka = np.sqrt(-2j * np.pi * f * 4e-7 * np.pi * 4.0 * 2e6) * 2.4e-3
    chi = 4.0 * 2 * jv(1, ka) / (ka * jv(0, ka)) - 1
    l = 1.6 * (1 + 0.25 * (chi / (1 + 0.0913 * chi)) / (3 / (1 + 0.0913 * 3)))
    s = 2j * np.pi * f
    return np.asarray(1 / (1 / (6210.0 + s * l) + s * 110e-12))


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sweep through 100 kohm into that coil, an input of 20 kohm and 100 pF across it."""
    x = drive(sweep_of(RATE, SECONDS))
    f = np.fft.rfftfreq(len(x), 1 / RATE)
    f[0] = 1e-3
    load = 1 / (1 / coil(f) + 1 / 20e3 + 2j * np.pi * f * 100e-12)
    y = np.fft.irfft(np.fft.rfft(x) * load / (100e3 + load), len(x))
    noise = 1e-5 * np.random.default_rng(1).standard_normal(len(y))
    path = tmp_path_factory.mktemp("sweep") / "recording.wav"
    path.write_bytes(wav_bytes(np.stack([x, y + noise]), RATE))
    return path


def number(text: str, label: str) -> float:
    found = re.search(rf"^{label}\s+([\d.]+)", text, re.MULTILINE)
    assert found, text
    return float(found.group(1))


def test_the_coil_comes_out_of_its_recording(recorded: Path, tmp_path: Path) -> None:
    done = run("read", recorded, "--input", "20k", "--seconds", SECONDS, "--plot", tmp_path / "curve.svg")
    assert done.exit_code == 0, done.output
    assert number(done.output, "resistance") == pytest.approx(6.21, rel=0.005)
    assert number(done.output, "inductance at 1 kHz, series") == pytest.approx(2.0, rel=0.005)
    assert number(done.output, "capacitance of the coil") == pytest.approx(110, rel=0.02)
    fine = np.linspace(8e3, 14e3, 60001)
    top = float(fine[np.argmax(np.abs(coil(fine)))])
    assert number(done.output, "resonance of the coil alone") == pytest.approx(top / 1e3, rel=2e-3)
    assert (tmp_path / "curve.svg").read_text().startswith("<svg")


def test_an_input_that_is_told_wrong_moves_the_resonance_little_and_the_losses_much(recorded: Path) -> None:
    right, wrong = (run("read", recorded, "--input", r, "--seconds", SECONDS).output for r in ("20k", "1M"))
    assert number(wrong, "Q there") < 0.5 * number(right, "Q there")


def test_what_went_wrong_is_said_and_nothing_is_read_off(recorded: Path, tmp_path: Path) -> None:
    raw = bytearray(recorded.read_bytes())
    raw[24:28] = (44100).to_bytes(4, "little")
    spoilt = tmp_path / "spoilt.wav"
    spoilt.write_bytes(bytes(raw))
    done = run("read", spoilt, "--seconds", SECONDS)
    assert done.exit_code == 1
    assert "44,100" in done.output
    assert "inductance" not in done.output


REFUSED = {
    "a low input with a drive coil": ("--method", "drive coil", "--input", "47k", "--resistance", "6.2k"),
    "a drive coil without the meter": ("--method", "drive coil", "--input", "1M"),
    "a resistor of nothing": ("--resistor", "0"),
    "a resistor in metres": ("--resistor", "3 m"),
    "another sweep": ("--seconds", "10"),
}


@pytest.mark.parametrize("words", REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_read_gets_a_sentence(words: tuple[str, ...], recorded: Path) -> None:
    first = () if "--seconds" in words else ("--seconds", str(SECONDS))
    done = run("read", recorded, *first, *words)
    assert done.exit_code in (1, 2)
    assert done.output.strip()
    assert "Traceback" not in done.output


def test_the_sweep_that_is_written_is_the_one_that_is_read(tmp_path: Path) -> None:
    done = run("make", tmp_path / "sweep.wav", "--rate", "96000", "--seconds", "2")
    assert done.exit_code == 0
    again = run("read", tmp_path / "sweep.wav", "--seconds", "2")
    assert "one channel" in again.output
    (tmp_path / "mine.txt").write_text("mine")
    assert run("make", tmp_path / "mine.txt").exit_code == 2
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_the_drive_coil_is_told_in_turns(tmp_path: Path) -> None:
    path = tmp_path / "heron.toml"
    path.write_text(example_text("heron"), encoding="utf-8")
    assert re.search(r"Wind \d+ turns", run("drive-coil", path, "bridge.main").output)
    assert run("drive-coil", path, "middle").exit_code == 2
