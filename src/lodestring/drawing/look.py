"""The closed vocabulary of roles and how each prints: ink and copper on paper.

A role names what a thing is; its class (`pic-copper`, `pic-copper-hatch`, ...) is what a page's style sheet overrides,
its `Look` is what a printer gets. Line kinds follow ISO 128-2's habits (thick and thin in the ratio 2:1, dashed for
hidden, long-dashed dotted for centre lines, long-dashed double-dotted for a neighbouring part). Colour never stands
alone: opposite magnet ends differ by the direction of their hatching and by a letter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

PAPER = "#ffffff"
INK = "#1c2530"
SLATE = "#46505c"
COPPER = "#8f4a1c"


class Role(StrEnum):
    """What a drawn thing is. The value is the class without its `pic-`."""

    OUTLINE = "outline"
    VISIBLE = "visible"
    HIDDEN = "hidden"
    CENTRE = "centre"
    DIMENSION = "dimension"
    HATCH = "hatch"
    COPPER = "copper"
    WIRE = "wire"
    MAGNET_NORTH = "magnet-north"
    MAGNET_SOUTH = "magnet-south"
    STEEL = "steel"
    PLATE = "plate"
    HOUSING = "housing"
    TAPE = "tape"
    STRING = "string"
    NOTE = "note"
    WARNING = "warning"
    PAPER = "paper"
    AXIS = "axis"
    GRID = "grid"
    GRID_FINE = "grid-fine"
    MARK = "mark"
    SPAN = "span"


class SeriesLook(StrEnum):
    """How a line of a plot looks: colour, dash and mark together. KEPT is for a version kept to compare; BETWEEN, thin
    and without a mark, for lines of a family between those that are told apart."""

    FIRST = "series-first"
    SECOND = "series-second"
    THIRD = "series-third"
    FOURTH = "series-fourth"
    FIFTH = "series-fifth"
    KEPT = "series-kept"
    BETWEEN = "series-between"


class Part(StrEnum):
    """The pieces one role is drawn with; all but SHAPE add their name to the class."""

    SHAPE = ""
    HATCH = "hatch"
    HEAD = "head"
    TEXT = "text"
    BAND = "band"
    GUIDE = "guide"


class MarkShape(StrEnum):
    """Marks along a series."""

    DISC = "disc"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"
    CROSS = "cross"
    RING = "ring"


@dataclass(frozen=True, slots=True)
class Look:
    """How a role prints. Widths, dashes and spacings in mm on paper."""

    stroke: str = INK
    width: float = 0.25
    dash: tuple[float, ...] = ()
    fill: str = "none"  # of closed shapes
    ink: str = INK  # of text, arrowheads
    bold: bool = False
    hatch: float | None = None  # degrees; None = not hatched of itself
    hatch_spacing: float = 1.2
    letter: str = ""  # set in the middle of a closed shape
    mark: MarkShape | None = None


_CHAIN = (6.0, 0.8, 0.4, 0.8)
_DOUBLE_CHAIN = (6.0, 0.8, 0.4, 0.8, 0.4, 0.8)

LOOKS: Mapping[Role | SeriesLook, Look] = MappingProxyType(
    {
        Role.OUTLINE: Look(width=0.5),
        Role.VISIBLE: Look(width=0.25),
        Role.HIDDEN: Look(width=0.25, dash=(2.0, 0.8)),
        Role.CENTRE: Look(SLATE, 0.18, _CHAIN, ink=SLATE),
        Role.DIMENSION: Look(SLATE, 0.18, ink=INK),
        Role.HATCH: Look(SLATE, 0.13),
        Role.COPPER: Look(COPPER, 0.35, fill="#f0d2b8", ink=COPPER),
        Role.WIRE: Look(COPPER, 0.25, fill="#fbeee2", ink=COPPER, hatch=45.0, hatch_spacing=1.0),
        Role.MAGNET_NORTH: Look("#8c2a1c", 0.35, fill="#f7dfd8", ink="#8c2a1c", hatch=45.0, letter="N"),
        Role.MAGNET_SOUTH: Look("#1f4a78", 0.35, fill="#dce6f2", ink="#1f4a78", hatch=-45.0, letter="S"),
        Role.STEEL: Look(INK, 0.35, fill="#e2e5e8"),
        Role.PLATE: Look("#5f5132", 0.35, fill="#f3ebd9", ink="#5f5132"),
        Role.HOUSING: Look(SLATE, 0.25, _DOUBLE_CHAIN, ink=SLATE),
        Role.TAPE: Look("#75683f", 0.18, (1.0, 0.6), fill="#fbf6e6", ink="#6b5f38"),
        Role.STRING: Look("#5a626c", 0.25, ink="#5a626c"),
        Role.NOTE: Look(SLATE, 0.18, ink=INK),
        Role.WARNING: Look("#a3231b", 0.5, ink="#a3231b", bold=True),
        Role.PAPER: Look("none", 0.0, fill=PAPER, ink=INK),
        Role.AXIS: Look(INK, 0.25, ink=SLATE),
        Role.GRID: Look("#cfc7b6", 0.13),
        Role.GRID_FINE: Look("#e6e1d6", 0.1),
        Role.MARK: Look(SLATE, 0.18, (0.8, 0.6), ink=INK),
        Role.SPAN: Look("none", 0.0, fill="#f1ecdf", ink=SLATE),
        SeriesLook.FIRST: Look("#9a4c17", 0.5, (), "#9a4c17", "#9a4c17", mark=MarkShape.DISC),
        SeriesLook.SECOND: Look("#1f4a78", 0.45, (3.0, 1.0), "#1f4a78", "#1f4a78", mark=MarkShape.SQUARE),
        SeriesLook.THIRD: Look("#45631f", 0.45, (1.0, 0.7), "#45631f", "#45631f", mark=MarkShape.TRIANGLE),
        SeriesLook.FOURTH: Look("#743566", 0.45, (4.0, 0.8, 0.8, 0.8), "#743566", "#743566", mark=MarkShape.DIAMOND),
        SeriesLook.FIFTH: Look(INK, 0.45, (3.0, 0.7, 0.7, 0.7, 0.7, 0.7), INK, INK, mark=MarkShape.CROSS),
        SeriesLook.KEPT: Look("#646c76", 0.3, (1.6, 0.8), "#646c76", "#5a626c", mark=MarkShape.RING),
        SeriesLook.BETWEEN: Look("#7a828c", 0.18, (), "#646c76", "#5a626c"),
    }
)


def css_class(role: Role | SeriesLook, part: Part = Part.SHAPE) -> str:
    """The class an element carries, for a page's style sheet."""
    return f"pic-{role}-{part}" if part else f"pic-{role}"


HOLLOW = "pic-hollow"
"""The second class of a mark that is filled with paper."""


def css_classes() -> tuple[str, ...]:
    """Every class that a drawn element may carry (groups carry `pic-` and a class of the caller's)."""
    return (*(css_class(role, part) for role in LOOKS for part in Part), HOLLOW)
