"""What goes to other programs: netlists of a set's circuit, tables of its curves."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lodestring.assess.circuit_net import position_names
from lodestring.errors import DomainError, FileProblem, LodestringError, SetFileError
from lodestring.folder.open_set import assess_here, open_set
from lodestring.folder.whole_file import check_target, same_place, write_whole
from lodestring.making.curves_table import curves_csv
from lodestring.making.spice_deck import TITLE
from lodestring.making.spice_netlist import spice_netlist


@dataclass(frozen=True, slots=True)
class Table:
    """CSV, and how many curves are in it."""

    text: str
    count: int


@dataclass(frozen=True, slots=True)
class Netlist:
    """The netlist of one position, and the names of the set's positions."""

    text: str
    position: str
    positions: tuple[str, ...]


def netlist_here(set_path: Path, position: str | None = None) -> Netlist:
    """The netlist of a set file's circuit in a position of its selector, the first if none is named. Raises
    LodestringError and its kinds."""
    opened = open_set(set_path)
    model = opened.model
    try:
        names = position_names(model)
        if position is not None and names and position not in names:
            raise LodestringError(
                "--position must name a position of the selector", f'"{position}"', f"one of {', '.join(names)}"
            )
        chosen = position or (names[0] if names else "")
        return Netlist(spice_netlist(model, chosen), chosen, names)
    except DomainError as error:
        problem = opened.loaded.problem((), error.must, error.came, error.attempt)
        raise SetFileError(opened.loaded.document.file, [problem]) from None


def write_netlist(set_path: Path, out: Path, position: str | None = None) -> Netlist:
    """Write the netlist of a position. As `netlist_here`; nothing is written where that raises, and no file is replaced
    but a netlist of ours."""
    _not_the_set(set_path, out)
    check_target(out, TITLE.encode(), "netlist")  # before the work, so that a slip is told at once
    made = netlist_here(set_path, position)
    write_whole(out, made.text.encode("ascii"), TITLE.encode(), "netlist")
    return made


def curves_here(set_path: Path, prefixes: tuple[str, ...] = ()) -> Table:
    """CSV of a set file's curves, with `prefixes` those whose keys start with one of them. Raises LodestringError and
    its kinds."""
    every = assess_here(set_path).curves()
    wanted = [key for key in every if key.startswith(prefixes or ("",))]
    for prefix in prefixes:
        if not any(key.startswith(prefix) for key in wanted):
            starts = dict.fromkeys(key.rpartition(".")[0] for key in every)
            raise LodestringError(
                "KEY must be the start of a curve's key", f'"{prefix}"', f"one of {', '.join(starts)}" if starts else ""
            )
    if not wanted:
        raise LodestringError("a set has curves where it has coils to wind", "a set without any")
    return Table(curves_csv(every[key] for key in wanted), len(wanted))


def write_curves(set_path: Path, out: Path, prefixes: tuple[str, ...] = ()) -> Table:
    """Write that table. A file is replaced only if it begins with the same first column."""
    _not_the_set(set_path, out)
    made = curves_here(set_path, prefixes)
    first = made.text.partition(",")[0]
    write_whole(out, made.text.encode(), f"{first},".encode(), "table of curves")
    return made


def _not_the_set(set_path: Path, out: Path) -> None:
    if same_place(set_path, out):
        raise FileProblem(
            "the set file must not be written over", f'"{out}" for both', f"another name, -o {set_path.stem}.txt"
        )
