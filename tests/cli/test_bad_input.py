"""Bad input gets a sentence and exit code 2; nothing is written, nothing is traced back, nothing is NaN."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lodestring.cli.main import main
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text, examples

pytestmark = pytest.mark.usefixtures("shared_store")
HERON = example_text("heron")
POLE = "pickup.bridge.coil.main.poles"
COIL = "pickup.bridge.coil.main"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def heron(changes: dict[str, str | None]) -> bytes:
    return apply_changes(HERON, changes).encode()


STEEL = '{ kind = "steel", grade = "low-carbon steel", diameter = "4.8 mm", length = "17 mm" }'
ONE_ROD = '{ kind = "listed", at = [["0 mm", "0 mm"]] }'
KEPT = '{ resistance = "5k", up = "north", kick = "plus" }'
STRING = '{ note = "B3", diameter = "0.014 in" }'
CASES: dict[str, tuple[bytes, str]] = {
    # file content, a word of the sentence
    "empty": (b"", "at least one key"),
    "only comments": (b"# nothing here\n", "at least one key"),
    "binary": (b"\x00\x01\x02" * 50, "text"),
    "not utf-8": ('title = "M\xfcller"'.encode("latin-1"), "UTF-8"),
    "10 MB": (b"a = 1\n" * 1_750_000, "256"),
    "deep nesting": (b"a = " + b"[" * 500 + b"]" * 500, "deep"),
    "5000 digits": (b"format = 1" + b"0" * 5000, "format"),
    "infinite bare number": (HERON.replace("frets = 24", "frets = 1e400").encode(), "instrument.frets"),
    "not a number": (HERON.replace("paraffin = 80", "paraffin = nan").encode(), "paraffin"),
    "later format": (heron({"format": "2"}), "newer version"),
    "wrong unit": (heron({"instrument.scale": '"686 kg"'}), "a mass of 686 kg"),
    "no unit": (heron({"instrument.scale": '"686"'}), "686 mm"),
    "two readings": (heron({"pickup.neck.place": '"1,160 mm"'}), '"1.16 mm" or "1160 mm"'),
    "negative": (heron({f"{COIL}.bobbin.window": '"-10 mm"'}), "above 0"),
    "zero": (heron({f"{COIL}.bobbin.window": '"0 mm"'}), "above 0"),
    "half-width over the value": (heron({f"{COIL}.bobbin.window": '"10 mm ± 12"'}), "above 0"),
    "infinite": (heron({"instrument.scale": '"inf mm"'}), "instrument.scale"),
    "huge": (heron({"instrument.scale": '"1e300 mm"'}), "instrument.scale"),
    "unknown key": (heron({"instrument.colour": '"red"'}), "is not a key here"),
    "misspelt key": (heron({f"{COIL}.wond": '"clockwise"'}), "wound"),
    "0 strings": (heron({"instrument.strings": "[]"}), "1 to 24 strings"),
    "200 strings": (heron({"instrument.strings": f"[{', '.join([STRING] * 200)}]"}), "1 to 24 strings"),
    "strings too many for the spread": (
        heron(
            {
                "instrument.strings": f"[{', '.join([STRING] * 24)}]",
                "instrument.nut": '{ span = "6 mm" }',
                f"{POLE}.height": '"1 mm"',
                "pickup.neck.coil.main.poles.height": '"1 mm"',
            }
        ),
        "touch",
    ),
    "one pole piece": (heron({f"{POLE}.layout": ONE_ROD, f"{POLE}.height": '"1 mm"'}), "one pole piece"),
    "overlapping pole pieces": (
        heron({f"{POLE}.layout": '{ kind = "two per string", apart = "4 mm" }', f"{POLE}.height": '"1 mm"'}),
        "overlap",
    ),
    "fat pole pieces": (heron({f"{POLE}.body.diameter": '"11 mm"'}), "overlap"),
    "coil inside out": (heron({f"{COIL}.bobbin.plate.width": '"4.5 mm"'}), "plates must stand out"),
    "short plates": (heron({f"{COIL}.bobbin.plate.length": '"50 mm"'}), "plates must stand out"),
    "a coil of 100 m": (heron({f"{COIL}.turns": "100000", f"{COIL}.bobbin.window": '"0.5 mm"'}), "at most 50 mm deep"),
    "unknown grade": (heron({f"{POLE}.body.grade": '"alnico 55"'}), "alnico 5"),
    "unknown enamel": (heron({f"{COIL}.wire.enamel": '"polyuretane"'}), "polyurethane"),
    "unknown plastic": (heron({f"{COIL}.bobbin.plate.material": '"cheese"'}), "material"),
    "unknown wire": (heron({f"{COIL}.wire.size": '"52 AWG"'}), "wire.size"),
    "unknown wrap": (heron({"instrument.strings.3.wrap": '"gold leaf"'}), "wrap"),
    "two pickups at one place": (heron({"pickup.neck.place": '"45 mm"'}), "at one place"),
    "pickups that overlap": (heron({"pickup.neck.place": '"55 mm"'}), "at one place"),
    "pickup beyond the nut": (heron({"pickup.neck.place": '"700 mm"'}), "between bridge and nut"),
    "heights for the wrong number": (heron({f"{POLE}.height": '["1 mm", "2 mm"]'}), "each of the 6 pole pieces"),
    "pair of unknown coils": (heron({"intent.cancel_hum": '[["bridge.main", "middle.main"]]'}), "middle.main"),
    "pair with itself": (heron({"intent.cancel_hum": '[["bridge.main", "bridge.main"]]'}), "two different"),
    "coils and readings": (heron({"pickup.neck.measured": KEPT}), "both"),
    "zero turns": (heron({f"{COIL}.turns": "0"}), "turns"),
    "turns in quotes": (heron({f"{COIL}.turns": '"7800"'}), "without quotes"),
    "turns and a half": (heron({f"{COIL}.turns": "7800.5"}), "whole number"),
    "tap after the end": (heron({f"{COIL}.tap": "[9000]"}), "before the last turn"),
    "steel with an end up": (heron({f"{POLE}.body": STEEL}), "no up"),
    "magnet without an end up": (heron({f"{POLE}.up": None}), "which end is up"),
    "wax that does not add up": (heron({"pickup.bridge.potting.beeswax": "30"}), "100 per cent"),
    "plates of two coils overlap": (
        apply_changes(example_text("plover"), {"pickup.main.coil.rear.place": '"-6.9 mm"'}).encode(),
        "beside each other",
    ),
    "one pole piece of a list in the air": (
        heron(
            {
                f"{POLE}.height": '"1 mm"',
                f"{POLE}.body.length": '["17 mm", "17 mm", "17 mm", "17 mm", "17 mm", "0.5 mm"]',
            }
        ),
        "passes through the coil",
    ),
    "pole piece under the coil": (heron({f"{POLE}.height": '"-40 mm"'}), "passes through the coil"),
}


@pytest.mark.parametrize(("content", "word"), CASES.values(), ids=CASES.keys())
@pytest.mark.parametrize("command", ["assess", "sheet"])
def test_a_bad_file_gives_a_sentence_with_its_place_and_writes_nothing(
    content: bytes, word: str, command: str, tmp_path: Path
) -> None:
    (tmp_path / "bad.toml").write_bytes(content)
    result = run(command, str(tmp_path / "bad.toml"))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert word in result.stderr
    assert "Traceback" not in result.stderr
    assert all(line.startswith(f"{tmp_path / 'bad.toml'}:") for line in result.stderr.splitlines())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.toml"]


def test_all_problems_come_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    text = heron({"instrument.scale": '"686 kg"', f"{COIL}.turns": "0", "pickup.neck.place": '"7"'})
    (tmp_path / "bad.toml").write_bytes(text)
    lines = run("assess", str(tmp_path / "bad.toml")).stderr.splitlines()
    numbers = [int(line.removeprefix(f"{tmp_path / 'bad.toml'}:").split(":")[0]) for line in lines]
    assert len(lines) == 3
    assert numbers == sorted(numbers)
    for line, number in zip(lines, numbers, strict=True):
        key = line.split(": ")[1].rpartition(".")[2]
        assert key in text.decode().splitlines()[number - 1]


@pytest.mark.parametrize("name", ["missing.toml", "."], ids=["missing", "a folder"])
def test_a_file_that_cannot_be_read_gives_a_sentence(name: str, tmp_path: Path) -> None:
    result = run("assess", str(tmp_path / name))
    assert result.exit_code == 2
    assert result.stderr.strip()


def test_a_bad_workshop_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "heron.toml").write_text(HERON, encoding="utf-8")
    (tmp_path / "workshop.toml").write_text('format = 1\nroom = "21 mm"\n', encoding="utf-8")
    result = run("assess", str(tmp_path / "heron.toml"))
    assert result.exit_code == 2
    assert "workshop.toml:2: room" in result.stderr


@pytest.mark.parametrize("key", ["nonsense", "pickup.bridge.coil.main.dc_resistence", ""])
def test_a_key_that_is_not_there_is_answered_with_near_ones(key: str, tmp_path: Path) -> None:
    (tmp_path / "heron.toml").write_text(HERON, encoding="utf-8")
    result = run("assess", str(tmp_path / "heron.toml"), "--why", key)
    assert result.exit_code == 2
    assert "KEY must be a figure of this set" in result.stderr


def test_new_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("mine", encoding="utf-8")
    result = run("new", str(tmp_path / "mine.toml"))
    assert result.exit_code == 2
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == "mine"


def test_new_with_an_unknown_example_names_the_ones_there_are(tmp_path: Path) -> None:
    result = run("new", str(tmp_path / "x.toml"), "--from", "herron")
    assert result.exit_code == 2
    assert "heron" in result.stderr
    assert not (tmp_path / "x.toml").exists()


def test_an_unknown_table_of_the_catalogue_names_the_ones_there_are() -> None:
    result = run("catalogue", "wires")
    assert result.exit_code == 2
    assert "wire-awg" in result.stderr


Mutation = Callable[[str], str]
VALUES = [
    "0",
    "-1",
    "1e9",
    '""',
    '"0 mm"',
    '"9e9 mm"',
    '"1 mm"',
    "[]",
    "{}",
    "true",
    '"42 AWG"',
    '"north"',
    "nan",
    "7800",
    '"±"',
    '"200 C"',
]


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """An example with a few things done to it: a value swapped, a line dropped or doubled, letters changed."""
    lines = example_text(draw(st.sampled_from(sorted(examples())))).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["value", "drop", "double", "letter", "number", "cut"]))
        line = lines[at]
        if kind == "value" and "=" in line:
            lines[at] = line.split("=")[0] + "= " + draw(st.sampled_from(VALUES))
        elif kind == "drop" and len(lines) > 1:
            del lines[at]
        elif kind == "double":
            lines.insert(at, line)
        elif kind == "letter" and line:
            i = draw(st.integers(0, len(line) - 1))
            lines[at] = line[:i] + draw(st.characters(codec="utf-8", exclude_characters="\n\r")) + line[i + 1 :]
        elif kind == "number":
            digit = draw(st.sampled_from("0123456789-."))
            spots = [i for i, c in enumerate(line) if c.isdigit()]
            if spots:
                i = draw(st.sampled_from(spots))
                lines[at] = line[:i] + digit + line[i + 1 :]
        elif kind == "cut":
            lines[at] = line[: len(line) // 2]
    return "\n".join(lines) + "\n"


def no_nan(value: Any) -> bool:
    if isinstance(value, dict):
        return all(no_nan(v) for v in value.values())
    if isinstance(value, list):
        return all(no_nan(v) for v in value)
    return not isinstance(value, float) or math.isfinite(value)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=mutated())
def test_a_mangled_example_gives_figures_or_a_sentence_never_a_traceback_or_nan(text: str, tmp_path: Path) -> None:
    path = tmp_path / "mangled.toml"
    path.write_text(text, encoding="utf-8")
    result = run("assess", str(path), "--json", "--only", "pickup.bridge.coil", "--only", "pickup.main.coil.front")
    assert result.exception is None or isinstance(result.exception, SystemExit), text
    if result.exit_code == 0:
        told = json.loads(result.stdout)
        assert no_nan(told)
        for key, fact in told["facts"].items():
            if fact["low"] is not None:
                assert fact["low"] <= fact["value"] <= fact["high"], key
    else:
        assert result.exit_code == 2
        assert result.stdout == ""
        assert result.stderr.strip()
