"""The harness: selector, controls, lead-outs, cable and what they feed. Ground and shield are their own net.

A ready circuit says what it does; `own netlist` joins parts node by node. Nodes that are always there: each coil's two
ends (`PICKUP.COIL.start`, `PICKUP.COIL.finish`), a kept pickup's leads (`PICKUP.hot`, `PICKUP.ground`), `ground` and
`jack`.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from lodestring.design.fields import (
    CableLength,
    Capacitance,
    CapacitancePerLength,
    Name,
    Record,
    Resistance,
    each,
    refuse,
)
from lodestring.design.vocabulary import Circuit, Connection, PartKind, StringGround, Taper

Node = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,31}(\.[a-z][a-z0-9-]{0,31}){0,2}$")]

NEEDS: dict[Circuit, tuple[str, ...]] = {
    "straight to the jack": (),
    "one volume": ("volume",),
    "one volume, one tone": ("volume", "tone"),
    "two volumes, one tone": ("volume", "tone"),
    "blend, one tone": ("blend", "tone"),
    "own netlist": ("part", "positions"),
}
"""The controls each circuit has; those not written are taken as usual."""


class TrebleBleed(Record):
    """Capacitor from the top of a volume control to its wiper, with or without a resistor."""

    capacitor: Capacitance = Field(description="from the control's top to its wiper")
    resistor: Resistance | None = Field(None, description="with the capacitor; left out: none")
    joined: Connection = Field("parallel", description="how capacitor and resistor are joined")


class Volume(Record):
    """A volume control: the pickup at its top, the jack at its wiper, its bottom grounded."""

    value: Resistance = Field(description="resistance of the whole track")
    taper: Taper = Field("audio", description="how resistance follows travel")
    bleed: TrebleBleed | None = Field(None, description="treble bleed")


class Tone(Record):
    """A tone control: a resistance in series with a capacitor to ground."""

    value: Resistance = Field(description="resistance of the whole track")
    taper: Taper = Field("audio", description="how resistance follows travel")
    capacitor: Capacitance = Field(description="tone capacitor")


class Blend(Record):
    """A blend control of two gangs: both pickups full at its middle, one turned down to either side."""

    value: Resistance = Field(description="resistance of one track")


class Position(Record):
    """One position of the selector: what is on, how it is joined; or, in an own netlist, which nodes are joined."""

    name: Name = Field(description="name of the position; prefix of its figures")
    on: tuple[str, ...] | None = Field(
        None, description='pickups, or single coils of one ("main.front"), the string side first'
    )
    joined: Connection = Field("parallel", description="how they are joined where there are several")
    reversed: tuple[str, ...] = Field((), description="those of `on` whose two leads are swapped")
    closed: tuple[tuple[Node, Node], ...] | None = Field(None, description="own netlist: pairs of nodes joined here")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        for name in self.reversed:
            if name not in (self.on or ()):
                raise refuse("reversed names what is on", f'"{name}"', f"one of {', '.join(self.on or ())}")
        if self.on is not None and (not self.on or len(set(self.on)) < len(self.on)):
            raise refuse("a position has something on, each once", ", ".join(self.on) or "nothing")
        return self


class Lead(Record):
    """A screened lead by its length and capacitance per length."""

    length: CableLength = Field(description="length")
    per_metre: CapacitancePerLength = Field(description="capacitance per length, core to screen")


class Load(Record):
    """What the cable feeds."""

    resistance: Resistance = Field(description="input resistance")
    capacitance: Capacitance | None = Field(None, description="input capacitance; left out: none")


class Part(Record):
    """One part of an own netlist."""

    kind: PartKind = Field(description="what it is")
    ends: tuple[Node, ...] = Field(description="nodes of its ends; a control: top, wiper, bottom")
    resistance: Resistance | None = Field(None, description="of a resistor, or of a control's whole track")
    capacitance: Capacitance | None = Field(None, description="of a capacitor")
    taper: Taper | None = Field(None, description="control: how resistance follows travel; left out: audio")

    @model_validator(mode="after")
    def _whole(self) -> Self:
        count = 3 if self.kind == "control" else 2
        if len(self.ends) != count:
            named = "top, wiper, bottom" if count == 3 else "both its ends"
            raise refuse(f"a {self.kind} has {count} ends: {named}", f"{len(self.ends)} ends")
        if len(set(self.ends)) == 1:
            raise refuse(f"a {self.kind} joins different nodes", f'"{self.ends[0]}" at every end')
        wanted = "capacitance" if self.kind == "capacitor" else "resistance"
        other = "resistance" if wanted == "capacitance" else "capacitance"
        if getattr(self, wanted) is None:
            example = '"22 nF"' if wanted == "capacitance" else '"250k"'
            raise refuse(f"a {self.kind} needs its {wanted}", "none", f"{wanted} = {example}")
        if getattr(self, other) is not None:
            raise refuse(f"a {self.kind} has no {other}", other, f"remove {other}")
        if self.kind != "control" and self.taper is not None:
            raise refuse(f"a {self.kind} has no taper", "taper", "remove taper")
        return self


class Harness(Record):
    """Controls, selector, leads and jack."""

    circuit: Circuit = Field(description="a ready circuit by what it does, or an own netlist")
    positions: tuple[Position, ...] | None = Field(
        None, description="of the selector, in order; left out: each pickup alone and neighbours together"
    )
    volume: each(Volume) | None = Field(None, description="volume control; one for all, or one for each pickup")  # type: ignore[valid-type]
    tone: Tone | None = Field(None, description="tone control")
    blend: Blend | None = Field(None, description="blend control")
    lead_out: Lead | None = Field(None, description="lead from each pickup to the controls")
    cable: Lead | None = Field(None, description="cable from the jack on")
    input: Load | None = Field(None, description="what the cable feeds")
    strings: StringGround | None = Field(None, description="whether a wire from the bridge grounds the strings")
    part: dict[Name, Part] | None = Field(None, description="own netlist: the parts by name")
