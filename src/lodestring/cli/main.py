"""The commands. Each only translates: arguments in, text out; errors become sentences and exit code 2."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from lodestring.cli.book import book
from lodestring.cli.check import check
from lodestring.cli.parts import parts, test_piece
from lodestring.cli.speaking import FILE, speaks
from lodestring.cli.sweep import sweep
from lodestring.version import __version__

PAPERS = ("a4", "letter")


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog="A set file holds one instrument's pickups. Start with: lodestring new heron.toml",
)
@click.version_option(__version__, prog_name="lodestring")
def main() -> None:
    """Make pickups: from calipers to first note.

    Reads a set file, works out every figure with its spread and reason, says
    early what will not work, and prints what the bench needs.
    """


@main.command()
@click.argument("file", type=FILE)
@click.option("--from", "example", default="heron", show_default=True, help="Example to start from; --list names them.")
@click.option("--list", "names", is_flag=True, is_eager=True, expose_value=False, callback=lambda c, p, v: _list(c, v),
              help="List the examples and stop.")  # fmt: skip
@speaks
def new(file: Path, example: str) -> None:
    """Write a new set file, a copy of an example to change."""
    from lodestring.folder.examples import start_from

    start_from(example, file)
    click.echo(f"wrote {file}, a copy of {example}; change it, then: lodestring assess {file}")


def _list(context: click.Context, wanted: bool) -> None:
    if wanted:
        from lodestring.folder.examples import examples

        for name, about in examples().items():
            click.echo(f"{name:<18}{about}")
        context.exit()


@main.command("assess")
@click.argument("file", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="The whole assessment as JSON.")
@click.option("--curves", is_flag=True, help="JSON with the points of each curve too.")
@click.option("--why", "key", metavar="KEY", help="Why a figure is what it is, and what would narrow it.")
@click.option(
    "--only", "prefixes", multiple=True, metavar="KEY", help="JSON of the facts whose keys start so; may be repeated."
)
@click.option("--all", "every", is_flag=True, help="Every figure and every note.")
@speaks
def assess_command(
    file: Path, as_json: bool, curves: bool, key: str | None, prefixes: tuple[str, ...], every: bool
) -> None:
    """Work out the figures of a set, with what is worth knowing about it."""
    from lodestring.cli import printing
    from lodestring.folder.open_set import assess_here

    assessment = assess_here(file)
    if key is not None:
        click.echo(printing.why(assessment, key))
    elif as_json or curves or prefixes:
        click.echo(printing.json_text(assessment, curves, prefixes))
    else:
        click.echo(printing.figures(assessment, every))


@main.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Where to write the PDF; left out: beside the set file.")
@click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Size of the paper.")
@speaks
def sheet(file: Path, output: Path | None, paper: str) -> None:
    """Print the build sheet: every number needed to make each coil."""
    from lodestring.folder.printed import write_sheet

    written = write_sheet(file, output or file.with_name(f"{file.stem}-sheet.pdf"), paper)
    click.echo(f"wrote {written.path}, {written.pages} pages; print it at 100 per cent and check the bar on page 1")


@main.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Where to write the PDF; left out: beside the set file.")
@click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Size of the paper.")
@speaks
def template(file: Path, output: Path | None, paper: str) -> None:
    """Print the paper template 1:1, to lay in the housing and under the strings."""
    from lodestring.folder.printed import write_template

    written = write_template(file, output or file.with_name(f"{file.stem}-template.pdf"), paper)
    click.echo(
        f"wrote {written.path}, {written.pages} pages; print it at 100 per cent and check the bar before cutting"
    )


@main.command()
@click.argument("file", type=FILE)
@click.option("--position", metavar="NAME", help="Position of the selector; left out: the first.")
@click.option("-o", "--output", "--out", type=FILE, help="Where to write it; left out: to the screen.")
@speaks
def netlist(file: Path, position: str | None, output: Path | None) -> None:
    """Write the circuit of one selector position for any SPICE.

    Coils with their losses, controls fully up, cable and input, in plain parts;
    one .ac run gives the position's response. Names are cut down to letters,
    digits and underscores, and nothing else of the set file's text goes in.
    """
    from lodestring.folder.exported import netlist_here, write_netlist

    if output is None:
        click.echo(netlist_here(file, position).text, nl=False)
        return
    made = write_netlist(file, output, position)
    others = [name for name in made.positions if name != made.position]
    click.echo(f"wrote {output}, position {made.position}{'; others: ' if others else ''}{', '.join(others)}")


@main.command("curves")
@click.argument("file", type=FILE)
@click.option("--only", "prefixes", multiple=True, metavar="KEY", help="Curves whose keys start so; may be repeated.")
@click.option("-o", "--output", "--out", type=FILE, help="Where to write it; left out: to the screen.")
@speaks
def curves_command(file: Path, prefixes: tuple[str, ...], output: Path | None) -> None:
    """Write the curves of a set as a table in CSV, in SI units.

    Curves over the same x stand beside it; the decimals have a point.
    """
    from lodestring.folder.exported import curves_here, write_curves

    if output is None:
        click.echo(curves_here(file, prefixes).text, nl=False)
        return
    count = write_curves(file, output, prefixes).count
    click.echo(f"wrote {output}, {count} {'curve' if count == 1 else 'curves'}")


@main.command()
@click.option("--workshop", is_flag=True, help="Of workshop.toml in place of the set file.")
@speaks
def schema(workshop: bool) -> None:
    """Print the JSON Schema of the set file."""
    import json

    from lodestring.design.schema import set_schema, workshop_schema

    click.echo(json.dumps(workshop_schema() if workshop else set_schema(), indent=2))


@main.command("catalogue")
@click.argument("what", required=False)
@speaks
def catalogue_command(what: str | None) -> None:
    """Print a table of the catalogue with its sources; without a name, which tables there are."""
    from lodestring.cli.catalogue import listing, table

    click.echo(listing() if what is None else table(what))


@main.command()
@click.argument("folder", type=FILE, default=Path("lodestring-demo"))
@speaks
def demo(folder: Path) -> None:
    """Do the whole job once with the examples: figures, sheet and template of each.

    At a terminal the workbench is then opened on the folder; Ctrl-C ends it.
    """
    from lodestring.folder.demo import run

    for line in run(folder):
        click.echo(line)
    if sys.stdout.isatty():
        from lodestring.web.serve import open_folder

        open_folder(folder, None, True, click.echo)


@main.command("open")
@click.argument("folder", type=FILE, default=Path())
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@click.option("--share", is_flag=True, help="Let phones and tablets of the local network in too, by a code to scan.")
@click.option(
    "--port", type=click.IntRange(1024, 65535), help="Port on this machine; the folder keeps it from then on."
)
@speaks
def open_command(folder: Path, no_browser: bool, share: bool, port: int | None) -> None:
    """Open the workbench on a folder of set files, in the browser.

    The first line printed is its address with the word of this start; who has
    not got the word is not let in. Ctrl-C ends it. Nothing leaves this machine,
    but with --share what the devices that were let in ask for.
    """
    from lodestring.web.serve import open_folder

    open_folder(folder, port, not no_browser, click.echo, share)


main.add_command(book)
main.add_command(sweep)
main.add_command(parts)
main.add_command(test_piece)
main.add_command(check)
