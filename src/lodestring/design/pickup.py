"""One pickup: where it sits, what it must fit, its coils, bars, cover; or what was measured of one that is kept."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from lodestring.design.coil import Coil
from lodestring.design.fields import (
    ONE,
    Frequency,
    Inductance,
    Length,
    LengthOrZero,
    Name,
    Offset,
    Record,
    Resistance,
    Temperature,
    refuse,
)
from lodestring.design.vocabulary import Connection, CoverHoles, Direction, HeightWhen, Kick, MagnetEnd, ReadingMode


class Slant(Record):
    """A slanted pickup: its place under the first and the last string."""

    first: Length = Field(description="bridge line to the pickup's middle line, under string 1")
    last: Length = Field(description="the same under the last string")


def _place_form(value: object) -> str:
    return "(slanted)" if isinstance(value, dict | Slant) else ONE


class Gap(Record):
    """Pole top to underside of string, at the outer strings."""

    first: Length = Field(description="at string 1")
    last: Length = Field(description="at the last string")
    when: HeightWhen = Field(description="how it is measured")


class Housing(Record):
    """The clear inside of what the pickup must fit: cover, ring or cavity."""

    length: Length = Field(description="along the row of pole pieces")
    width: Length = Field(description="across the row")
    depth: Length = Field(description="below the top plate's upper face")
    corner: LengthOrZero | None = Field(None, description="radius of the inside corners; left out: sharp")
    draft: Length | None = Field(None, description="how much narrower it is at the bottom, both sides together")


class Potting(Record):
    """What the finished coil is fixed with."""

    kind: Literal["wax", "lacquer", "none"] = Field("wax", description='"wax", brushed "lacquer", or "none"')
    paraffin: float | None = Field(None, ge=0, le=100, description="per cent of the wax")
    beeswax: float | None = Field(None, ge=0, le=100, description="per cent of the wax")
    temperature: Temperature | None = Field(None, description="of the wax bath")

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.kind != "wax":
            for key in ("paraffin", "beeswax", "temperature"):
                if getattr(self, key) is not None:
                    raise refuse(f'potting of kind "{self.kind}" has no {key}', key, f"remove {key}")
            return self
        if self.temperature is None:
            raise refuse("a wax bath needs its temperature", "none", 'temperature = "62 C"')
        total = (self.paraffin or 0.0) + (self.beeswax or 0.0)
        if abs(total - 100.0) > 0.5:
            raise refuse("the parts of the wax must add to 100 per cent", f"{total:g}", "paraffin = 80, beeswax = 20")
        return self


class Bar(Record):
    """A bar magnet."""

    size: tuple[Length, Length, Length] = Field(description="[x, y, z]")
    centre: tuple[Offset, Offset, Offset] = Field(description="[x, y, z] in the pickup's frame")
    magnetised: Direction = Field(description="direction of the magnetisation")
    grade: str = Field(description="magnet grade; `lodestring catalogue magnets` lists them")


class Cover(Record):
    """A cover over the pickup: an open box upside down."""

    material: str = Field(description="metal or plastic")
    thickness: Length = Field(description="of its sheet")
    size: tuple[Length, Length, Length] | None = Field(
        None, description="[x, y, z] outside, z its depth; left out: round the coils, as deep as the bobbins"
    )
    corner: Length | None = Field(None, description="radius of its upright corners, outside; left out: 3 mm")
    holes: CoverHoles = Field(
        "over pole pieces", description="holes in its top for the pole pieces, or none; slots take their place"
    )
    grounded_to: str = Field("nothing", description='"ground", "nothing", or a coil\'s end such as "main.start"')
    slots: int = Field(0, ge=0, le=60, description="number of open slots across its top")


class Baseplate(Record):
    """A plate under the pickup."""

    material: str = Field(description="metal or plastic")
    thickness: Length = Field(description="of its sheet")
    grounded_to: str = Field("nothing", description='"ground", "nothing", or a coil\'s end such as "main.start"')


class MeasuredInductance(Record):
    """An inductance reading means nothing without its frequency and mode."""

    value: Inductance = Field(description="the reading")
    frequency: Frequency = Field(description="test frequency of the meter")
    mode: ReadingMode = Field(description='"series" or "parallel"')


class Measured(Record):
    """What is known of a pickup that is kept: readings, in place of coils."""

    resistance: Resistance = Field(description="at its leads, free of the circuit")
    temperature: Temperature | None = Field(None, description="of the coil at that reading; left out: room")
    inductance: MeasuredInductance | None = Field(None, description="with frequency and mode")
    up: MagnetEnd = Field(description="which end of its magnets faces the strings")
    kick: Kick = Field(description="sign on the meter, red lead on hot, when steel is pulled off a pole piece")


class Pickup(Record):
    """One pickup of the set."""

    place: Annotated[Annotated[Length, Tag(ONE)] | Annotated[Slant, Tag("(slanted)")], Discriminator(_place_form)] = (
        Field(description="bridge line to the pickup's middle; slanted: { first = , last = }")
    )
    gap: Gap | None = Field(None, description="pole top to underside of string")
    housing: Housing | None = Field(None, description="clear inside of what it must fit")
    potting: Potting | None = Field(None, description="what the finished coil is fixed with")
    connect: Connection | None = Field(None, description="how two coils are joined")
    string_centres: tuple[Offset, ...] | None = Field(
        None, description="string centres read off a strip of paper tape at this place, string 1 first, from any zero"
    )
    coil: dict[Name, Coil] | None = Field(None, description="the coils, by name")
    bar: dict[Name, Bar] | None = Field(None, description="bar magnets, by name")
    cover: Cover | None = Field(None, description="a cover")
    baseplate: Baseplate | None = Field(None, description="a plate under the pickup")
    measured: Measured | None = Field(None, description="readings of a pickup that is kept, in place of coils")

    @model_validator(mode="after")
    def _new_or_kept(self) -> Self:
        if bool(self.coil) == (self.measured is not None):
            raise refuse(
                "a pickup has coils, or readings (measured) if it is kept",
                "both" if self.coil else "neither",
                "one of them",
            )
        if self.coil and len(self.coil) > 2:
            raise refuse("a pickup has one or two coils", str(len(self.coil)))
        if self.coil and (len(self.coil) == 2) != (self.connect is not None):
            raise refuse(
                "two coils need connect, one coil has none",
                "no connect" if self.connect is None else "connect with one coil",
                'connect = "series"',
            )
        return self
