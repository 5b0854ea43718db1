"""The two papers, and whether a drawing at 1:1 goes on them: upright, turned, or not at all. It is never scaled."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.errors import LodestringError

MARGIN = 12.0
"""Left and right, mm: what common printers leave white is a good deal less."""
HEAD, FOOT = 12.0, 14.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper, mm, upright."""

    name: str
    label: str
    width: float
    height: float

    @property
    def room(self) -> tuple[float, float]:
        """Width and height between the margins."""
        return self.width - 2 * MARGIN, self.height - HEAD - FOOT

    def way(self, size: tuple[float, float], below: float = 0.0) -> str:
        """How a picture of `size` mm goes on a page of its own under `below` mm of heading.

        "upright", "across" (a landscape page) or "" where it fits neither way.
        """
        width, height = self.room
        across, high = self.height - 2 * MARGIN, self.width - HEAD - FOOT
        if size[0] <= width and size[1] <= height - below:
            return "upright"
        return "across" if size[0] <= across and size[1] <= high - below else ""


# ISO 216 for A4; letter is 8.5 in x 11 in.
PAPERS = {"a4": Paper("a4", "A4", 210.0, 297.0), "letter": Paper("letter", "Letter", 215.9, 279.4)}


def paper_named(name: str) -> Paper:
    """A paper by name. Raises LodestringError with those there are."""
    found = PAPERS.get(name.lower())
    if found is None:
        raise LodestringError("the paper must be one of those there are", f'"{name[:20]}"', " or ".join(PAPERS))
    return found
