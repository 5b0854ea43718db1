"""All files of a part, and the ZIP of all parts with its list."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping

from lodestring.errors import LodestringError
from lodestring.parts.files_flat import dxf_bytes, svg_bytes
from lodestring.parts.files_solid import safe, step, stl, threemf, zipped
from lodestring.parts.mesh import mesh_of
from lodestring.parts.records import Piece, Plate
from lodestring.reference.naming import unknown_name

FORMATS = ("step", "stl", "3mf", "dxf", "svg")
FLAT = ("dxf", "svg")
"""Formats of flat parts alone."""
LIST = "parts-list.csv"

_MAKERS: Mapping[str, Callable[[Piece], bytes]] = {
    "step": lambda p: step(p.shape, p.name),
    "stl": lambda p: stl(mesh_of(p.shape)),
    "3mf": lambda p: threemf(mesh_of(p.shape), p.name, p.title),
}


def formats_of(piece: Piece, wanted: tuple[str, ...] = FORMATS) -> tuple[str, ...]:
    """Those of the wanted formats that a part has. Raises LodestringError (did you mean) for one that is none."""
    for name in wanted:
        if name not in FORMATS:
            raise unknown_name("a format", name, FORMATS)
    return tuple(f for f in wanted if f not in FLAT or isinstance(piece.shape, Plate))


def part_files(piece: Piece, wanted: tuple[str, ...] = FORMATS) -> dict[str, bytes]:
    """{file's name: bytes} of a part. Raises NoKernel, DomainError."""
    out = {}
    for kind in formats_of(piece, wanted):
        if kind in FLAT:
            if not isinstance(piece.shape, Plate):
                raise LodestringError("only a flat part is cut from sheet", piece.title)
            made = dxf_bytes(piece.shape) if kind == "dxf" else svg_bytes(piece.shape, piece.title)
        else:
            made = _MAKERS[kind](piece)
        out[f"{safe(piece.name)}.{kind}"] = made
    return out


COLUMNS = ("part", "quantity", "made by", "material", "how it lies", "what for", "needed", "files")


def parts_list(pieces: tuple[Piece, ...], wanted: tuple[str, ...] = FORMATS) -> bytes:
    """The list as CSV. A cell that a spreadsheet would take for a formula is quoted."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for p in pieces:
        names = " ".join(f"{safe(p.name)}.{f}" for f in formats_of(p, wanted))
        row = (
            p.title,
            str(p.quantity),
            p.process,
            p.material,
            p.orientation,
            p.what_for,
            "yes" if p.needed else "offered",
        )
        writer.writerow([_harmless(c) for c in (*row, names)])
    return out.getvalue().encode()


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def bundle(pieces: tuple[Piece, ...], files: Mapping[str, bytes], wanted: tuple[str, ...] = FORMATS) -> bytes:
    """The ZIP: list first, then every file under its own safe name, in order of the list."""
    order = [f"{safe(p.name)}.{f}" for p in pieces for f in formats_of(p, wanted)]
    return zipped({LIST: parts_list(pieces, wanted), **{n: files[n] for n in order if n in files}})
