"""How to wind a drive coil that is loud enough, reckoned from the pickup's own coil.

A small round coil is laid on the pickup's middle, its axis along the pole pieces. What it induces follows from the
mutual inductance of both in air (physics/coil_mutual.py); pole pieces add to it, so the figure errs on the quiet side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.assess.pole_blocks import winding
from lodestring.errors import DomainError
from lodestring.physics.coil_box import CoilBox
from lodestring.physics.coil_mutual import mutual_inductance

FORM = 10e-3
"""Half-width of the form [m]: a coin, a cork, a bottle's cap (common practice, no source)."""
DEPTH, HEIGHT = 1.5e-3, 4e-3
"""Of the winding [m]; a few tens of turns of wire that can be held fill it."""
ABOVE = 1.5e-3
"""From the plate to the winding [m]: it lies on the pole pieces or on a sheet of card."""
OUTPUT, RESISTOR = 0.35, 100.0
"""Volts (rms) of an ordinary output, and the ohms in series with the drive coil: 3.5 mA, which no output minds."""
WANTED = 20e-3
"""Volts (rms) at the pickup at 1 kHz: far above hum and hiss, far below what an input takes."""
ROUND = 10


@dataclass(frozen=True, slots=True)
class DriveCoil:
    """`turns` round a form of `diameter` [m], `resistor` [ohm] in series, laid `above` [m] the plate; `volts` (rms)
    then at the pickup at 1 kHz, in air; `mutual` [H]."""

    turns: int
    diameter: float
    resistor: float
    above: float
    mutual: float
    volts: float


def drive_coil(model: Model, pickup: str, coil: str) -> DriveCoil:
    """The drive coil for one coil of a set. Raises DomainError for a coil there is not."""
    if (pickup, coil) not in blocks.every_coil(model):
        known = ", ".join(f"{p}.{c}" for p, c in blocks.every_coil(model))
        raise DomainError("COIL must be a coil of the set", f'"{pickup}.{coil}"', f"one of {known}")
    record, wound = blocks.coil_of(model, pickup, coil), winding(model, pickup, coil)
    drive = CoilBox(0.0, FORM, FORM + DEPTH, HEIGHT)
    apart = ABOVE + 0.5 * HEIGHT - wound.place[2]
    each = mutual_inductance(wound.box, drive, (0.0, 0.0, apart)) * record.turns
    wanted = WANTED / (2.0 * math.pi * 1000.0 * OUTPUT / RESISTOR)
    turns = max(ROUND, ROUND * math.ceil(wanted / abs(each) / ROUND))
    mutual = abs(each) * turns
    return DriveCoil(turns, 2.0 * FORM, RESISTOR, ABOVE, mutual, 2.0 * math.pi * 1000.0 * mutual * OUTPUT / RESISTOR)
