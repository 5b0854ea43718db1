"""The instrument a set is made for: strings, scale, spacing, action."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from lodestring.design.fields import Length, LinearMass, NoteName, Offset, Record, refuse
from lodestring.design.vocabulary import Hand


class Spacing(Record):
    """How the strings are spread at the nut or at the bridge: give one of span, pitch, outside or centres."""

    span: Length | None = Field(None, description="between the centres of the outer strings")
    pitch: Length | None = Field(None, description="from centre to centre of neighbouring strings")
    outside: Length | None = Field(None, description="over the outer edges of the outer strings")
    gaps: Literal["equal"] | None = Field(None, description='"equal": equal air between strings, with outside')
    centres: tuple[Offset, ...] | None = Field(
        None, description="place of each string's centre along one rule, string 1 first, counted from any zero"
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        given = [k for k in ("span", "pitch", "outside", "centres") if getattr(self, k) is not None]
        if len(given) != 1:
            raise refuse(
                "must say the spread in one way", " and ".join(given) or "none of them", '{ span = "52.5 mm" }'
            )
        if self.gaps is not None and self.outside is None:
            raise refuse(
                "gaps needs outside beside it", f"gaps with {given[0]}", '{ gaps = "equal", outside = "44 mm" }'
            )
        return self


class Action(Record):
    """Height of the open strings over fret 12, from the fret's top to the underside of the string."""

    first: Length = Field(description="string 1")
    last: Length = Field(description="the last string")


class String(Record):
    """One string. A wound string also has the core's diameter and the wrap's material."""

    note: NoteName = Field(description="the note of the open string")
    diameter: Length = Field(description="outer diameter")
    core: Length | None = Field(None, description="diameter of the steel core of a wound string")
    wrap: str | None = Field(None, description="material of the wrap of a wound string")
    mass: LinearMass | None = Field(None, description="mass per length, where the maker of the string gives it")

    @model_validator(mode="after")
    def _wound_is_whole(self) -> Self:
        if (self.core is None) != (self.wrap is None):
            raise refuse(
                "a wound string needs both core and wrap, a plain one neither",
                "only core" if self.wrap is None else "only wrap",
                'core = "0.016 in", wrap = "nickel-plated steel"',
            )
        if self.core is not None and self.core.value >= self.diameter.value:
            raise refuse(
                "the core must be thinner than the string", f"core {self.core.text}, string {self.diameter.text}"
            )
        return self


class Instrument(Record):
    """Strings, scale, spacing and action."""

    scale: Length = Field(description="from nut to bridge line")
    frets: int = Field(ge=0, le=60, description="number of frets; 0 for none (lap steel)")
    handed: Hand = Field("right", description='"right": string 1 at +x; "left": string 1 at -x')
    radius: Literal["flat"] | Length = Field(
        "flat", description='radius of the strings\' curve at the bridge, or "flat"'
    )
    nut: Spacing = Field(description="spread of the strings at the nut")
    bridge: Spacing = Field(description="spread of the strings at the bridge")
    action: Action | None = Field(None, description="height of the open strings over fret 12; left out when frets = 0")
    strings: tuple[String, ...] = Field(description="string 1 (the highest) first")

    @model_validator(mode="after")
    def _action_needs_frets(self) -> Self:
        if self.frets == 0 and self.action is not None:
            raise refuse("action is left out when frets = 0", "action on an instrument without frets", "remove action")
        return self
