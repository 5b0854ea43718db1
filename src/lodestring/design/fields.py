"""How one field of a set file is declared: which quantity it is, within which bounds, one or one per pole piece.

A field is declared once, as an annotation of a record. Reader, JSON Schema, documentation and form are all made from
it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag
from pydantic_core import PydanticCustomError, core_schema

from lodestring.errors import LodestringError
from lodestring.quantity import Kind, Quantity, WireSize, read, read_note, read_wire_size, show, show_value
from lodestring.quantity import Note as Pitch

ONE, LIST = "(one)", "(list)"
"""Tags of the two forms of a field that is either one value or a list; stripped from every key path."""

EXAMPLES = {
    Kind.LENGTH: "10.5 mm",
    Kind.MASS: "120 g",
    Kind.MASS_PER_LENGTH: "15.8 g/m",
    Kind.RESISTANCE: "6.4k",
    Kind.INDUCTANCE: "2.4 H",
    Kind.CAPACITANCE: "22 nF",
    Kind.CAPACITANCE_PER_LENGTH: "100 pF/m",
    Kind.FREQUENCY: "1 kHz",
    Kind.TEMPERATURE: "62 C",
    Kind.FORCE: "18 gf",
    Kind.FLUX_DENSITY: "95 mT",
    Kind.TURN_RATE: "200 /min",
    Kind.PERCENT: "1 %",
}
WANTED = {
    Kind.LENGTH: "a length",
    Kind.MASS: "a mass",
    Kind.MASS_PER_LENGTH: "a mass per length",
    Kind.RESISTANCE: "a resistance",
    Kind.INDUCTANCE: "an inductance",
    Kind.CAPACITANCE: "a capacitance",
    Kind.CAPACITANCE_PER_LENGTH: "a capacitance per length",
    Kind.FREQUENCY: "a frequency",
    Kind.TEMPERATURE: "a temperature",
    Kind.FORCE: "a force",
    Kind.FLUX_DENSITY: "a flux density",
    Kind.TURN_RATE: "turns per minute",
    Kind.PERCENT: "a percentage",
}


class Record(BaseModel):
    """A frozen record of the set file: unknown keys are refused, nothing changes after birth."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, arbitrary_types_allowed=True)


def refuse(must: str, came: str = "", attempt: str = "") -> PydanticCustomError:
    """An error in three parts that the reader turns into a `Problem` with line and key path."""
    return PydanticCustomError("lodestring", "{must}", {"must": must, "came": came, "attempt": attempt})


def shown(value: object) -> str:
    """What came, short enough for one line."""
    text = repr(value) if not isinstance(value, str) else f'"{value}"'
    return text if len(text) <= 60 else text[:57] + "..."


@dataclass(frozen=True)
class Reads:
    """A field read by `quantity.read`, kept within bounds (SI, inclusive unless `open_below`)."""

    kind: Kind
    least: float = 0.0
    most: float = float("inf")
    open_below: bool = True

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.check, serialization=core_schema.plain_serializer_function_ser_schema(typed, when_used="always")
        )

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"type": "string", "quantity": self.kind.name.lower(), "examples": [EXAMPLES[self.kind]]}

    def check(self, text: object) -> Quantity:
        if isinstance(text, Quantity):
            text = text.text or show(text)
        if not isinstance(text, str | int | float):
            raise refuse(f"must be {WANTED[self.kind]}", shown(text), f'"{EXAMPLES[self.kind]}"')
        try:
            quantity = read(text, self.kind)
        except LodestringError as error:
            raise refuse(error.must, error.came, error.attempt) from None
        low = quantity.value - (quantity.half_width or 0.0)
        too_low = low <= self.least if self.open_below else quantity.value < self.least
        if too_low or quantity.value > self.most:
            raise refuse(f"must be {WANTED[self.kind]} {self.bounds()}", shown(text))
        return quantity

    def bounds(self) -> str:
        """The allowed range in words."""
        low = "above 0" if self.least == 0 and self.open_below else f"of {show_value(self.least, self.kind)} or more"
        if self.most == float("inf"):
            return low
        return f"{low} and at most {show_value(self.most, self.kind)}"


def typed(quantity: Quantity) -> str:
    """A quantity as the maker typed it, else printed exactly."""
    return quantity.text or show(quantity)


T = TypeVar("T")
Length = Annotated[Quantity, Reads(Kind.LENGTH, most=3.0)]
LengthOrZero = Annotated[Quantity, Reads(Kind.LENGTH, most=3.0, open_below=False)]
CableLength = Annotated[Quantity, Reads(Kind.LENGTH, most=100.0, open_below=False)]
Offset = Annotated[Quantity, Reads(Kind.LENGTH, least=-3.0, most=3.0, open_below=False)]
Mass = Annotated[Quantity, Reads(Kind.MASS)]
LinearMass = Annotated[Quantity, Reads(Kind.MASS_PER_LENGTH)]
Resistance = Annotated[Quantity, Reads(Kind.RESISTANCE)]
Inductance = Annotated[Quantity, Reads(Kind.INDUCTANCE)]
Capacitance = Annotated[Quantity, Reads(Kind.CAPACITANCE)]
CapacitancePerLength = Annotated[Quantity, Reads(Kind.CAPACITANCE_PER_LENGTH)]
Frequency = Annotated[Quantity, Reads(Kind.FREQUENCY)]
Temperature = Annotated[Quantity, Reads(Kind.TEMPERATURE, least=233.15, most=523.15, open_below=False)]
Force = Annotated[Quantity, Reads(Kind.FORCE)]
FluxDensity = Annotated[Quantity, Reads(Kind.FLUX_DENSITY, most=2.0)]
TurnRate = Annotated[Quantity, Reads(Kind.TURN_RATE)]
Accuracy = Annotated[Quantity, Reads(Kind.PERCENT, most=1.0, open_below=False)]


@dataclass(frozen=True)
class ReadsBy:
    """A field read by one function of ours (`read_note`, `read_wire_size`)."""

    wanted: str
    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.check, serialization=core_schema.plain_serializer_function_ser_schema(lambda value: value.text)
        )

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"type": "string", "quantity": self.wanted, "examples": [self.example]}

    def check(self, text: object) -> Any:
        if isinstance(text, Pitch | WireSize):
            return text
        if not isinstance(text, str):
            raise refuse(f"must be {self.wanted}, in quotes", shown(text), f'"{self.example}"')
        try:
            return read_note(text) if self.wanted == "a note" else read_wire_size(text)
        except LodestringError as error:
            raise refuse(error.must, error.came, error.attempt) from None


NoteName = Annotated[Pitch, ReadsBy("a note", "F#3")]
Gauge = Annotated[WireSize, ReadsBy("a wire size", "42 AWG")]


def _one_or_list(value: object) -> str:
    return LIST if isinstance(value, list | tuple) else ONE


def each(kind: Any) -> Any:
    """Annotation of a field that holds one value for all pole pieces, or a list with one for each."""
    return Annotated[
        Annotated[kind, Tag(ONE)] | Annotated[tuple[kind, ...], Tag(LIST)],
        Discriminator(_one_or_list),
    ]


def at(value: T | tuple[T, ...], index: int) -> T:
    """The value for pole piece `index` (from 0) of a field declared with `each`."""
    return value[index] if isinstance(value, tuple) else value


Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,31}$")]
Text = Annotated[str, Field(min_length=1, max_length=200)]
Count = Annotated[int, Field(ge=1, le=100_000)]
