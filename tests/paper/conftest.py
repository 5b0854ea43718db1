"""Sets to print: the examples, changed by plain replacement of text; and a measuring tape for PDF pages."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pdfplumber
import pytest
from pdfplumber.page import Page

from lodestring.assess.report import Assessment
from lodestring.assess.store import Store
from lodestring.folder.examples import example_text
from lodestring.folder.open_set import assess_here

sys.path.insert(0, str(Path(__file__).parent))  # for once beside the tests

from once import SHARED

MM = 72 / 25.4  # PDF units to the millimetre: a unit is 1/72 inch (ISO 32000-1, 8.3.2.3)


@dataclass(frozen=True)
class Box:
    """What a drawn path covers, mm from the page's lower left corner, by its on-curve points."""

    left: float
    bottom: float
    right: float
    top: float
    curved: bool

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    @property
    def middle(self) -> tuple[float, float]:
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2


def boxes(page: Page) -> Iterator[Box]:
    """Every path drawn on a page. Circles and rounded plates have on-curve points at their four sides."""
    high = float(page.height)
    for shape in (*page.lines, *page.curves, *page.rects):
        points = [command[-1] for command in shape["path"] if len(command) > 1]
        if points:
            xs, ys = [x / MM for x, _ in points], [(high - y) / MM for _, y in points]
            yield Box(min(xs), min(ys), max(xs), max(ys), any(c[0] == "c" for c in shape["path"]))


class Opened:
    """A printed PDF: its pages, and their words in one line without the invisible places to break."""

    def __init__(self, pdf: bytes) -> None:
        self.pages: list[Page] = pdfplumber.open(io.BytesIO(pdf)).pages
        self._texts: dict[int, str] = {}

    def text(self, page: int | None = None) -> str:
        if page is None:
            return " ".join(self.text(i) for i in range(len(self.pages)))
        page %= len(self.pages)
        if page not in self._texts:
            self._texts[page] = flat(self.pages[page].extract_text(x_tolerance=1.5))
        return self._texts[page]

    def large(self, page: int, size: float) -> str:
        """What is printed in letters of `size` points or more."""
        big = self.pages[page].filter(lambda o: o["object_type"] != "char" or o["size"] >= size)
        return flat(big.extract_text(x_tolerance=1.5))


def flat(text: str) -> str:
    """One line, thin and hard spaces as plain ones."""
    for space in "\u202f\u00a0\u2009\n":
        text = text.replace(space, " ")
    return " ".join(text.replace("\u200b", "").split())


@pytest.fixture
def assessed(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Assessment]:
    """`assessed("heron", ("old", "new"), ...)`: an example with pieces of its text replaced, in a folder of its own.

    The same is assessed once for all tests; with `fresh=True` anew, in the test's own folder."""

    def make(name: str, *changes: tuple[str, str], workshop: bool = True, fresh: bool = False) -> Assessment:
        if fresh:
            return _assess(tmp_path, name, changes, workshop)
        asked = (name, changes, workshop)
        if asked not in ASSESSED:
            ASSESSED[asked] = _assess(tmp_path_factory.mktemp("set"), *asked, SHARED)
        return ASSESSED[asked]

    return make


ASSESSED: dict[tuple[str, tuple[tuple[str, str], ...], bool], Assessment] = {}


def _assess(
    folder: Path, name: str, changes: tuple[tuple[str, str], ...], workshop: bool, store: Store | None = None
) -> Assessment:
    text = example_text(name)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    if workshop:
        (folder / "workshop.toml").write_text(example_text("workshop"), encoding="utf-8")
    return assess_here(path, store)


@pytest.fixture
def opened() -> Callable[[bytes], Opened]:
    """PDF bytes -> pages; the same bytes are read once, which is most of the time these tests take."""
    return _opened


@cache
def _opened(pdf: bytes) -> Opened:
    return Opened(pdf)


@pytest.fixture
def drawn_on() -> Callable[[Page], list[Box]]:
    return lambda page: list(boxes(page))
