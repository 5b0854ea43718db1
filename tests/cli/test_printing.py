"""What the commands print: 80 columns, three findings, the contract's JSON, a reason for every figure."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from lodestring.cli.main import main
from lodestring.folder.examples import example_text, examples

pytestmark = pytest.mark.usefixtures("shared_store")
NAMES = tuple(examples())


def told(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in NAMES:
        (tmp_path / f"{name}.toml").write_text(example_text(name), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("name", NAMES)
def test_the_table_fits_in_eighty_columns_and_shows_three_findings(name: str, folder: Path) -> None:
    text = told("assess", str(folder / f"{name}.toml"))
    assert max(len(line) for line in text.splitlines()) <= 80
    shown = [line for line in text.splitlines() if line.startswith(("blocker: ", "warning: ", "note: "))]
    assert len(shown) <= 3
    assert not [line for line in shown if line.startswith("blocker")], "an example has no blocker"


def test_all_shows_every_figure_and_note_in_eighty_columns(folder: Path) -> None:
    text = told("assess", str(folder / "wren.toml"), "--all")
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "more; --all" not in text
    assert "clearance plate side" in text


@pytest.mark.parametrize("key", ["dc_resistance", "coil_depth_side", "kick", "inductance", "turns"])
def test_every_kind_of_figure_tells_why(key: str, folder: Path) -> None:
    text = told("assess", str(folder / "wren.toml"), "--why", f"pickup.main.coil.main.{key}")
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.startswith(f"pickup.main.coil.main.{key} = ")
    assert "\nHow: " in text
    assert "\nFrom: " in text


def test_only_keeps_the_facts_asked_for_and_all_findings(folder: Path) -> None:
    whole = json.loads(
        told("assess", str(folder / "wren.toml"), "--json", "--only", "pickup.main.coil", "--only", "set")
    )
    assert set(whole["facts"]) >= {"pickup.main.coil.main.dc_resistance", "set.wire_length"}
    assert all(k.startswith(("pickup.main.coil", "set")) for k in whole["facts"])
    assert whole["findings"]


def test_curves_come_with_points_only_when_asked(folder: Path) -> None:
    path = str(folder / "wren.toml")
    plain, full = (
        json.loads(told("assess", path, "--only", "pickup.main.coil", *more)) for more in ((), ("--curves",))
    )
    curve = "pickup.main.coil.main.coil_depth_end"
    assert plain["curves"][curve] == {"x": {"name": "turn", "unit": "1"}, "y": {"unit": "m"}, "n": 400}
    assert len(full["curves"][curve]["x"]["values"]) == len(full["curves"][curve]["y"]["values"]) == 400


@pytest.mark.parametrize("workshop", [False, True], ids=["set", "workshop"])
def test_the_printed_schema_is_one_and_takes_the_examples(workshop: bool) -> None:
    import tomllib

    schema = json.loads(told("schema", *(["--workshop"] if workshop else [])))
    jsonschema.Draft202012Validator.check_schema(schema)
    for name in ("workshop",) if workshop else NAMES:
        jsonschema.validate(tomllib.loads(example_text(name)), schema)


def test_the_schema_refuses_an_unknown_key() -> None:
    import tomllib

    schema = json.loads(told("schema"))
    data = tomllib.loads(example_text("wren"))
    data["instrument"]["colour"] = "red"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema)


def test_new_makes_a_set_that_can_be_assessed(tmp_path: Path) -> None:
    for name in NAMES:
        told("new", str(tmp_path / f"{name}.toml"), "--from", name)
        assert told("assess", str(tmp_path / f"{name}.toml"), "--only", "none")


def test_the_list_of_examples_says_what_each_is() -> None:
    lines = told("new", "--list").splitlines()
    assert [line.split()[0] for line in lines] == list(NAMES)
    assert all(len(line) > 25 for line in lines)


@pytest.mark.parametrize("what", [(), ("wire",), ("magnets",), ("bands",), ("wire.awg-42.rounded",)], ids=str)
def test_the_catalogue_prints_in_eighty_columns_with_its_sources(what: tuple[str, ...]) -> None:
    text = told("catalogue", *what)
    assert max(len(line) for line in text.splitlines()) <= 80
    if what:
        assert "Known: " in " ".join(text.split())
