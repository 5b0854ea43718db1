"""Assessing a set: in a process that has everything loaded, and from the shell.

"Copper and fit" is every fact that asks for no magnetic solve, with its interval; "all findings" includes those about
strings, which solve every string once.
"""

from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

from timing import Row, cold, warm

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import assess
from lodestring.assess.store import Store
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import open_set
from lodestring.folder.printed import write_sheet

MAGNETIC = ("inductance", "hum_", "pole_", "level_", ".string.", "position.", "capacitance", "resonance", "q_unloaded")


def rows() -> Iterator[Row]:
    """heron has two pickups. `one value changed` gives the bridge coil another number of turns each time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "heron.toml"
        path.write_text(example_text("heron"), encoding="utf-8")
        store = Store()
        inputs = open_set(path, store).model.inputs
        yield Row("copper and fit, nothing changed", "under 5 ms", warm(copper(inputs, store), n=50))
        turns = count(5000)
        yield Row(
            "copper and fit, one value changed",
            "under 5 ms",
            warm(lambda: copper(with_turns(inputs, next(turns)), store)(), n=50),
        )
        yield Row("copper and fit, nothing kept", "", warm(lambda: copper(inputs, Store())(), n=20))
        yield Row("all findings, nothing changed", "", warm(lambda: assess(Model(inputs, store)), n=20))
        yield Row(
            "all findings, turns changed",
            "",
            warm(lambda: assess(Model(with_turns(inputs, next(turns)), store)), n=20),
        )
        yield Row("lodestring assess heron.toml", "under 0.6 s", cold(["-m", "lodestring", "assess", str(path)], n=10))
        sheet = Path(folder) / "heron.pdf"
        yield Row("the build sheet, from file to file", "under 1 s", warm(lambda: write_sheet(path, sheet), n=5))


def copper(inputs: Inputs, store: Store) -> Callable[[], None]:
    """Every fact that asks for no magnetic solve."""

    def run() -> None:
        model = Model(inputs, store)
        for key in model.specs():
            if not any(word in key for word in MAGNETIC):
                model.fact(key)

    return run


def with_turns(inputs: Inputs, turns: int) -> Inputs:
    """The same set with another number of turns on the bridge coil."""
    design = inputs.design
    bridge = design.pickup["bridge"]
    coil = (bridge.coil or {})["main"].model_copy(update={"turns": turns})
    pickups = {**design.pickup, "bridge": bridge.model_copy(update={"coil": {"main": coil}})}
    return dataclasses.replace(inputs, design=design.model_copy(update={"pickup": pickups}))
