"""The CAD kernel, imported once for all tests of parts, and the examples' assessments; skipped where it is missing."""

from __future__ import annotations

import sys
import warnings
from pathlib import Path
from typing import Any

import pytest

from lodestring.assess.report import Assessment
from lodestring.parts.kernel import NoKernel, cad

sys.path.insert(0, str(Path(__file__).parent))  # for modules beside the tests

from parts_examples import assessed


@pytest.fixture(scope="session")
def kernel() -> Any:
    """The module build123d, loaded by the project's own way."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # other people's deprecations while they are imported
            return cad()
    except NoKernel as missing:
        pytest.skip(f"tests of solids need the extra 'parts' and its system libraries: {missing}")


@pytest.fixture
def heron() -> Assessment:
    return assessed("heron")


@pytest.fixture
def plover() -> Assessment:
    return assessed("plover")


@pytest.fixture
def wren() -> Assessment:
    return assessed("wren")
