"""`lodestring sweep`: measure a coil with a sound card."""

from __future__ import annotations

from pathlib import Path

import click

from lodestring.cli.speaking import FILE, speaks

RATES = click.Choice(["44100", "48000", "88200", "96000", "192000"])
SECONDS = click.FloatRange(2.0, 30.0)


@click.group()
def sweep() -> None:
    """Measure a coil with a sound card: inductance, capacitance, resonance, losses.

    Write the sweep, play it, record two channels while it plays: 1 at the
    output, 2 across the coil, with a resistor of about 100 kohm between the
    output and the coil. Then read the recording. Take no amplifier, and keep
    away from anything on mains.
    """


@sweep.command()
@click.argument("file", type=FILE)
@click.option("--rate", type=RATES, default="48000", show_default=True, help="Samples a second, as the card is set.")
@click.option("--seconds", type=SECONDS, default=10.0, show_default=True, help="How long it rises.")
@speaks
def make(file: Path, rate: str, seconds: float) -> None:
    """Write the sweep to play, 20 Hz to 20 kHz, as a WAV file."""
    from lodestring.folder.sweep import sweep_of, write_sweep

    made = sweep_of(int(rate), seconds)
    write_sweep(file, made)
    click.echo(f"wrote {file}, {made.samples / made.rate:.0f} s; play it, and record both channels meanwhile")


@sweep.command("drive-coil")
@click.argument("file", type=FILE)
@click.argument("coil")
@speaks
def drive_coil_command(file: Path, coil: str) -> None:
    """How to wind the small drive coil for one COIL of a set, "bridge.main"."""
    from lodestring.folder.sweep import drive_coil_here

    click.echo(drive_coil_here(file, coil)[1])


@sweep.command("read")
@click.argument("file", type=FILE)
@click.option("--method", type=click.Choice(["impedance", "drive coil"]), default="impedance", show_default=True,
              help="How the coil was connected.")  # fmt: skip
@click.option("--resistor", default="100k", show_default=True, help="In series with the coil (or the drive coil).")
@click.option("--input", "input_resistance", default="10k", show_default=True, help="Resistance of channel 2's input.")
@click.option("--input-capacitance", default="100 pF", show_default=True, help="Of that input with its cable.")
@click.option("--resistance", default="", help='What the meter read, "6.21k ± 0.03k"; left out: fitted.')
@click.option("--seconds", type=SECONDS, default=10.0, show_default=True, help="As the sweep was made.")
@click.option("--plot", type=FILE, help="Write the curve as SVG.")
@speaks
def read_command(
    file: Path, method: str, resistor: str, input_resistance: str, input_capacitance: str, resistance: str,
    seconds: float, plot: Path | None,
) -> None:  # fmt: skip
    """Read a recording of the sweep: what the coil is, and what went wrong while recording."""
    from lodestring.folder.sweep import METHODS, Connected, read_sweep, sweep_of, sweep_pictures
    from lodestring.folder.whole_file import write_whole

    how = Connected(
        METHODS[0 if method == "impedance" else 1], resistor, input_resistance, input_capacitance, resistance
    )
    found = read_sweep(file, sweep_of(seconds=seconds), how)
    for label, told in found.rows:
        click.echo(f"{label:<42}{told.whole}")
    for sentence in found.words:
        click.echo(sentence)
    if found.fit is not None and plot is not None:
        write_whole(plot, sweep_pictures(found.fit, 170.0)[0].encode(), b"<svg", "picture")
        click.echo(f"wrote {plot}")
    if found.fit is None:
        raise SystemExit(1)
