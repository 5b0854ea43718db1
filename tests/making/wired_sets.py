"""Harnesses to try: examples with their harness replaced, and a set of several pickups. Values are invented."""

from __future__ import annotations

from functools import cache

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.folder.examples import example_text

OWN = """
circuit = "own netlist"
positions = [
  { name = "both", closed = [["bridge.main.finish", "in"], ["neck.main.finish", "in"],
                             ["bridge.main.start", "ground"], ["neck.main.start", "ground"]] },
  { name = "row", closed = [["bridge.main.finish", "in"], ["bridge.main.start", "neck.main.finish"],
                            ["neck.main.start", "ground"]] },
  { name = "thin", closed = [["bridge.main.finish", "in2"], ["bridge.main.start", "ground"],
                             ["neck.main.start", "ground"]] },
]
part.volume = { kind = "control", ends = ["in", "jack", "ground"], resistance = "500k" }
part.bleed = { kind = "capacitor", ends = ["in", "jack"], capacitance = "680 pF" }
part.cut = { kind = "capacitor", ends = ["in2", "in"], capacitance = "4.7 nF" }
part.cut-leak = { kind = "resistor", ends = ["in2", "in"], resistance = "2.2M" }
part.tone = { kind = "control", ends = ["t", "t", "jack"], resistance = "250k" }
part.tone-cap = { kind = "capacitor", ends = ["t", "ground"], capacitance = "22 nF" }
"""
FIVE = """
circuit = "one volume, one tone"
volume = { value = "500k", bleed = { capacitor = "1 nF", resistor = "150k" } }
positions = [
  { name = "bridge", on = ["bridge"] }, { name = "both", on = ["bridge", "neck"] },
  { name = "row", on = ["bridge", "neck"], joined = "series" },
  { name = "thin", on = ["bridge", "neck"], reversed = ["neck"] }, { name = "neck", on = ["neck"] },
]
"""
SPLIT = """
circuit = "one volume, one tone"
positions = [
  { name = "row", on = ["main"] }, { name = "beside", on = ["main.front", "main.rear"] },
  { name = "split", on = ["main.front"] },
]
"""
BLEED = """
circuit = "two volumes, one tone"
volume = [{ value = "500k", bleed = { capacitor = "1 nF", resistor = "150k", joined = "series" } }, { value = "250k" }]
"""
HARNESSES: dict[str, tuple[str, str]] = {
    "straight to the jack": ("wren", 'circuit = "straight to the jack"'),
    "straight, two pickups": ("heron", 'circuit = "straight to the jack"'),
    "one volume": ("heron", 'circuit = "one volume"'),
    "one volume, one tone": ("wren", 'circuit = "one volume, one tone"'),
    "two volumes, one tone": ("heron", 'circuit = "two volumes, one tone"'),
    "beside a kept pickup": ("heron-neck-kept", 'circuit = "two volumes, one tone"'),
    "blend, one tone": ("heron", 'circuit = "blend, one tone"'),
    "pair in series": ("plover", 'circuit = "one volume, one tone"'),
    "pair: series, parallel, split": ("plover", SPLIT),
    "selector of five": ("heron", FIVE),
    "treble bleed in series": ("heron", BLEED),
    "own netlist": ("heron", OWN),
}


@cache
def harnessed(name: str) -> Assessment:
    """The example of a row of HARNESSES with that harness."""
    example, harness = HARNESSES[name]
    return changed(example, harness)


def changed(example: str, harness: str, *changes: tuple[str, str]) -> Assessment:
    """An example with its harness and other pieces of its text replaced."""
    text = example_text(example)
    head, _, _ = text.partition("[harness]")
    for old, new in changes:
        assert old in head, old
        head = head.replace(old, new)
    return Assessment(Model(Inputs(read_set(f"{head}[harness]\n{harness}\n".encode()).record, None)))


def several(count: int, harness: str) -> Assessment:
    """Heron with `count` single coils: its neck pickup again and again, each with a name of its own."""
    text = example_text("heron").partition("[harness]")[0]
    head, mark, rest = text.partition("[pickup.neck]")
    neck, intent, tail = (mark + rest).partition("[intent]")
    more = "".join(
        neck.replace("pickup.neck", f"pickup.extra{i}").replace('place = "160 mm"', f'place = "{180 + 25 * i} mm"')
        for i in range(count - 2)
    )
    whole = f"{head}{neck}{more}{intent}{tail}[harness]\n{harness}\n"
    return Assessment(Model(Inputs(read_set(whole.encode()).record, None)))
