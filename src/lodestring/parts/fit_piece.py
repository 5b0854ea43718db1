"""The test piece: rows of holes and pegs round a nominal, upright and lying, with raised numbers; what its answers say.

On its floor plate, from the front: a row of upright pegs, upright holes, a strip with each column's number and the
drawn size of its holes, then a wall with lying holes above and lying pegs that stand out at its back below.
"""

from __future__ import annotations

import math

from lodestring.errors import DomainError
from lodestring.parts import shaping
from lodestring.parts.contour import Circle
from lodestring.parts.digits import figures
from lodestring.parts.fit import Axis, Feature, Tried
from lodestring.parts.process import usual
from lodestring.parts.records import FitPiece
from lodestring.parts.shaping import Solid, block, cut, joined, lying, prism
from lodestring.reference import catalogue

MOST = 6e-6
"""A test piece takes at most this much material [m3]."""
SLIM = 6.5e-3
"""For thicker bodies [m] floor, wall and pegs are made thinner, so that four columns stay within the material."""
USUAL = (2e-3, 2.4e-3, 2.4e-3, 3e-3)
THICK = (1.6e-3, 2e-3, 2e-3, 2e-3)
"""Floor, wall, web between holes, pegs' length [m]."""
STROKE = 0.5e-3
"""Width of a raised bar [m]: one line of a usual nozzle and a little."""


def fit_piece(nominal: float, columns: int = 0) -> FitPiece:
    """The test piece for bodies of `nominal` diameter [m]: as many columns as the catalogue says, fewer over the same
    range of sizes where it would take more than 6 cm3. Raises DomainError outside 2 to 10 mm."""
    if not 2e-3 <= nominal <= 10e-3:
        raise DomainError("a test piece is for bodies of 2 to 10 mm", f"{nominal * 1e3:.2f} mm", "the rods' diameter")
    row = catalogue().row("making.test-piece")
    first, step = usual("test-piece", "first"), usual("test-piece", "step")
    most = round(row["columns"].spread().nominal)
    for count in range(columns or most, 3, -1):
        offsets = tuple(round(first + i * step * (most - 1) / (count - 1), 9) for i in range(count))
        floor, wall, web, peg = THICK if nominal > SLIM else USUAL
        piece = FitPiece(nominal, offsets, floor, wall, web, peg)
        if volume_bound(piece) <= MOST:
            return piece
    raise DomainError("a test piece takes at most 6 cm3", f"bodies of {nominal * 1e3:.1f} mm", "a thinner body")


def volume_bound(piece: FitPiece) -> float:
    """An upper bound of its material [m3], closed form: plate, wall, pegs, and more figures than there are."""
    holes = [math.pi / 4 * (piece.nominal + o) ** 2 for o in piece.offsets]
    pegs = [math.pi / 4 * (piece.nominal - o) ** 2 for o in piece.offsets]
    deep = 2 * piece.row + piece.strip + piece.wall
    plate = piece.length * deep * piece.floor - sum(holes) * piece.floor
    wall = piece.length * wall_height(piece) * piece.wall - sum(holes) * piece.wall
    letters = len(piece.offsets) * 16 * piece.letters * STROKE * piece.raised
    return plate + wall + 2 * sum(pegs) * piece.peg + letters


def wall_height(piece: FitPiece) -> float:
    """Height of the wall over the floor plate: a row of lying pegs and one of lying holes above it."""
    return 2 * piece.row


def columns(piece: FitPiece) -> tuple[float, ...]:
    """x of each column's middle [m]."""
    middle = (len(piece.offsets) - 1) / 2
    return tuple((i - middle) * piece.pitch for i in range(len(piece.offsets)))


def rows(piece: FitPiece) -> tuple[float, float, float, float, float]:
    """y of the upright pegs, the upright holes, the strip's lower edge, the wall's front and its back [m]."""
    return (
        0.5 * piece.row,
        1.5 * piece.row,
        2 * piece.row,
        2 * piece.row + piece.strip,
        2 * piece.row + piece.strip + piece.wall,
    )


def labels(piece: FitPiece) -> tuple[tuple[str, str], ...]:
    """What stands raised by each column: its number, and the drawn diameter of its holes [mm]."""
    return tuple((str(i), f"{(piece.nominal + o) * 1e3:.2f}") for i, o in enumerate(piece.offsets, 1))


def fit_piece_solid(piece: FitPiece) -> Solid:
    """The solid [mm]."""
    pegs, holes, strip, front, back = rows(piece)
    half, floor, high = piece.length / 2, piece.floor, piece.floor + wall_height(piece)
    lower, upper = floor + 0.5 * piece.row, floor + 1.5 * piece.row
    at = columns(piece)
    drawn = [(piece.nominal + o, piece.nominal - o) for o in piece.offsets]
    plate = cut(
        block((-half, 0.0, 0.0), (half, back, floor)),
        [prism(Circle((x, holes), d / 2), -1e-3, floor + 1e-3) for x, (d, _) in zip(at, drawn, strict=True)],
    )
    wall = cut(
        block((-half, front, floor), (half, back, high)),
        [lying(x, upper, d / 2, front - 1e-3, back + 1e-3) for x, (d, _) in zip(at, drawn, strict=True)],
    )
    upright = [prism(Circle((x, pegs), p / 2), floor, floor + piece.peg) for x, (_, p) in zip(at, drawn, strict=True)]
    level = [lying(x, lower, p / 2, back, back + piece.peg) for x, (_, p) in zip(at, drawn, strict=True)]
    raised = []
    for x, (number, size) in zip(at, labels(piece), strict=True):
        raised += _raised(
            figures(number, piece.letters, x, strip + piece.letters + 1.2e-3, STROKE), floor, piece.raised
        )
        raised += _raised(figures(size, 0.75 * piece.letters, x, strip + 0.5e-3, 0.4e-3), floor, piece.raised)
    return joined(shaping.one(plate), [shaping.one(wall), *upright, *level, *raised])


def _raised(rects: tuple[tuple[float, float, float, float], ...], floor: float, high: float) -> list[Solid]:
    return [block((x0, y0, floor), (x1, y1, floor + high)) for x0, y0, x1, y1 in rects]


def answered(piece: FitPiece, feature: Feature, axis: Axis, slips: int, pressed: int) -> Tried:
    """What a row of the piece showed: into (or onto) which column's number the other half slips, and which must be
    pressed by hand. Raises DomainError for a number that is not there or answers the wrong way round."""
    count = len(piece.offsets)
    for number in (slips, pressed):
        if not 1 <= number <= count:
            raise DomainError(f"the test piece has columns 1 to {count}", str(number), "the raised number")
    if slips <= pressed:
        raise DomainError(
            "what slips has a higher number than what must be pressed",
            f"slips at number {slips}, pressed at number {pressed}",
            "the two the other way round",
        )
    sign = 1.0 if feature == "hole" else -1.0
    low, high = (piece.nominal + sign * piece.offsets[n - 1] for n in (slips, pressed))
    return Tried(feature, axis, piece.nominal, low, high)
