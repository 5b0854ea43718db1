"""What a process needs and how far it strays, read from the catalogue's table `making`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lodestring.reference import Spread, catalogue
from lodestring.reference.naming import unknown_name

PROCESSES = ("filament", "resin", "cut sheet", "cnc")


@dataclass(frozen=True, slots=True)
class Process:
    """Metres. `hole_small`, `peg_large`: how much smaller a hole, larger a peg comes out than drawn; `lying`: how much
    smaller a hole (larger a peg) comes out yet whose axis lies; `overhang`: reach beside a rise of 1 that needs no
    support; `bridge`: longest span that needs none."""

    name: str
    wall: float
    hole_small: Spread
    peg_large: Spread
    lying: Spread
    least_hole: float
    inside_radius: float
    overhang: float
    bridge: float
    draft: float

    @property
    def printed(self) -> bool:
        return self.name in ("filament", "resin")


@lru_cache(maxsize=8)
def process(name: str) -> Process:
    """A process by name. Raises CatalogueError for another."""
    if name not in PROCESSES:
        raise unknown_name("a process", name, PROCESSES)
    row = catalogue().row(f"making.{name.replace(' ', '-')}")

    def figure(key: str) -> float:
        return row[key].spread().nominal

    return Process(
        name,
        figure("wall"),
        row["hole_small"].spread(),
        row["peg_large"].spread(),
        row["lying"].spread(),
        figure("least_hole"),
        figure("inside_radius"),
        figure("overhang"),
        figure("bridge"),
        figure("draft"),
    )


@lru_cache(maxsize=64)
def usual(row: str, figure: str) -> float:
    """A usual size [m] from the table `making`: usual("groove", "width")."""
    return catalogue().row(f"making.{row}")[figure].spread().nominal
