"""A sweep with a sound card, from the file that is played to what the coil is: the steps in order.

Two ways of connecting (signal/methods.py). Everything typed is a text as elsewhere: "100k", "47 kOhm", "330 pF".
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lodestring.drawing.svg import svg
from lodestring.drawing.sweep_plot import sweep_plots
from lodestring.errors import DomainError, LodestringError
from lodestring.folder.open_set import open_set
from lodestring.folder.whole_file import write_whole
from lodestring.proving.drive_coil import DriveCoil, drive_coil
from lodestring.proving.sweep_fit import SweepFit, fit_impedance, fit_induced
from lodestring.quantity import Kind, read
from lodestring.quantity.figures import Figure, figure
from lodestring.signal.methods import coil_impedance, impedance_sigma, induced, input_admittance
from lodestring.signal.recording import Recording, read_recording, wav_bytes
from lodestring.signal.sweep import Sweep, drive
from lodestring.signal.transfer import transfer
from lodestring.signal.trouble import Method, troubles

LOWEST, HIGHEST = 80.0, 0.9
"""The fit's band: from so many Hz (below, the window tells frequencies apart too coarsely) to this share of the sweep's
high end."""
METHODS: tuple[Method, ...] = ("impedance", "drive coil")
METER = 0.01
"""Of the meter's resistance where no accuracy is said, half-width of a 90 % interval (trade: common practice)."""
CAUTION = (
    "Nothing of this goes near the mains: a sound card and a bare coil only, no amplifier. Turn the output down before "
    "plugging in."
)


@dataclass(frozen=True, slots=True)
class Connected:
    """How the card and the coil were connected, as typed. `resistor`: in series with the coil, or with the drive coil.
    `input_resistance`, `input_capacitance`: of the channel at the coil, the cable's included. `resistance`: what the
    meter read, empty where it did not."""

    method: Method = "impedance"
    resistor: str = "100k"
    input_resistance: str = "10k"
    input_capacitance: str = "100 pF"
    resistance: str = ""


@dataclass(frozen=True, slots=True)
class SweepReading:
    """What a recording tells. `words`: troubles, and what to know. `fit` is None where a trouble is fatal."""

    words: tuple[str, ...]
    fit: SweepFit | None
    rows: tuple[tuple[str, Figure], ...]


def sweep_of(rate: int = 48000, seconds: float = 10.0, level: float = 0.5) -> Sweep:
    """The sweep that is played: 20 Hz to 20 kHz. Raises DomainError."""
    return Sweep(20.0, min(20e3, 0.45 * rate), seconds, rate, level)


def write_sweep(out: Path, sweep: Sweep) -> None:
    """Write the sweep as a WAV file. Only a WAV file is written over. Raises FileProblem."""
    write_whole(out, wav_bytes(drive(sweep), sweep.rate), b"RIFF", "WAV file")


def read_sweep(source: Path | bytes, sweep: Sweep, how: Connected) -> SweepReading:
    """What a recording of the sweep tells of the coil: reference on channel 1, coil on channel 2.

    Raises LodestringError and its kinds for a file that cannot be read and for values that cannot be.
    """
    return analysed(read_recording(source), sweep, how)


def analysed(recording: Recording, sweep: Sweep, how: Connected) -> SweepReading:
    """As `read_sweep`, of samples."""
    if how.method not in METHODS:
        raise LodestringError("the method is one of two", f'"{how.method}"', " or ".join(METHODS))
    resistor, r_in = (_value(text, Kind.RESISTANCE) for text in (how.resistor, how.input_resistance))
    c_in = _value(how.input_capacitance, Kind.CAPACITANCE)
    meter = _meter(how.resistance)
    found = troubles(recording, sweep, how.method)
    words = [t.sentence for t in found]
    if any(t.fatal for t in found):
        return SweepReading(tuple(words), None, ())
    reference, response = recording.samples
    seen = transfer(reference, response, recording.rate, LOWEST, HIGHEST * sweep.high)
    if how.method == "impedance":
        z = coil_impedance(seen.frequency, seen.ratio, resistor, r_in, c_in)
        fit = fit_impedance(seen.frequency, z, impedance_sigma(z, seen.ratio, seen.sigma, resistor), meter)
    else:
        if meter is None:
            raise LodestringError("with a drive coil the meter's resistance is needed too", "none", "reading it first")
        m = induced(seen.frequency, seen.ratio, resistor, r_in)
        sigma = abs(m) * seen.sigma / abs(seen.ratio)
        fit = fit_induced(seen.frequency, m, sigma, input_admittance(seen.frequency, r_in, c_in), meter)
    words += _doubts(fit, how)
    return SweepReading(tuple(words), fit, _rows(fit, how.method))


def _value(text: str, kind: Kind) -> float:
    return read(text, kind).value


def _meter(text: str) -> tuple[float, float] | None:
    if not text.strip():
        return None
    reading = read(text, Kind.RESISTANCE)
    half = reading.half_width or METER * reading.value
    if not reading.value > 0.0:
        raise DomainError("a coil's resistance is above 0", text, "what the meter read")
    return reading.value, half / 1.6449


def _doubts(fit: SweepFit, how: Connected) -> list[str]:
    made = []
    if fit.misfit > 2.0:
        made.append(
            "The fitted coil leaves more over than noise explains: shorted turns, a cover, or a connection that moved."
        )
    if fit.strangers:
        at = ", ".join(f"{f:,.0f} Hz" for f in fit.strangers[:4])
        made.append(f"Points that belong to no coil were not counted in full: {at}.")
    if how.method == "drive coil":
        made.append(
            "A drive coil tells inductance times capacitance well, each alone poorly; the impedance method parts them."
        )
    return made


def _rows(fit: SweepFit, method: Method) -> tuple[tuple[str, Figure], ...]:
    def row(label: str, name: str, unit: str) -> tuple[str, Figure]:
        told = getattr(fit, name)
        return label, figure(told.value, unit, told.low, told.high)

    own = "resonance of the coil alone" if method == "impedance" else "resonance of the coil without the input"
    return (
        row("resistance", "resistance", "ohm"),
        row("inductance at 1 kHz, series", "inductance", "H"),
        row("capacitance of the coil", "capacitance", "F"),
        row(own, "resonance", "Hz"),
        row("Q there", "q", "1"),
    )


def drive_coil_here(set_path: Path, coil: str) -> tuple[DriveCoil, str]:
    """The drive coil for "PICKUP.COIL" of a set file, and how to wind it. Raises LodestringError and its kinds."""
    pickup, _, name = coil.partition(".")
    made = drive_coil(open_set(set_path).model, pickup, name)
    return made, (
        f"Wind {made.turns} turns of any enamelled wire that you can hold, 0.2 mm or so, close together round a form "
        f"of {made.diameter * 1e3:.0f} mm: a cork, a bottle's cap. Put {made.resistor:.0f} ohm in series, channel 1 "
        f"across that resistor, and lay the coil flat on the middle of the pickup, on a sheet of card. At 1 kHz the "
        f"pickup then gives about {made.volts * 1e3:.0f} mV, more with its pole pieces."
    )


def sweep_pictures(fit: SweepFit, width: float) -> tuple[str, str]:
    """Both plots as SVG at a width in mm."""
    curve, rest = sweep_plots(fit)
    return svg(curve, width, ids="sweep-"), svg(rest, width, ids="rest-")
