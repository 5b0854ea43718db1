"""`lodestring check`, as a maker with a meter types it. The faults are those of the trade's table (common practice)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lodestring.cli.main import main
from lodestring.folder.examples import example_text
from lodestring.folder.workshop_book import book_of, close_book


@pytest.fixture(scope="module")
def heron(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("check") / "heron.toml"
    path.write_text(example_text("heron"), encoding="utf-8")
    return path


def run(heron: Path, *measured: str, coil: str = "bridge.main", more: tuple[str, ...] = ()) -> Result:
    words = [w for m in measured for w in ("--measured", m)]
    return CliRunner().invoke(main, ["check", str(heron), coil, *words, *more])


def test_a_coil_that_reads_as_drawn_is_kept(heron: Path) -> None:
    done = run(heron, "resistance=5.66k @ 21 C", "shape=as drawn")
    assert done.exit_code == 0, done.output
    assert "as drawn" in done.output.splitlines()[0]
    assert "Keep the coil" in done.output
    assert "resistance" in done.output
    assert "agrees" in done.output


def test_a_coil_a_third_too_low_is_named_shorted_and_the_deciding_reading_is_asked_for(heron: Path) -> None:
    done = run(heron, "resistance=3.8k @ 21 C", "outer_length=65.4 mm", "shape=as drawn")
    assert done.exit_code == 0, done.output
    first = next(row for row in done.output.splitlines() if " %  " in row)
    assert "short" in first
    assert "would decide most" in done.output
    assert "inductance" in done.output


def test_an_open_coil_is_named(heron: Path) -> None:
    done = run(heron, "resistance=open")
    assert done.exit_code == 0, done.output
    assert "broken" in next(row for row in done.output.splitlines() if " %  " in row)


def test_the_json_has_no_nan_and_its_probabilities_add_up(heron: Path) -> None:
    done = run(heron, "resistance=3.8k @ 21 C", more=("--json",))
    told = json.loads(done.output, parse_constant=lambda name: pytest.fail(name))
    assert told["pickup"] == "bridge"


def test_readings_of_the_book_count_too(heron: Path) -> None:
    book = book_of(heron.parent)
    begin = {"serial": "h1", "set": None, "path": "pickup.bridge.coil.main", "target": 7800, "turns_per_crank": 1}
    book.note("coil.begin", begin, coil="h1")
    book.note("measure", {"quantity": "resistance", "value": 5660.0, "unit": "ohm", "temperature": 294.0}, coil="h1")
    close_book(heron.parent)
    done = run(heron, more=("--serial", "h1"))
    assert done.exit_code == 0, done.output
    assert "resistance" in done.output


def test_what_can_be_measured_is_listed(heron: Path) -> None:
    done = run(heron, more=("--ask",))
    assert done.exit_code == 0
    for name in ("resistance", "inductance", "resonance", "kick", "field"):
        assert f"\n{name} " in f"\n{done.output}"


SLIPS = {
    "no reading": ("bridge.main", ()),
    "a coil there is not": ("bridge.second", ("resistance=5k",)),
    "a pickup there is not": ("middle.main", ("resistance=5k",)),
    "a quantity there is not": ("bridge.main", ("resistence=5k",)),
    "no value": ("bridge.main", ("resistance",)),
    "another unit": ("bridge.main", ("resistance=5 mm",)),
    "an inductance without its frequency": ("bridge.main", ("inductance=3 H",)),
}


@pytest.mark.parametrize(("coil", "measured"), SLIPS.values(), ids=SLIPS)
def test_a_slip_gets_a_sentence(coil: str, measured: tuple[str, ...], heron: Path) -> None:
    done = run(heron, *measured, coil=coil)
    assert done.exit_code == 2
    assert "; " in done.output
    assert "Traceback" not in done.output
