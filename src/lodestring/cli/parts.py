"""`lodestring parts`: solids and flatwork of a set as files."""

from __future__ import annotations

from pathlib import Path

import click

from lodestring.cli.speaking import FILE, speaks
from lodestring.design.finding import Finding

FORMATS = ("step", "stl", "3mf", "dxf", "svg")
PRINTER = click.option("--printer", default="", metavar="NAME", help="Printer of workshop.toml; left out: the first.")


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Folder to write into; left out: only list the parts.")
@click.option("--only", "names", multiple=True, metavar="NAME", help="A part or a pickup; may be repeated.")
@click.option("--format", "formats", multiple=True, type=click.Choice(FORMATS), help="May be repeated; left out: all.")
@PRINTER
@speaks
def parts(file: Path, output: Path | None, names: tuple[str, ...], formats: tuple[str, ...], printer: str) -> None:
    """Make the parts of a set: bobbins, plates, covers, jigs, templates.

    Without -o it lists them with the room between what will be put together.
    With it, files for any slicer, router, laser or CAD program, a list and a
    ZIP of all. Holes are drawn so that they fit on your printer, once its test
    piece was tried. Needs the extra: pip install 'lodestring[parts]'.
    """
    from lodestring.folder.solids_here import list_here, write_parts

    if output is None:
        rows, rooms, findings = list_here(file, printer)
        for row in rows:
            offered = "" if row.needed else "  (offered)"
            click.echo(f"{row.name:<34}{row.quantity} x  {row.process}, {row.material}: {row.title}{offered}")
        for room in rooms:
            where = f"{room.pickup} {room.coil}".strip()
            drawn, loose = (round(1e3 * v, 1) + 0.0 for v in (room.room, room.loose))  # no minus before a nought
            click.echo(f"  {where}: {room.between}  {drawn:.1f} mm, {loose:.1f} at the loose end")
        _say(findings)
        return
    made = write_parts(file, output, names, printer, formats or FORMATS, lambda title: click.echo(f"making {title}"))
    for row in made.rows:
        size = "" if row.volume is None else f", {row.volume.text}"
        click.echo(f"{row.name:<34}{row.quantity} x  {row.material}{size}; {row.orientation}")
    _say(made.findings)
    click.echo(f"wrote {len(made.files)} files into {made.folder}; parts-list.csv says what each is for")


@click.command("test-piece")
@click.argument("diameter")
@click.option("-o", "--output", type=FILE, required=True, help="Folder to write into.")
@PRINTER
@speaks
def test_piece(diameter: str, output: Path, printer: str) -> None:
    """Make the test piece for rods of a DIAMETER, "4.8 mm".

    Print it once, try a rod in every hole, and write into workshop.toml which
    it slipped into and which it had to be pressed into.
    """
    from lodestring.folder.solids_here import write_test_piece

    made = write_test_piece(diameter, output, Path(), printer)
    _say(made.findings)
    click.echo(f"wrote {len(made.files)} files into {made.folder}; print it standing on its floor, numbers up")


def _say(findings: tuple[Finding, ...]) -> None:
    for finding in findings:
        attempt = f"; try {finding.attempt}" if finding.attempt else ""
        click.echo(f"{finding.severity}: {finding.sentence}{attempt}")
