"""Folders with the examples in them, and sittings on them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lodestring.assess.store import Store
from lodestring.folder.examples import example_text
from lodestring.folder.sitting import Sitting

TURNS = "pickup.bridge.coil.main.turns"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "heron.toml").write_text(example_text("heron"), encoding="utf-8")
    return tmp_path


@pytest.fixture
def sit(tmp_path: Path) -> Callable[..., Sitting]:
    """A sitting on an example, or on a text of one's own."""
    store = Store()

    def make(example: str = "heron", raw: bytes | None = None) -> Sitting:
        path = tmp_path / f"{example}.toml"
        if raw is not None:
            path.write_bytes(raw)
        elif not path.exists():
            path.write_text(example_text(example), encoding="utf-8")
        return Sitting(tmp_path, example, store)

    return make
