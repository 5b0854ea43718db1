"""Each finding is triggered by a file through the command line; its neighbour just inside the limit is not."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from lodestring.assess.findings.codes import CODES
from lodestring.cli.main import main
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text

CASES = tomllib.loads((Path(__file__).parent / "findings.toml").read_text(encoding="utf-8"))["case"]
pytestmark = pytest.mark.usefixtures("shared_store")
IDS = [f"{case['code']}-{case['severity']}" for case in CASES]


def found(folder: Path, case: dict[str, Any], inside: bool) -> list[dict[str, Any]]:
    """The findings of a case's file, as `assess --json` prints them; the file is written to the folder."""
    layers = [case.get("set", {}), case.get("inside", {}) if inside else {}]
    text = example_text(case["from"])
    for layer in layers:
        text = apply_changes(text, {path: None if value == "remove" else value for path, value in layer.items()})
    (folder / "set.toml").write_text(text, encoding="utf-8")
    workshop = case.get("inside_workshop" if inside else "workshop")
    if workshop is not None:
        (folder / "workshop.toml").write_text(apply_changes(example_text("workshop"), workshop), encoding="utf-8")
    about = case.get("about")
    return [f for f in findings(folder / "set.toml") if about in (None, f["about"])]


def findings(path: Path) -> list[dict[str, Any]]:
    """What `assess` tells of a set file beside which there may be a workshop file; the same is asked only once."""
    workshop = path.with_name("workshop.toml")
    asked = (path.read_text(encoding="utf-8"), workshop.read_text(encoding="utf-8") if workshop.exists() else "")
    if asked not in TOLD:
        result = CliRunner().invoke(main, ["assess", str(path), "--only", "none"])
        assert result.exit_code == 0, result.output
        TOLD[asked] = result.stdout
    return json.loads(TOLD[asked])["findings"]  # type: ignore[no-any-return]


TOLD: dict[tuple[str, str], str] = {}


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_faulty_file_gives_its_finding_and_its_neighbour_does_not(case: dict[str, Any], tmp_path: Path) -> None:
    wanted = (case["code"], case["severity"])
    faulty = [f for f in found(tmp_path, case, inside=False) if (f["code"], f["severity"]) == wanted]
    assert faulty, f"{wanted} is not among the findings of the faulty file"
    assert all(f["sentence"] and f["try"] and f["about"] for f in faulty)
    about = {f["about"] for f in faulty}
    near = [f for f in found(tmp_path, case, inside=True) if (f["code"], f["severity"]) == wanted]
    assert not about & {f["about"] for f in near}


def test_every_code_and_weight_has_a_faulty_file() -> None:
    tabled = {(code.code, severity) for code in CODES for severity in code.severities}
    assert tabled == {(case["code"], case["severity"]) for case in CASES}


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_doing_what_a_finding_proposes_takes_the_finding_away(case: dict[str, Any], tmp_path: Path) -> None:
    wanted = (case["code"], case["severity"])
    for finding in found(tmp_path, case, inside=False):
        if (finding["code"], finding["severity"]) != wanted or finding["change"] is None:
            continue
        text = apply_changes((tmp_path / "set.toml").read_text(encoding="utf-8"), finding["change"])
        (tmp_path / "cured.toml").write_text(text, encoding="utf-8")
        left = findings(tmp_path / "cured.toml")
        assert not [f for f in left if f["code"] == finding["code"] and f["about"] == finding["about"]]
