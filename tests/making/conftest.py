"""Assessments of the examples, each made once for this folder."""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

import pytest

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set, read_workshop
from lodestring.folder.examples import example_text

sys.path.insert(0, str(Path(__file__).parent))  # for wired_sets beside the tests


@cache
def _made(name: str) -> Assessment:
    workshop = read_workshop(example_text("workshop").encode()).record
    return Assessment(Model(Inputs(read_set(example_text(name).encode()).record, workshop)))


@pytest.fixture
def heron() -> Assessment:
    return _made("heron")


@pytest.fixture
def plover() -> Assessment:
    return _made("plover")
