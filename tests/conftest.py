"""Shared by all tests: outside programs that may be missing, and how hypothesis searches."""

from __future__ import annotations

import os
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import hypothesis
import pytest

import system_packages

UNSHRUNK = (hypothesis.Phase.explicit, hypothesis.Phase.generate)

# The same examples every run, so that main is not red by luck; a longer, random search is asked for by name.
hypothesis.settings.register_profile("same", derandomize=True, deadline=None, print_blob=True, database=None)
# The same examples again; a failure is not made small, since nobody reads it (tests/wrong).
hypothesis.settings.register_profile("first failure", hypothesis.settings.get_profile("same"), phases=UNSHRUNK)
hypothesis.settings.register_profile("search", deadline=None, print_blob=True, max_examples=2000)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))


def pytest_runtest_setup(item: pytest.Item) -> None:
    """`@pytest.mark.needs("pdftoppm")`: skip where it is missing and say what to install; in CI, fail."""
    for mark in item.iter_markers("needs"):
        for name in mark.args:
            thing = system_packages.OUTSIDE[name]
            if thing.present():
                continue
            line = f"{name} is missing; install it with: apt-get install {thing.package}"
            if os.environ.get("LODESTRING_NO_SKIP"):
                pytest.fail(line, pytrace=False)
            pytest.skip(line)


@cache
def _store() -> Any:
    from lodestring.assess.store import Store

    return Store()


@pytest.fixture
def shared_store() -> Iterator[None]:
    """Models that are given no store share one, as on a server: a coil that was solved is not solved again.

    For tests of what is done with figures. Not for tests that hold a warm model against a cold one, that print twice
    to see the same, or that put something else in the place of a function."""
    from lodestring.assess import model

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model, "Store", _store)
        yield


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Solids beside finite elements in one process: both bring a CAD kernel, and the second to load crashes it."""
    solids = [item for item in items if item.path.parent.name == "parts"]
    if solids and any(_finite_elements(path) for path in {item.path for item in items}):
        apart = pytest.mark.skip(reason="solids are tested in a process of their own; run: pytest tests/parts")
        for item in solids:
            item.add_marker(apart)


def _finite_elements(path: Path) -> bool:
    text = path.read_text(encoding="utf-8")
    return "ngsolve" in text or "import fem" in text or "from fem" in text
