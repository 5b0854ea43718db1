"""From data to PDF: a template of the package and one JSON text go to typst; nothing else does.

Everything a user wrote travels as JSON text, so it prints literally. The root is an empty folder, so a template could
not read a file of the machine; only the fonts inside typst are used and the date is none: same data, same file.
"""

from __future__ import annotations

import json
import re
import tempfile
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from lodestring.drawing.picture import Sheet1to1
from lodestring.drawing.plot import Plot
from lodestring.drawing.svg import svg
from lodestring.drawing.text import clean
from lodestring.errors import LodestringError

ZERO_WIDTH = "\u200b"
LONGEST_WORD, CHUNK = 28, 10
"""Longer words than this may be broken anywhere: they would run off the page otherwise."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A PDF and how many pages it has."""

    pdf: bytes
    pages: int


def press(template: str, data: dict[str, Any], *using: str) -> Printed:
    """Set `paper/<template>.typ` with the data; `using`: files with what it calls.

    Raises LodestringError should typst refuse (a fault of ours).
    """
    import typst

    here = files("lodestring.paper")
    source = "\n".join(here.joinpath(f"{name}.typ").read_text(encoding="utf-8") for name in ("style", *using, template))
    text = json.dumps(printable(data), ensure_ascii=False, allow_nan=False)
    with tempfile.TemporaryDirectory(prefix="lodestring-") as empty:
        try:
            # The stub gives source and root one type; here they are bytes and a path.
            pdf = typst.compile(  # type: ignore[type-var]
                source.encode(), root=empty, ignore_system_fonts=True, sys_inputs={"data": text}
            )
        except typst.TypstError as error:
            first = str(error).splitlines()[0] if str(error) else "no reason given"
            raise LodestringError("the sheet must set", first, "report this set file as a fault of ours") from None
    return Printed(pdf, count_pages(pdf))


def count_pages(pdf: bytes) -> int:
    """How many pages a PDF that typst wrote has: its page objects stand outside compressed streams."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


def printable(value: Any) -> Any:
    """The data with every text cleaned of what cannot print; pictures pass as they are."""
    if isinstance(value, dict):
        return {k: v if k == "svg" else printable(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [printable(v) for v in value]
    return breakable(clean(value)) if isinstance(value, str) else value


def breakable(text: str) -> str:
    """The same text; a very long word gets invisible places to break."""

    def broken(match: re.Match[str]) -> str:
        pieces = re.findall(r"[^.]*\.|[^.]+", match.group())  # a key path breaks after its dots
        return ZERO_WIDTH.join(
            piece[i : i + CHUNK] if len(piece) > LONGEST_WORD else piece
            for piece in pieces
            for i in (range(0, len(piece), CHUNK) if len(piece) > LONGEST_WORD else (0,))
        )

    return re.sub(rf"\S{{{LONGEST_WORD + 1},}}", broken, text)


def picture(drawn: Sheet1to1 | Plot, ids: str, width: float | None = None) -> dict[str, Any]:
    """A picture for a template: its SVG at its own size (1:1), the size in mm, words for those who cannot see it."""
    size = list(drawn.size_mm) if isinstance(drawn, Sheet1to1) else []
    return {"svg": svg(drawn, width, ids=ids), "size": size, "alt": f"{clean(drawn.title)}. {clean(drawn.desc)}"}
