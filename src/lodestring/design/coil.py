"""One coil: wire, turns, direction, bobbin and pole pieces."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from lodestring.design.fields import (
    LIST,
    ONE,
    Count,
    FluxDensity,
    Force,
    Gauge,
    Length,
    LengthOrZero,
    Offset,
    Record,
    each,
    refuse,
)
from lodestring.design.vocabulary import CoilEnd, Film, FoilEnds, MagnetEnd, Packing, Sense


class Wire(Record):
    """Enamelled wire by size, enamel and film thickness."""

    size: Gauge = Field(description='"42 AWG", or a conductor diameter in mm')
    enamel: str = Field(description="kind of enamel; `lodestring catalogue enamel` lists them")
    film: Film = Field(
        "single", description='thickness of the enamel: "single" or "heavy" ("grade 1", "grade 2" for metric sizes)'
    )


class Core(Record):
    """What the first turn lies on: the rods themselves under a wrap, or a wall round the pole pieces."""

    kind: Literal["on rods", "walled"] = Field(
        description='"on rods": wire on the wrapped pole pieces; "walled": on a wall'
    )
    wrap: LengthOrZero | None = Field(None, description="thickness of the wrap over the rods, on rods")
    wall: Length | None = Field(None, description="thickness of the wall round the pole pieces, walled")
    length: Length | None = Field(None, description="outer length of the wall where there are no pole pieces")
    width: Length | None = Field(None, description="outer width of the wall where there are no pole pieces")

    @model_validator(mode="after")
    def _fits_kind(self) -> Self:
        if self.kind == "on rods" and (self.wall is not None or self.length is not None or self.width is not None):
            raise refuse(
                "a core on rods has a wrap, no wall", "wall, length or width", '{ kind = "on rods", wrap = "0.1 mm" }'
            )
        if self.kind == "walled" and self.wrap is not None:
            raise refuse("a walled core has a wall, no wrap", "wrap", '{ kind = "walled", wall = "1.2 mm" }')
        if self.kind == "walled" and self.wall is None and (self.length is None or self.width is None):
            raise refuse("a walled core needs its wall", "none", 'wall = "1.2 mm"')
        return self


class Plate(Record):
    """The top and bottom plate (flatwork), alike."""

    material: str = Field(description="plastic or fibre; `lodestring catalogue plastics` lists them")
    length: Length = Field(description="along the row of pole pieces")
    width: Length = Field(description="across the row")
    thickness: Length = Field(description="of one plate")
    corner: Length | None = Field(None, description="radius of the plate's corners; left out: round ends")


class Bobbin(Record):
    """Coil window, core and plates."""

    window: Length = Field(description="clear height between the plates")
    core: Core = Field(description="what the first turn lies on")
    plate: Plate = Field(description="the two plates")


class Layout(Record):
    """Where the pole pieces stand."""

    kind: Literal["one per string", "two per string", "blade", "listed", "none"] = Field(
        description="how they are placed"
    )
    apart: Length | None = Field(None, description="two per string: from centre to centre of the two, along x")
    length: Length | None = Field(None, description="blade: along the row")
    thickness: Length | None = Field(None, description="blade: across the row")
    at: tuple[tuple[Offset, Offset], ...] | None = Field(
        None, description="listed: [x, y] of each in the pickup's frame"
    )

    @model_validator(mode="after")
    def _fits_kind(self) -> Self:
        needs = {"two per string": ("apart",), "blade": ("length", "thickness"), "listed": ("at",)}.get(self.kind, ())
        for key in ("apart", "length", "thickness", "at"):
            if (getattr(self, key) is not None) != (key in needs):
                verb = "needs" if key in needs else "has no"
                raise refuse(f'a layout of kind "{self.kind}" {verb} {key}')
        return self


class Body(Record):
    """What a pole piece is made of, and its size."""

    kind: Literal["magnet", "steel"] = Field(
        description='"magnet": a magnet itself; "steel": a pole piece that a bar feeds'
    )
    grade: str = Field(description="magnet grade or pole metal; `lodestring catalogue magnets` and `metals` list them")
    diameter: Length | None = Field(None, description="of a rod; none for a blade")
    length: each(Length) = Field(description="along the rod's axis (of a blade: its upright height)")  # type: ignore[valid-type]


class Face(Record):
    """A magnet known by a reading at its face."""

    face: FluxDensity = Field(description="flux density read 0.5 mm off the face")


def _state_form(value: object) -> str:
    return "(face)" if isinstance(value, dict | Face) else "(word)"


State = Annotated[
    Annotated[Literal["charged", "uncharged"], Tag("(word)")] | Annotated[Face, Tag("(face)")],
    Discriminator(_state_form),
]


class Poles(Record):
    """The pole pieces of one coil."""

    layout: Layout = Field(description="where they stand")
    body: Body | None = Field(None, description="what each is; none where the layout is none")
    up: each(MagnetEnd) | None = Field(  # type: ignore[valid-type]
        None, description="end toward the strings; magnets only, one or a list"
    )
    height: each(Offset) | None = Field(  # type: ignore[valid-type]
        None, description="of the top above the top plate's upper face, one or a list"
    )
    grounded_to: str = Field(
        "nothing", description='the pole pieces: "ground", "nothing", or a coil\'s end such as "main.start"'
    )
    state: each(State) = Field("charged", description="charged, uncharged or a face reading, one or a list")  # type: ignore[valid-type]

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.layout.kind == "none":
            for key in ("body", "up", "height"):
                if getattr(self, key) is not None:
                    raise refuse(f"a coil without pole pieces has no {key}", key, f"remove {key}")
            return self
        if self.body is None:
            raise refuse("pole pieces need a body", "none", 'body = { kind = "magnet", grade = "alnico 5", ... }')
        if self.height is None:
            raise refuse("pole pieces need a height above the top plate", "none", 'height = "1.0 mm"')
        if self.layout.kind == "blade" and self.body.diameter is not None:
            raise refuse("a blade has no diameter: its thickness stands in the layout", "diameter")
        if self.layout.kind != "blade" and self.body.diameter is None:
            raise refuse("a rod needs its diameter", "none", 'diameter = "4.8 mm"')
        if self.body.kind == "magnet" and self.up is None:
            raise refuse("magnets need to say which end is up", "none", 'up = "north"')
        if self.body.kind == "steel" and self.up is not None:
            raise refuse("steel pole pieces have no up: it follows from the bar under their feet", "up", "remove up")
        return self


class Foil(Record):
    """A metal foil round the outside of a coil."""

    material: str = Field(description="metal; `lodestring catalogue metals` lists them")
    thickness: Length = Field(description="of the foil")
    ends: FoilEnds = Field("open", description='"open": a gap is left all the way up; "joined": they close a ring')
    grounded_to: str = Field("nothing", description='"ground", "nothing", or a coil\'s end such as "main.start"')


class Coil(Record):
    """One coil of a pickup."""

    turns: Count = Field(description="number of turns, start to finish")
    wound: Sense = Field(description="seen from the strings, from start to finish")
    hot: CoilEnd = Field(description="which end is hot; the other is ground")
    wire: Wire = Field(description="the wire")
    bobbin: Bobbin = Field(description="window, core and plates")
    poles: Poles = Field(description="the pole pieces")
    tension: Force | None = Field(None, description="pull on the wire while winding")
    packing: Packing | Annotated[float, Field(gt=0.4, le=0.9068)] = Field(
        "hand", description='how close the turns lie: "hand", "traverse", "perfect machine layers", or the ratio itself'
    )
    place: Offset | None = Field(None, description="middle of the coil from the pickup's middle, + toward the nut")
    strings: tuple[Count, ...] | None = Field(
        None, description="numbers of the strings this coil serves; left out: all"
    )
    foil: Foil | None = Field(None, description="a foil round the coil")
    tap: tuple[Count, ...] | None = Field(None, description="turn numbers at which a tap is led out")

    @model_validator(mode="after")
    def _taps_inside(self) -> Self:
        for turn in self.tap or ():
            if turn >= self.turns:
                raise refuse("a tap lies before the last turn", f"tap {turn} of {self.turns} turns")
        return self


__all__ = ["LIST", "ONE", "Bobbin", "Body", "Coil", "Core", "Face", "Foil", "Layout", "Plate", "Poles", "Wire"]
