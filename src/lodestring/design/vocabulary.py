"""The closed words of the set file. A word stands here once; form, schema and reader take it from here."""

from __future__ import annotations

from typing import Literal

Hand = Literal["right", "left"]
Sense = Literal["clockwise", "anticlockwise"]
CoilEnd = Literal["start", "finish"]
MagnetEnd = Literal["north", "south"]
Kick = Literal["plus", "minus"]
Direction = Literal["+z", "-z", "+y", "-y"]
Connection = Literal["series", "parallel"]
Film = Literal["single", "heavy", "grade 1", "grade 2"]
HeightWhen = Literal["last fret pressed", "at rest"]
Packing = Literal["hand", "traverse", "perfect machine layers"]
Circuit = Literal[
    "straight to the jack",
    "one volume",
    "one volume, one tone",
    "two volumes, one tone",
    "blend, one tone",
    "own netlist",
]
Taper = Literal["linear", "audio", "audio exponential", "reverse audio"]
PartKind = Literal["resistor", "capacitor", "control"]
CoverHoles = Literal["over pole pieces", "none"]
StringGround = Literal["grounded", "not grounded"]
FoilEnds = Literal["open", "joined"]
ReadingMode = Literal["series", "parallel"]
Severity = Literal["blocker", "warning", "note"]
Stage = Literal["drawn", "parts made", "wound", "potted", "fitted"]

STAGES: tuple[Stage, ...] = ("drawn", "parts made", "wound", "potted", "fitted")
SEVERITIES: tuple[Severity, ...] = ("blocker", "warning", "note")
