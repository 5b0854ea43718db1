"""`lodestring check`: is this the coil that was meant?"""

from __future__ import annotations

import json
from pathlib import Path

import click

from lodestring.cli.speaking import FILE, speaks


@click.command()
@click.argument("file", type=FILE)
@click.argument("coil")
@click.option("--measured", multiple=True, metavar="NAME=VALUE", help='"resistance=6.21k @ 22 C"; may be repeated.')
@click.option("--stage", default="wound", show_default=True, help="How far the making is: wound, potted, fitted.")
@click.option("--serial", default="", metavar="SERIAL", help="A coil of the book; its readings count too.")
@click.option("--json", "as_json", is_flag=True, help="The verdict as JSON.")
@click.option("--ask", is_flag=True, help="What can be measured and how, and stop.")
@speaks
def check(file: Path, coil: str, measured: tuple[str, ...], stage: str, serial: str, as_json: bool, ask: bool) -> None:
    """Check a finished COIL of a set, "bridge.main", against what was meant.

    Says what was most likely wound, names the fault if there is one, which
    one further reading would decide, and what to do now. A meter, calipers
    and a scale are enough to begin.
    """
    from lodestring.folder.check_here import asked, check_here

    if ask:
        for name, question, how in asked():
            click.echo(f"{name:<20}{question} {how}".rstrip())
        return
    found = check_here(file, coil, measured, stage, serial)
    click.echo(json.dumps(found.json(), indent=1) if as_json else "\n".join(found.lines()))
