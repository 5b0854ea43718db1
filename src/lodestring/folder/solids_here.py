"""The parts of a set as files for slicer, router, laser or CAD: made in the warm process, checked, written whole.

Findings of the solids and of the assembly come along, so that who takes the files is told before the printer runs.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lodestring.design.finding import Finding, by_weight
from lodestring.design.workshop import Workshop
from lodestring.errors import FileProblem
from lodestring.folder.open_set import assess_here, open_set
from lodestring.parts.assembly import Clearance, assembly_findings, clearances
from lodestring.parts.choices import Choices, choices
from lodestring.parts.files import FORMATS, LIST, bundle, formats_of, parts_list
from lodestring.parts.fit_piece import fit_piece
from lodestring.parts.pieces import only, pieces
from lodestring.parts.records import Piece
from lodestring.parts.worker import Worker
from lodestring.quantity import Kind, read
from lodestring.quantity.figures import Figure

MARK = ".lodestring-parts"
"""A file in a folder of parts that says that it is one: only such a folder is written into again."""

LONGEST = 180.0
"""Seconds for one part, the kernel's loading with it: at a terminal the maker waits, and can end it."""


@dataclass(frozen=True, slots=True)
class Row:
    """One part for a list: what it is, and its volume where it was made."""

    name: str
    title: str
    quantity: int
    process: str
    material: str
    orientation: str
    what_for: str
    needed: bool
    volume: Figure | None


@dataclass(frozen=True, slots=True)
class Parts:
    """What was written: the folder, the names of the files, the list, and what is worth knowing, weightiest first."""

    folder: Path
    files: tuple[str, ...]
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]


def list_here(set_path: Path, printer: str = "") -> tuple[tuple[Row, ...], tuple[Clearance, ...], tuple[Finding, ...]]:
    """The parts of a set, the room between them, and what is known against them before any solid is made. Raises
    LodestringError and its kinds."""
    assessment = assess_here(set_path)
    chosen = _choices(set_path, printer)
    rows = tuple(_row(piece, None) for piece in pieces(assessment, chosen))
    return rows, clearances(assessment, chosen), tuple(by_weight(assembly_findings(assessment, chosen)))


def write_parts(
    set_path: Path,
    out: Path,
    names: tuple[str, ...] = (),
    printer: str = "",
    formats: tuple[str, ...] = FORMATS,
    say: Callable[[str], None] = lambda words: None,
) -> Parts:
    """Write the files of a set's parts with their list and a ZIP of all into the folder `out`.

    names: parts or pickups, all that are needed where none is given. `say` is called with each part as it is begun.
    Nothing is written where a part cannot be made. Raises LodestringError and its kinds.
    """
    _check_folder(out)
    assessment = assess_here(set_path)
    chosen = _choices(set_path, printer)
    found = only(pieces(assessment, chosen), names)
    wanted = found if names else tuple(p for p in found if p.needed)
    made = _made(wanted, formats, say)
    made.findings += assembly_findings(assessment, chosen)
    return _write(out, wanted, formats, made)


def write_test_piece(nominal: str, out: Path, workshop: Path | None = None, printer: str = "") -> Parts:
    """Write the test piece for rods of a diameter, "4.8 mm", into the folder `out`. Raises LodestringError."""
    _check_folder(out)
    size = read(nominal, Kind.LENGTH).value
    chosen = choices(_workshop(workshop) if workshop is not None else None, printer)
    piece = Piece(
        f"test-piece-{round(size * 1e5):04d}", f"test piece for {size * 1e3:.2f} mm", fit_piece(size), 1,
        chosen.printer.process, chosen.plastic, "standing on its floor, numbers up",
        "try a rod in every hole: it tells what this printer makes of a hole",
    )  # fmt: skip
    formats = ("step", "stl", "3mf")
    return _write(out, (piece,), formats, _made((piece,), formats, lambda words: None))


# ---- inside ----


@dataclass(slots=True)
class _Made:
    files: dict[str, bytes]
    volumes: dict[str, float]
    findings: list[Finding]


def _made(wanted: tuple[Piece, ...], formats: tuple[str, ...], say: Callable[[str], None]) -> _Made:
    made = _Made({}, {}, [])
    with Worker(LONGEST) as worker:
        for piece in wanted:
            say(piece.title)
            done = worker.make(piece, formats_of(piece, formats))
            made.files |= done.files
            made.volumes[piece.name] = done.measured.volume
            made.findings += done.findings
    return made


def _write(out: Path, wanted: tuple[Piece, ...], formats: tuple[str, ...], made: _Made) -> Parts:
    files = {**made.files, LIST: parts_list(wanted, formats)}
    files["parts.zip"] = bundle(wanted, made.files, formats)
    try:
        out.mkdir(parents=False, exist_ok=True)
        (out / MARK).write_text("Files of lodestring parts; they are written anew each time.\n", encoding="utf-8")
        for name, raw in files.items():
            part = out / f".{name}.{secrets.token_hex(4)}.part"
            part.write_bytes(raw)
            part.replace(out / name)
    except OSError as error:
        came = error.strerror or type(error).__name__
        raise FileProblem(f'"{out}" must be a folder that can be written in', came, "its permissions") from None
    rows = tuple(_row(piece, made.volumes.get(piece.name)) for piece in wanted)
    return Parts(out, tuple(files), rows, tuple(by_weight(made.findings)))


def _check_folder(out: Path) -> None:
    """A new folder, an empty one, or one that was written by this: nothing of somebody else's is written over."""
    if not out.parent.is_dir():
        raise FileProblem(f'the folder of "{out}" must be there', "none of that name", "making it first")
    if out.exists() and not out.is_dir():
        raise FileProblem("parts are written into a folder", f'"{out}", a file', f'a name beside it, "{out}-parts"')
    if out.is_dir() and any(out.iterdir()) and not (out / MARK).is_file():
        raise FileProblem(
            "parts are written into a new or empty folder, or one of theirs", f'"{out}", with other files in it',
            f'"{out / "parts"}"',
        )  # fmt: skip


def _choices(set_path: Path, printer: str) -> Choices:
    beside = open_set(set_path).workshop
    return choices(None if beside is None else beside.record, printer)


def _workshop(folder: Path) -> Workshop | None:
    from lodestring.folder.open_set import workshop_beside

    beside = workshop_beside(folder)
    return None if beside is None else beside.record


def _row(piece: Piece, volume: float | None) -> Row:
    told = None if volume is None else Figure(f"{volume * 1e6:.1f}", "", "cm\u00b3")
    return Row(
        piece.name, piece.title, piece.quantity, piece.process, piece.material, piece.orientation, piece.what_for,
        piece.needed, told,
    )  # fmt: skip


__all__ = ["FORMATS", "Parts", "Row", "list_here", "write_parts", "write_test_piece"]
