"""A snap is a choice (trade.md 4). The figures of a short coil are checked by the laws they follow: ohms go with turns
and the mean turn, henries with the square of the turns times a slow function of the size.
"""

from __future__ import annotations

from typing import Any

import pytest

from lodestring.errors import QuantityError
from lodestring.folder.winding_snap import snap_options
from lodestring.folder.winding_state import bench_state


def row(options: Any, label: str) -> tuple[float, float]:
    found = next(r for r in options.stop.rows if r.label.startswith(label))
    return tuple(float(f.value.replace("\u2212", "-")) for f in (found.drawn, found.here))  # type: ignore[return-value]


@pytest.fixture
def snapped(evening: Any) -> Any:
    evening.spool()
    evening.begin(spool="fine-1")
    evening.turns(6420)
    return evening


def test_three_ways_on_with_their_figures(snapped: Any) -> None:
    """1284 cranks of 5, 20 empty turns, 3 taken off: 6397. The mean turn of 132.8 mm is 2.5 mm shorter by hand (pi
    times 0.81 mm of depth). Level by turns alone is -1.72 dB, and up to half a dB more: a dipole's flux through a ring
    grows with the ring's radius up to 1.4 times its distance, so the turns that are missing are the best ones."""
    options = snap_options(snapped.folder, snapped.book, snapped.serial, reading="1284", overrun=20, removed=3)
    assert options.turns == 6397
    drawn, here = row(options, "resistance")
    assert here / drawn == pytest.approx(6397 / 7800 * (1 - 2.5 / 132.8), rel=0.005)
    drawn, here = row(options, "inductance")
    assert here / drawn == pytest.approx((6397 / 7800) ** 2, rel=0.02)
    assert -2.25 < row(options, "level")[1] < -1.7
    drawn, here = row(options, "hum left")
    assert here > drawn + 6.0  # fewer turns than its partner: the hum no longer cancels
    assert options.splice.possible
    assert options.splice.card.title == "A splice"
    assert options.again.fits == "yes"
    assert "jerk at a restart" in options.causes


def test_the_count_goes_first_and_the_counter_runs_on(snapped: Any) -> None:
    options = snap_options(snapped.folder, snapped.book, snapped.serial, reading="1284", overrun=20, removed=3)
    snapped.note("coil.count", options.count)
    snapped.note("coil.snap", {**options.snap, "then": "spliced", "cause": options.causes[0]})
    state = bench_state(snapped.book, snapped.serial)
    assert (state.turns, state.reading) == (6397, "1\u202f284")
    assert [q.code for q in state.questions] == ["snap"]
    snapped.turns(5)
    assert bench_state(snapped.book, snapped.serial).questions == ()


def test_a_lost_end_and_an_empty_bobbin_cannot_be_spliced(snapped: Any) -> None:
    lost = snap_options(snapped.folder, snapped.book, snapped.serial, found_end=False)
    assert not lost.splice.possible
    empty = snap_options(snapped.folder, snapped.book, snapped.serial, removed=6420)
    assert not empty.splice.possible
    assert not empty.stop.possible
    with pytest.raises(QuantityError, match="keeps 0 turns or more"):
        snap_options(snapped.folder, snapped.book, snapped.serial, removed=7000)


def test_a_short_spool_makes_starting_again_doubtful(evening: Any) -> None:
    evening.spool(mass=0.120)  # 58 g: two coils of 30 g do not come off it
    evening.begin(spool="fine-1")
    evening.turns(7700)
    options = snap_options(evening.folder, evening.book, evening.serial)
    assert options.again.fits in ("no", "perhaps")
    assert "1 % short" in options.stop.sentence
    assert "within what one hand's coils differ by" in options.stop.sentence
