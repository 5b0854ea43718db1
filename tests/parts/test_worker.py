"""The process that makes parts: it answers, says what went wrong, is killed and begins afresh when it runs away."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import Any

import pytest
from parts_examples import assessed

from lodestring.errors import DomainError, LodestringError
from lodestring.parts.kernel import missing
from lodestring.parts.pieces import pieces
from lodestring.parts.worker import Worker, WorkerGone


@pytest.fixture
def worker() -> Iterator[Worker]:
    with Worker(seconds=20.0, jobs="light_jobs") as found:
        yield found


def test_what_is_asked_is_answered_whatever_is_printed(worker: Worker) -> None:
    assert not worker.running  # it starts on demand
    assert worker.ask("echo", {"a": [1, 2.5, "ø"]}) == {"a": [1, 2.5, "ø"]}
    assert worker.ask("echo", b"x" * 3_000_000) == b"x" * 3_000_000
    assert worker.started == 1


def test_what_goes_wrong_comes_back_in_its_own_sentence_and_the_process_stays(worker: Worker) -> None:
    with pytest.raises(DomainError, match="a plate has a size above 0; came -1 mm"):
        worker.ask("fail")
    with pytest.raises(LodestringError, match="ZeroDivisionError"):
        worker.ask("break")
    assert worker.ask("echo", 1) == 1
    assert worker.started == 1


RUNAWAYS = {
    "a job that hangs": ("hang", {"seconds": 1.0}, "within 1 s"),
    "a job that hoards memory": ("hoard", {"memory": 200 * 1024**2}, "GiB"),
    "a process that ends": ("leave", {}, "half-way"),
}


@pytest.mark.parametrize(("job", "limits", "words"), RUNAWAYS.values(), ids=RUNAWAYS.keys())
def test_a_process_that_runs_away_is_ended_and_the_next_job_is_done(
    job: str, limits: dict[str, Any], words: str
) -> None:
    if job == "hoard" and not sys.platform.startswith("linux"):
        pytest.skip("memory of another process is read under /proc, on Linux alone")
    with Worker(jobs="light_jobs", **limits) as worker:
        first = worker.ask("pid")
        with pytest.raises(WorkerGone, match=words):
            worker.ask(job)
        assert not worker.running
        assert worker.ask("pid") != first
        assert worker.started == 2


def test_parts_are_made_and_looked_at_there(kernel: Any) -> None:
    piece = next(p for p in pieces(assessed("heron")) if p.name == "bridge-bottom-plate")
    with Worker() as worker:
        worker.warm().join()
        made = worker.make(piece, ("stl", "svg"))
        assert set(made.files) == {"bridge-bottom-plate.stl", "bridge-bottom-plate.svg"}
        assert made.measured.solids == 1
        seen = worker.look(piece, ("top", "front"))
    # 80.2 x 16.2 x 2.4 mm: half the kerf of 0.2 mm on every side
    assert seen["top"].box() == pytest.approx((-40.1, -8.1, 40.1, 8.1), abs=0.03)
    assert seen["front"].box() == pytest.approx((-40.1, 0.0, 40.1, 2.4), abs=0.03)
    assert seen["front"].hidden  # the holes


MISSING = {
    "no libGL": (ImportError("libGL.so.1: cannot open shared object file: No such file"), "apt-get install libgl1"),
    "no libX11": (ImportError("libX11.so.6: cannot open shared object file"), "apt-get install libx11-6"),
    "no build123d": (ModuleNotFoundError("No module named 'build123d'", name="build123d"), 'pip install "lodestring'),
    "something else": (ImportError("undefined symbol: x"), "pip install"),
}


@pytest.mark.parametrize(("problem", "line"), MISSING.values(), ids=MISSING.keys())
def test_what_is_missing_is_told_with_the_line_to_run(
    problem: ImportError, line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    assert line in missing(problem)[2]
