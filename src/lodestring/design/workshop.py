"""What belongs to the maker and not to one set: room, winders, meters, printers, spools, stock, prices."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from lodestring.design.coil import Wire
from lodestring.design.fields import (
    Accuracy,
    Count,
    Length,
    LengthOrZero,
    Mass,
    Name,
    Record,
    Temperature,
    TurnRate,
    refuse,
)
from lodestring.quantity.chosen import USUAL, ForceIn, LengthIn, MassIn, Units, WireIn

Money = Annotated[str, Field(pattern=r"^\d+(\.\d{1,4})? [A-Z]{3}$", description='amount and currency, "0.90 EUR"')]


class Winder(Record):
    """A winder, as the set-up crank showed it."""

    counts: Literal["cranks", "turns"] = Field(description="what its counter adds for one crank: one, or the turns")
    turns_per_crank: Count = Field(description="turns of the spindle for one crank")
    spindle: Literal["same", "reversed"] = Field(description="which way the spindle turns against the crank")
    pace: TurnRate | None = Field(None, description="turns a minute while cranking")


class Meter(Record):
    """A meter and how far to trust it."""

    measures: Literal["resistance", "inductance", "flux density", "temperature", "mass", "length"] = Field(
        description="what it is used for here"
    )
    accuracy: Accuracy = Field(description="half-width of a 90 % interval, per cent of the reading")


class FitAnswer(Record):
    """What one row of a test piece showed."""

    feature: Literal["hole", "peg"] = Field(description='"hole" in the printed part, or a printed "peg"')
    axis: Literal["upright", "lying"] = Field(description="of the hole or peg as it was printed")
    nominal: Length = Field(description="measured diameter of what was tried in the hole, or of the bore on the peg")
    slips: Length = Field(description="drawn diameter, as raised on the test piece, at which it slips")
    pressed: Length = Field(description="drawn diameter at which it must be pressed by hand")
    material: str | None = Field(None, description="plastic of that test piece; left out: the printer's")
    nozzle: Length | None = Field(None, description="nozzle of that test piece; left out: any")

    @model_validator(mode="after")
    def _right_way_round(self) -> Self:
        looser = self.slips.value - self.pressed.value
        if (looser if self.feature == "hole" else -looser) <= 0.0:
            raise refuse(
                f"a {self.feature} that slips is drawn {'wider' if self.feature == 'hole' else 'thinner'} than one "
                "that must be pressed",
                f"slips {self.slips.text}, pressed {self.pressed.text}",
                "the two the other way round",
            )
        return self


class Printer(Record):
    """A printer or a cutter, what it works with, and what its test piece showed."""

    process: Literal["filament", "resin", "cut sheet", "cnc"] = Field(description="how it makes parts")
    material: str = Field(description="plastic; `lodestring catalogue plastics` lists them")
    nozzle: Length | None = Field(None, description="filament only")
    kerf: LengthOrZero | None = Field(None, description="cut sheet only: width that the cut takes away")
    fit: tuple[FitAnswer, ...] = Field((), description="answers of the test piece, one a row of it")

    @model_validator(mode="after")
    def _fits_process(self) -> Self:
        if self.kerf is not None and self.process != "cut sheet":
            raise refuse("only a machine that cuts sheet has a kerf", "kerf", "remove kerf")
        return self


class Spool(Record):
    """A spool of wire; its mass lives here only until the book has weighed it."""

    wire: Wire = Field(description="what is on it")
    mass: Mass = Field(description="of spool and wire together")
    empty: Mass = Field(description="of the empty spool")

    @model_validator(mode="after")
    def _heavier_than_empty(self) -> Self:
        if self.empty.value >= self.mass.value:
            raise refuse(
                "a spool with wire weighs more than the empty spool", f"mass {self.mass.text}, empty {self.empty.text}"
            )
        return self


class StockItem(Record):
    """Something in the drawer."""

    what: str = Field(max_length=80, description="what it is, in the maker's words")
    count: Count = Field(description="how many")
    price: Money | None = Field(None, description='for one, "0.90 EUR"')


class Shown(Record):
    """In which units pages, terminal and sheet say figures. Set files and JSON keep what was typed, and SI."""

    length: LengthIn | None = Field(None, description="lengths; where left out, mm")
    wire: WireIn | None = Field(None, description="what stands beside a wire's name; where left out, nothing")
    mass: MassIn | None = Field(None, description="masses; where left out, g")
    force: ForceIn | None = Field(
        None, description="pull on wire and strings; where left out, gf for wire and mN for strings"
    )

    @property
    def units(self) -> Units:
        """The choice, what is left out as usual."""
        return Units(self.length or USUAL.length, self.wire, self.mass or USUAL.mass, self.force)


class Workshop(Record):
    """A workshop file, format 1."""

    format: Literal[1] = Field(description="version of the workshop file")
    room: Temperature | None = Field(None, description="usual temperature of the room")
    winder: dict[Name, Winder] = Field({}, description="winders; the first is used")
    meter: dict[Name, Meter] = Field({}, description="meters")
    printer: dict[Name, Printer] = Field({}, description="printers")
    spool: dict[Name, Spool] = Field({}, description="spools of wire")
    stock: dict[Name, StockItem] = Field({}, description="what is in the drawer")
    shown: Shown | None = Field(None, description="units in which figures are said; what you type stays as typed")
