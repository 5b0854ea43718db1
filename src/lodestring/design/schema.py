"""JSON Schema of the set file and the workshop file, generated from the records."""

from __future__ import annotations

from typing import Any

from lodestring.design.pickup_set import PickupSet
from lodestring.design.workshop import Workshop


def set_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a set file."""
    return _schema(PickupSet, "Lodestring set file, format 1")


def workshop_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a workshop file."""
    return _schema(Workshop, "Lodestring workshop file, format 1")


def _schema(model: type[PickupSet] | type[Workshop], title: str) -> dict[str, Any]:
    schema = model.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": title}
