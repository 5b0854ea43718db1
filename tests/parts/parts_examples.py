"""Assessments of the examples and of changed ones, each made once."""

from __future__ import annotations

from functools import cache

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text


@cache
def assessed(name: str, changes: tuple[tuple[str, str | None], ...] = ()) -> Assessment:
    """An example, with values changed by key path (TOML source)."""
    text = apply_changes(example_text(name), dict(changes)) if changes else example_text(name)
    return Assessment(Model(Inputs(read_set(text.encode()).record)))
