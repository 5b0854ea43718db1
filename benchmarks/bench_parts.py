"""Parts of heron in all formats, with checks, through the worker: cold with the kernel's loading, warm, one changed."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace

from timing import Row, Times, warm

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.folder.examples import example_text
from lodestring.parts.files import FORMATS
from lodestring.parts.pieces import pieces
from lodestring.parts.records import Piece, Plate
from lodestring.parts.worker import Worker


def rows() -> Iterator[Row]:
    """Needs the extra `parts`. Warm: every part another each time, so that nothing kept answers."""
    assessment = Assessment(Model(Inputs(read_set(example_text("heron").encode()).record)))
    found = pieces(assessment)
    yield Row("list of parts, no kernel", "", warm(lambda: pieces(assessment), n=10))
    cold = []
    for _ in range(3):
        start = time.perf_counter()
        with Worker() as worker:
            _all(worker, found)
            cold.append(time.perf_counter() - start)
    yield Row("all parts, all formats", "under 20 s", Times("cold", tuple(cold)))
    with Worker() as worker:
        worker.warm().join()
        yield Row("all parts, all formats", "under 6 s", Times("warm", tuple(_run(worker, found, i) for i in range(3))))
        plates = [_changed(found[1], i) for i in range(20)]
        one = iter(plates)
        yield Row("one part after a change", "under 1 s", warm(lambda: worker.make(next(one), FORMATS), n=15))


def _run(worker: Worker, found: tuple[Piece, ...], turn: int) -> float:
    start = time.perf_counter()
    _all(worker, tuple(_changed(p, turn + 1) for p in found))
    return time.perf_counter() - start


def _all(worker: Worker, found: tuple[Piece, ...]) -> None:
    for piece in found:
        worker.make(piece, FORMATS)


def _changed(piece: Piece, turn: int) -> Piece:
    """The same part a little thicker (flat parts; others come out of what is kept from the second run on)."""
    if not isinstance(piece.shape, Plate):
        return piece
    return replace(piece, shape=replace(piece.shape, thickness=piece.shape.thickness + turn * 1e-6))
