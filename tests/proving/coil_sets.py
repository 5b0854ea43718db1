"""The drawing of the laboratory's coil, as a set file."""

from __future__ import annotations

from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set

A1 = """
format = 1
title = "the laboratory's coil"
[instrument]
scale = "686 mm"
frets = 24
handed = "right"
radius = "flat"
nut = { span = "40 mm" }
bridge = { span = "52 mm" }
action = { first = "1.6 mm", last = "2.0 mm" }
strings = [
  { note = "B3", diameter = "0.014 in" }, { note = "F#3", diameter = "0.018 in" },
  { note = "D3", diameter = "0.026 in" }, { note = "A2", diameter = "0.038 in" },
  { note = "E2", diameter = "0.050 in" }, { note = "B1", diameter = "0.068 in" },
]
[pickup.bridge]
place = "45 mm"
gap = { first = "1.8 mm", last = "2.2 mm", when = "at rest" }
[pickup.bridge.coil.main]
turns = TURNS
wound = "clockwise"
hot = "finish"
tension = "18 gf"
packing = PACKING
wire = { size = "42 AWG", enamel = "polyurethane", film = "single" }
[pickup.bridge.coil.main.bobbin]
window = "10.5 mm"
core = { kind = "walled", wall = "0.8 mm" }
plate = { material = "vulcanised fibre", length = "84 mm", width = "18 mm", thickness = "2.4 mm" }
[pickup.bridge.coil.main.poles]
layout = { kind = "listed", at = [
  ["-26 mm", "0 mm"], ["-15.6 mm", "0 mm"], ["-5.2 mm", "0 mm"],
  ["5.2 mm", "0 mm"], ["15.6 mm", "0 mm"], ["26 mm", "0 mm"],
] }
body = { kind = "magnet", grade = "alnico 5", diameter = "4.8 mm ± 0.05", length = "16 mm" }
up = "south"
height = "0.35 mm"
[harness]
circuit = "one volume"
volume = { value = "250k", taper = "audio" }
cable = { length = "5 m", per_metre = "100 pF/m" }
input = { resistance = "1M" }
"""


def a1(turns: int = 7600, packing: str = '"hand"') -> Model:
    """The coil of the project's notes (case A1) but for its packing."""
    text = A1.replace("TURNS", str(turns)).replace("PACKING", packing)
    return Model(Inputs(read_set(text.encode()).record))


A1_PACKING = 7600 * 3.141592653589793 * (71.0e-6) ** 2 / 4 / (3.6e-3 * 10.5e-3)
"""Packing at which 7,600 turns of 71 um reach from 3.2 to 6.8 mm."""
