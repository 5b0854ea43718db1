"""Text <-> SI for a maker's values: `1 9/16 in`, `7.5k`, `42 AWG`, `4.7 nF`, `F#3`.

The reader is told which quantity it expects and refuses everything else with a sentence, because a general reader of
units takes `1 9/16 in` for 0.5625 in, `7.5k` for a multiple of a constant of nature, and `3,5 mm` for 35 mm.
"""

from __future__ import annotations

from lodestring.quantity.chosen import USUAL, Units
from lodestring.quantity.kinds import Kind, Quantity
from lodestring.quantity.note import Note, read_note
from lodestring.quantity.reading import read
from lodestring.quantity.showing import show, show_inches, show_value
from lodestring.quantity.spelling import units
from lodestring.quantity.wire_size import WireSize, read_wire_size

__all__ = [
    "USUAL",
    "Kind",
    "Note",
    "Quantity",
    "Units",
    "WireSize",
    "read",
    "read_note",
    "read_wire_size",
    "show",
    "show_inches",
    "show_value",
    "units",
]
