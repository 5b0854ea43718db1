"""Assessing a set: in a process that has everything loaded, and from the shell."""

from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Iterator
from pathlib import Path

from timing import Row, cold, warm

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import assess
from lodestring.assess.store import Store
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import open_set


def rows() -> Iterator[Row]:
    """heron has two pickups. `one value changed` gives the bridge coil another number of turns each time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "heron.toml"
        path.write_text(example_text("heron"), encoding="utf-8")
        store = Store()
        inputs = open_set(path, store).model.inputs
        assess(Model(inputs, store))
        turns = iter(range(5000, 9000))
        yield Row("assess heron, nothing changed", "under 5 ms", warm(lambda: assess(Model(inputs, store)), n=50))
        yield Row(
            "assess heron, one value changed",
            "under 5 ms",
            warm(lambda: assess(Model(with_turns(inputs, next(turns)), store)), n=50),
        )
        yield Row("assess heron, nothing kept", "", warm(lambda: assess(Model(inputs, Store())), n=20))
        yield Row("lodestring assess heron.toml", "under 0.6 s", cold(["-m", "lodestring", "assess", str(path)], n=10))


def with_turns(inputs: Inputs, turns: int) -> Inputs:
    """The same set with another number of turns on the bridge coil."""
    design = inputs.design
    bridge = design.pickup["bridge"]
    coil = (bridge.coil or {})["main"].model_copy(update={"turns": turns})
    pickups = {**design.pickup, "bridge": bridge.model_copy(update={"coil": {"main": coil}})}
    return dataclasses.replace(inputs, design=design.model_copy(update={"pickup": pickups}))
