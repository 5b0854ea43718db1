"""The examples as models, changed key by key; what several tests of this folder need."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from lodestring.assess.model import Inputs, Model
from lodestring.assess.store import Store
from lodestring.design.pickup_set import PickupSet
from lodestring.design.read import read_set, read_workshop
from lodestring.design.toml_write import apply_changes
from lodestring.design.workshop import Workshop
from lodestring.folder.examples import example_text, examples

EXAMPLES = tuple(examples())
BRIDGE = "pickup.bridge.coil.main"
NECK = "pickup.neck.coil.main"
SHARED = Store()
"""For tests that ask the examples for every figure. Not for those that hold a warm model against a cold one."""


def changed(name: str, changes: Mapping[str, str | None] | None = None) -> PickupSet:
    """An example's record with some keys changed (TOML source text by key path)."""
    return _read(name, tuple((changes or {}).items()))


@cache
def _read(name: str, changes: tuple[tuple[str, str | None], ...]) -> PickupSet:
    text = example_text(name)
    return read_set((apply_changes(text, dict(changes)) if changes else text).encode()).record


def model_of(
    name: str = "heron", changes: Mapping[str, str | None] | None = None, store: Store | None = None, **learned: Any
) -> Model:
    """A model of an example; `learned` may hold hand, spools, workshop."""
    return Model(Inputs(changed(name, changes), **learned), store)


def workshop(changes: Mapping[str, str | None] | None = None) -> Workshop:
    """The example's workshop file."""
    text = example_text("workshop")
    return read_workshop((apply_changes(text, dict(changes)) if changes else text).encode()).record
