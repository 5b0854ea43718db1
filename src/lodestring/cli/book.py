"""`lodestring book`: look at the workshop's log, take it along, keep a copy."""

from __future__ import annotations

from pathlib import Path

import click

from lodestring.cli.speaking import FILE, speaks

FOLDER = click.option("--folder", type=FILE, default=Path(), help="Folder of the sets; left out: this one.")


@click.group()
def book() -> None:
    """The workshop's log: what was wound, measured and noted.

    It lies in book.sqlite beside the sets and is written by `lodestring open`.
    Nothing in it is changed or deleted; a correction is an entry of its own.
    """


@book.command()
@click.argument("name", required=False, default="")
@FOLDER
@speaks
def show(name: str, folder: Path) -> None:
    """Show the coils and spools of the book, or all that is noted of one NAME."""
    from lodestring.folder.workshop_book import show as shown

    for row in shown(folder, name).lines:
        click.echo(row)


@book.command("export")
@click.argument("file", type=FILE)
@FOLDER
@speaks
def export_command(file: Path, folder: Path) -> None:
    """Write the whole book as lines of JSON, with the set files and photos in it.

    A large book comes as several files, all.jsonl, all-2.jsonl and so on, each
    small enough to be imported; import all of them, in any order.
    """
    from lodestring.folder.workshop_book import export_to

    for path, count in export_to(folder, file):
        click.echo(f"wrote {path}, {count} lines")


@book.command("import")
@click.argument("file", type=FILE)
@FOLDER
@speaks
def import_command(file: Path, folder: Path) -> None:
    """Take an export in: all of it or nothing, and nothing twice."""
    from lodestring.folder.workshop_book import import_from

    made = import_from(folder, file)
    click.echo(f"read {made.events} entries, {made.new} of them new; {made.states} files, {made.photos} photos")


@book.command()
@click.argument("file", type=FILE)
@FOLDER
@speaks
def backup(file: Path, folder: Path) -> None:
    """Copy the book, also while the workbench is open; the copy is read back."""
    from lodestring.folder.workshop_book import back_up

    click.echo(f"wrote {file}, {back_up(folder, file)} entries, read back whole")
