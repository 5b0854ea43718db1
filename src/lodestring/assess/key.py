"""One row of the key table: a fact's key, unit, method and meaning, and how it is computed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from lodestring.assess import named
from lodestring.assess.coil_facts import Scope
from lodestring.assess.model import Model, Value

Compute = Callable[[Model, Scope], Value]
At = tuple[tuple[str, float], ...]
T20 = 293.15


def always(model: Model, scope: Scope) -> bool:
    """The key is there for every scope."""
    return True


def nowhere(model: Model) -> At:
    """No condition is stated."""
    return ()


def at_20(model: Model) -> At:
    """Stated at 20 C."""
    return (("temperature", T20),)


def at_room(model: Model) -> At:
    """Stated at the room's temperature."""
    return (("temperature", named.room(model)),)


@dataclass(frozen=True)
class Key:
    """One row of the key table.

    `positive` facts are propagated on a log scale, `smooth` ones at one end of narrow inputs, a `remnant` in amplitude;
    `least` bounds an interval below; `wide` ones look beyond their own pickup; `present` says when the key exists.
    """

    name: str
    unit: str | None
    method: str
    help: str
    compute: Compute
    positive: bool = True
    smooth: bool = False
    remnant: bool = False
    least: float = -math.inf
    wide: bool = False
    present: Callable[[Model, Scope], bool] = always
    at: Callable[[Model], At] = nowhere
    basis: str = "computed"
    scope: Scope = ()
