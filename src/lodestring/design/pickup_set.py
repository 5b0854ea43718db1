"""The set: all pickups of one instrument and their harness. Root of the set file."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from lodestring.design.fields import Name, Record, Text, refuse
from lodestring.design.harness import Harness
from lodestring.design.instrument import Instrument
from lodestring.design.pickup import Pickup

CoilName = str


class Level(Record):
    """Which pickup the others are to match in level."""

    reference: Name = Field(description="name of the pickup the others are judged against")


class Intent(Record):
    """What the maker wants, so that findings can judge against it."""

    cancel_hum: tuple[tuple[CoilName, CoilName], ...] = Field(
        (), description='pairs that are to cancel hum: "pickup.coil", or a kept pickup by its name alone'
    )
    out_of_phase: tuple[tuple[CoilName, CoilName], ...] = Field((), description="pairs that are wanted out of phase")
    level: Level | None = Field(None, description="what levels are judged against")


class PickupSet(Record):
    """A set file, format 1."""

    format: Literal[1] = Field(description="version of the set file")
    title: Text = Field(description="free text; printed literally")
    instrument: Instrument = Field(description="the instrument")
    pickup: dict[Name, Pickup] = Field(description="the pickups, by name", min_length=1, max_length=6)
    intent: Intent = Field(
        default_factory=lambda: Intent(cancel_hum=(), out_of_phase=(), level=None),
        description="what findings judge against",
    )
    harness: Harness | None = Field(None, description="controls, selector and jack")

    @model_validator(mode="after")
    def _names(self) -> Self:
        known = coil_names(self)
        for key in ("cancel_hum", "out_of_phase"):
            for pair in getattr(self.intent, key):
                for name in pair:
                    if name not in known:
                        raise refuse(
                            f"intent.{key} names coils of this set ({', '.join(known)})", f'"{name}"', "one of those"
                        )
                if pair[0] == pair[1]:
                    raise refuse(f"a pair in intent.{key} needs two different coils", f'"{pair[0]}" twice')
        level = self.intent.level
        if level is not None and level.reference not in self.pickup:
            raise refuse(
                f"intent.level.reference names a pickup ({', '.join(self.pickup)})",
                f'"{level.reference}"',
                "one of those",
            )
        return self


def coil_names(pickup_set: PickupSet) -> tuple[str, ...]:
    """Every name that intent may use: `pickup.coil`, or the name of a kept pickup alone."""
    names: list[str] = []
    for name, pickup in pickup_set.pickup.items():
        names.extend([name] if pickup.measured is not None else [f"{name}.{coil}" for coil in pickup.coil or {}])
    return tuple(names)
