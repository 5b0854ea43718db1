"""The one key table: every fact's key, unit, method and meaning, and how it is computed.

docs/assessment.md is generated from it. Keys stand in the order of the set file; a key that a set does not have (no
housing, no tap) is absent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lodestring.assess import blocks, circuit_net, magnet_facts, string_blocks
from lodestring.assess.coil_facts import Scope
from lodestring.assess.key import Key
from lodestring.assess.keys_coil import COIL, TAP
from lodestring.assess.keys_pickup import PICKUP, STRING
from lodestring.assess.keys_set import POSITION, SET
from lodestring.assess.model import Model

TABLE: Mapping[str, tuple[Key, ...]] = {
    "pickup.P.coil.C": COIL,
    "pickup.P.coil.C.tap.N": TAP,
    "pickup.P": PICKUP,
    "pickup.P.string.N": STRING,
    "position.NAME": POSITION,
    "set": SET,
}


def instances(model: Model) -> dict[str, Key]:
    """Every key of this set, in the order of the set file: each pickup's coils, then the pickup, then the
    selector's positions, then the set."""
    out: dict[str, Key] = {}
    for pickup, record in model.inputs.design.pickup.items():
        for coil in blocks.sides(record):
            path = blocks.coil_path(pickup, coil)
            _add(out, model, path, COIL, (pickup, coil))
            for number in range(1, len(record.coil[coil].tap or ()) + 1 if record.coil else 1):
                _add(out, model, f"{path}.tap.{number}", TAP, (pickup, coil, str(number)))
        rows: tuple[Key, ...] = PICKUP
        if record.measured is not None:
            rows = tuple(replace(k, basis="measured", method="pickup.measured") for k in PICKUP)
        _add(out, model, f"pickup.{pickup}", rows, (pickup,))
        if magnet_facts.is_heard(model, (pickup,)):
            for index in string_blocks.served(model, pickup):
                _add(out, model, f"pickup.{pickup}.string.{index + 1}", STRING, (pickup, str(index + 1)))
    for position in circuit_net.position_names(model):
        _add(out, model, f"position.{position}", POSITION, ("position", position))
    if blocks.every_coil(model):
        _add(out, model, "set", SET, ())
    return out


def _add(out: dict[str, Key], model: Model, prefix: str, keys: tuple[Key, ...], scope: Scope) -> None:
    for key in keys:
        if key.present(model, scope):
            out[f"{prefix}.{key.name}"] = replace(key, scope=scope)
