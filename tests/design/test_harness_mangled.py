"""Harnesses with things done to them: figures or sentences, never a traceback, never a NaN."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lodestring.cli.main import main
from lodestring.folder.examples import example_text

pytestmark = pytest.mark.usefixtures("shared_store")
READY = """circuit = "two volumes, one tone"
volume = [{ value = "250k", bleed = { capacitor = "1 nF", resistor = "150k" } }, { value = "250k" }]
tone = { value = "250k", taper = "audio", capacitor = "22 nF" }
lead_out = { length = "0.4 m", per_metre = "120 pF/m" }
cable = { length = "5 m", per_metre = "100 pF/m" }
input = { resistance = "1M", capacitance = "20 pF" }
strings = "grounded"
positions = [
  { name = "bridge", on = ["bridge"] },
  { name = "both", on = ["bridge", "neck"], reversed = ["neck"] },
  { name = "neck", on = ["neck"] },
]
"""
OWN = """circuit = "own netlist"
positions = [
  { name = "one", closed = [["bridge.main.finish", "top"], ["bridge.main.start", "ground"]] },
  { name = "two", closed = [["neck.main.finish", "top"], ["neck.main.start", "ground"]] },
]
[harness.part.volume]
kind = "control"
ends = ["top", "jack", "ground"]
resistance = "500k"
[harness.part.cap]
kind = "capacitor"
ends = ["top", "ground"]
capacitance = "1 nF"
"""
VALUES = [
    "0",
    '"0 ohm"',
    '"250k"',
    '"22 nF"',
    '"1 pF"',
    '"1e-30 F"',
    '"1e20 ohm"',
    '"own netlist"',
    '"straight to the jack"',
    '"blend, one tone"',
    "[]",
    "{}",
    '["bridge", "neck"]',
    '["top", "top"]',
    '["top", "ground"]',
    "nan",
    '"jack"',
]


@st.composite
def mangled(draw: st.DrawFn) -> str:
    lines = draw(st.sampled_from([READY, OWN])).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["value", "drop", "double", "word", "cut"]))
        if kind == "value" and "=" in lines[at]:
            lines[at] = lines[at].split("=")[0] + "= " + draw(st.sampled_from(VALUES))
        elif kind == "drop" and len(lines) > 1:
            del lines[at]
        elif kind == "double":
            lines.insert(at, lines[at])
        elif kind == "word":
            old, new = draw(st.permutations(["bridge", "neck", "top", "jack", "ground", "start", "finish", "on"]))[:2]
            lines[at] = lines[at].replace(f'"{old}', f'"{new}')
        elif kind == "cut":
            lines[at] = lines[at][: len(lines[at]) // 2]
    return "\n".join(lines) + "\n"


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=mangled())
def test_a_mangled_harness_gives_figures_or_a_sentence(lines: str, tmp_path: Path) -> None:
    heron = example_text("heron")
    path = tmp_path / "mangled.toml"
    path.write_text(heron[: heron.index("[harness]")] + "[harness]\n" + lines, encoding="utf-8")
    result = CliRunner().invoke(main, ["assess", str(path), "--json", "--only", "position"])
    assert result.exception is None or isinstance(result.exception, SystemExit), lines
    if result.exit_code:
        assert result.exit_code == 2
        assert (result.stdout, bool(result.stderr.strip())) == ("", True)
        return
    for key, fact in json.loads(result.stdout)["facts"].items():
        if fact["unit"] is not None:
            assert all(math.isfinite(fact[name]) for name in ("low", "value", "high")), key
            assert fact["low"] <= fact["value"] <= fact["high"], key
