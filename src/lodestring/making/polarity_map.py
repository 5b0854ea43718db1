"""The polarity map: which end of each magnet is up, told by dots that the maker puts on like ends."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.assess.senses import polarity_of_coil
from lodestring.design.coil import Coil
from lodestring.design.fields import at
from lodestring.making.cards import Card, cards


@dataclass(frozen=True, slots=True)
class PoleEnd:
    """One pole piece: its number from string 1, where it stands (m), and the end toward the strings ("" if none)."""

    number: int
    x: float
    y: float
    up: str


@dataclass(frozen=True, slots=True)
class CoilPolarity:
    """One coil: its pole pieces, or the bar that feeds them."""

    pickup: str
    coil: str
    fed_by: str
    ends: tuple[PoleEnd, ...]
    wound: str
    hot: str
    kick: str

    @property
    def up(self) -> str:
        """The end that is up on every pole piece: "north", "south", "mixed" or "none"."""
        found = {e.up for e in self.ends if e.up}
        return found.pop() if len(found) == 1 else "mixed" if found else "none"


@dataclass(frozen=True, slots=True)
class PolarityMap:
    """The whole set's polarity, and how to mark rods."""

    coils: tuple[CoilPolarity, ...]
    marking: Card


def polarity_map(assessment: Assessment) -> PolarityMap:
    """The polarity of every coil that is to be made."""
    model = assessment.model
    coils = []
    for pickup, name in blocks.every_coil(model):
        record = blocks.coil_of(model, pickup, name)
        row = blocks.row(model, pickup, name)
        one = polarity_of_coil(model, (pickup, name)) or ""
        ends = tuple(
            PoleEnd(i + 1, x, y, at(record.poles.up, i) if record.poles.up is not None else one)
            for i, (x, y) in enumerate(row.centres)
        )
        kick = assessment.facts.get(f"{blocks.coil_path(pickup, name)}.kick")
        coils.append(
            CoilPolarity(
                pickup, name, _fed_by(record), ends, record.wound, record.hot, "" if kick is None else str(kick.value)
            )
        )
    return PolarityMap(tuple(coils), cards()["marking"])


def _fed_by(record: Coil) -> str:
    body = record.poles.body
    if body is None:
        return "no pole pieces"
    return "the magnets themselves" if body.kind == "magnet" else "a bar magnet under the row"
