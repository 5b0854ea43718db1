"""One frozen record of parameters for each kind of part, in metres, in the frame it is made in: z up from the bed.

x runs along the row of pole pieces, y toward the nut as in the pickup's frame; the origin is the part's own middle, or
the pickup's where two coils share the part.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.errors import DomainError
from lodestring.parts.contour import Circle, Contour, Ear, area, ended, rounded

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole right through: what for, where, the size of what goes in, the fit, and the size drawn."""

    what: str
    x: float
    y: float
    nominal: float
    drawn: float
    fit: str

    def contour(self) -> Contour:
        return Circle((self.x, self.y), self.drawn / 2)


@dataclass(frozen=True, slots=True)
class Slot:
    """A rounded opening right through."""

    what: str
    x: float
    y: float
    length: float
    width: float
    corner: float

    def contour(self) -> Contour:
        return rounded(self.length, self.width, self.corner, (self.x, self.y))


Opening = Hole | Slot


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove with round ends in the upper face, from `start` to `end`."""

    start: Point
    end: Point
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class Mark:
    """Something engraved: runs of points."""

    runs: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True)
class Plate:
    """A flat part: plate of flatwork, baseplate, spacer, template.

    `rounded_holes`: names of the holes (`what`) whose upper edge is rounded by `rounding`; `ear` at both ends, its
    holes stand in `holes`.
    """

    length: float
    width: float
    corner: float
    thickness: float
    holes: tuple[Hole, ...] = ()
    slots: tuple[Slot, ...] = ()
    groove: Groove | None = None
    rounding: float = 0.0
    rounded_holes: tuple[str, ...] = ()
    ear: Ear | None = None
    marks: Mark = Mark(())
    centre: Point = (0.0, 0.0)

    def outline(self) -> Contour:
        return ended(self.length, self.width, self.corner, () if self.ear is None else (self.ear,), self.centre)

    def openings(self) -> tuple[Opening, ...]:
        """All that is cut right through."""
        return (*self.holes, *self.slots)

    def volume(self) -> float:
        """Closed form [m3] of the plate without groove and rounding."""
        return (area(self.outline()) - sum(area(o.contour()) for o in self.openings())) * self.thickness


@dataclass(frozen=True, slots=True)
class Bobbin:
    """A bobbin in one piece, standing: bottom plate, core (`core_length` x `core_width`, rounded), top plate.

    Both plates' holes and slots must be alike where they go through the core.
    """

    bottom: Plate
    top: Plate
    core_length: float
    core_width: float
    core_corner: float
    window: float

    def core(self) -> Contour:
        return rounded(self.core_length, self.core_width, self.core_corner)

    @property
    def height(self) -> float:
        return self.bottom.thickness + self.window + self.top.thickness


@dataclass(frozen=True, slots=True)
class Cover:
    """A cover, lying on its top face: outside sizes, wall, corner, and openings in its top."""

    length: float
    width: float
    depth: float
    thickness: float
    corner: float
    holes: tuple[Hole, ...] = ()
    slots: tuple[Slot, ...] = ()

    def __post_init__(self) -> None:
        if min(self.length, self.width) <= 2 * self.thickness or self.depth <= self.thickness:
            raise DomainError("a cover is hollow", f"walls of {self.thickness * 1e3:.2f} mm", "thinner walls")

    def outside(self) -> Contour:
        return rounded(self.length, self.width, self.corner)

    def inside(self) -> Contour:
        wall = self.thickness
        return rounded(self.length - 2 * wall, self.width - 2 * wall, max(self.corner - wall, 0.0))


@dataclass(frozen=True, slots=True)
class Ring:
    """An open ring housing: clear inside, walls, height, and a flange with ears of its own thickness at the bottom."""

    length: float
    width: float
    corner: float
    wall: float
    height: float
    ear: Ear | None = None
    ear_thickness: float = 0.0
    holes: tuple[Hole, ...] = ()
    closed: float = 0.0
    """Thickness of a closed top (lying on it in the frame of making), 0 for an open ring."""

    def inside(self) -> Contour:
        return rounded(self.length, self.width, self.corner)

    def outside(self) -> Contour:
        grown = 2 * self.wall
        return rounded(self.length + grown, self.width + grown, self.corner + self.wall)

    def flange(self) -> Contour:
        grown = 2 * self.wall
        ears = () if self.ear is None else (self.ear,)
        return ended(self.length + grown, self.width + grown, self.corner + self.wall, ears)


@dataclass(frozen=True, slots=True)
class Pocket:
    """A pocket cut from below: a bar magnet lies in it."""

    x: float
    y: float
    length: float
    width: float
    depth: float

    def contour(self) -> Contour:
        return rounded(self.length, self.width, 0.0, (self.x, self.y))


@dataclass(frozen=True, slots=True)
class Carrier:
    """A bar carrier, made upside down: the bars' pockets open upward, the pole pieces' holes run on through."""

    body: Plate
    pockets: tuple[Pocket, ...]


@dataclass(frozen=True, slots=True)
class Well:
    """A blind hole: how far a rod stands out stops at its floor."""

    x: float
    y: float
    nominal: float
    drawn: float
    fit: str
    depth: float


@dataclass(frozen=True, slots=True)
class Jig:
    """A press jig: a block, a recess for the top plate lying face down, and a well for each rod that stands out."""

    block: Plate
    recess: Plate
    wells: tuple[Well, ...]

    @property
    def floor(self) -> float:
        """What is left under the deepest well."""
        deepest = max((w.depth for w in self.wells), default=0.0)
        return self.block.thickness - self.recess.thickness - deepest


@dataclass(frozen=True, slots=True)
class FitPiece:
    """Columns of sizes round a nominal: upright holes and pegs in the floor, lying ones in the wall behind it.

    A hole of column i is drawn `nominal + offsets[i]`, a peg `nominal - offsets[i]`: in either the higher number is the
    looser one.
    """

    nominal: float
    offsets: tuple[float, ...]
    floor: float
    wall: float
    web: float
    peg: float
    letters: float = 2.4e-3
    raised: float = 0.6e-3

    @property
    def pitch(self) -> float:
        return self.nominal + max(abs(o) for o in self.offsets) + self.web

    @property
    def length(self) -> float:
        return self.pitch * len(self.offsets)

    @property
    def row(self) -> float:
        """Depth of one row of holes."""
        return self.pitch

    @property
    def strip(self) -> float:
        """Depth of the strip with the raised numbers."""
        return 2 * self.letters + 1.8e-3


Shape = Plate | Bobbin | Cover | Ring | Carrier | Jig | FitPiece


@dataclass(frozen=True, slots=True)
class Piece:
    """One line of the list: a part with how it is made, how many, and what for. `name` is safe as a file's name."""

    name: str
    title: str
    shape: Shape
    quantity: int
    process: str
    material: str
    orientation: str
    what_for: str
    pickup: str = ""
    coil: str = ""
    needed: bool = True


def flat(shape: Shape) -> bool:
    """Whether a part can be cut from sheet."""
    return isinstance(shape, Plate)
