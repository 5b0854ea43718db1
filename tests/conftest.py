"""Shared by all tests: outside programs that may be missing, and how hypothesis searches."""

from __future__ import annotations

import os

import hypothesis
import pytest

import system_packages

# The same examples every run, so that main is not red by luck; a longer, random search is asked for by name.
hypothesis.settings.register_profile("same", derandomize=True, deadline=None, print_blob=True, database=None)
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
