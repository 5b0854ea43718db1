"""The wiring pages, read back from the PDF: there where the set has a harness, and all of it."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from once import SHARED, sheet_pdf

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.folder.examples import example_text
from lodestring.making.wiring_plan import wiring_plan
from lodestring.making.wiring_records import WiringPlan
from lodestring.paper.sheet import sheet_data
from lodestring.paper.sizes import paper_named
from lodestring.paper.wording import STAGE_TITLES
from lodestring.reference import cautions

OWN = """[harness]
circuit = "own netlist"
positions = [
  { name = "full", closed = [["bridge.main.finish", "in"], ["bridge.main.start", "ground"],
                             ["neck.main.finish", "in"], ["neck.main.start", "ground"]] },
  { name = "thin", closed = [["bridge.main.finish", "near"], ["bridge.main.start", "ground"]] },
]
part.level = { kind = "control", ends = ["in", "jack", "ground"], resistance = "500k" }
part.bass-cut = { kind = "capacitor", ends = ["near", "in"], capacitance = "2.2 nF" }
part.bass-leak = { kind = "resistor", ends = ["near", "in"], resistance = "2.2M" }
"""
SETS = ("heron", "plover", "wren", "heron-neck-kept", "own netlist", "no harness")


@cache
def made(name: str) -> Assessment:
    """An example as it is; or Heron with an own netlist, or without a harness."""
    text = example_text(name if name in SETS[:4] else "heron")
    if name not in SETS[:4]:
        text = text.partition("[harness]")[0] + (OWN if name == "own netlist" else "")
    return Assessment(Model(Inputs(read_set(text.encode()).record, None), SHARED))


@cache
def sheet(name: str, paper: str = "a4") -> bytes:
    return sheet_pdf(made(name), paper).pdf


def plan_of(found: Assessment) -> WiringPlan:
    plan = wiring_plan(found.model)
    assert plan is not None
    return plan


def pages(printed: Any) -> str:
    """Text from the page called Wiring to the one before all findings."""
    first = next(i for i in range(len(printed.pages)) if printed.text(i).startswith("Wiring "))
    last = next(i for i in range(len(printed.pages)) if printed.text(i).startswith("All blockers"))
    return " ".join(printed.text(i) for i in range(first, last))


@pytest.mark.parametrize(("name", "paper"), [*((n, "a4") for n in SETS[:5]), ("own netlist", "letter")])
def test_every_part_position_and_joint_is_printed(name: str, paper: str, opened: Any) -> None:
    plan = plan_of(made(name))
    text = pages(opened(sheet(name, paper)))
    squeezed = text.replace(" ", "")
    for part in plan.parts:
        # a title may be broken into two lines, with words of the picture's other columns between them
        assert all(word in text for word in part.title.split())
        assert part.value in text
    for position in plan.positions:
        assert f"{position.number} {position.name}" in text
    for stage in {j.stage for j in plan.joints}:
        assert stage in text
    assert squeezed.count("→") == len(plan.joints)
    for pair in plan.phase.pairs:
        assert pair.kicks[0] in text
    assert "IEC 60617" in text
    assert "frequency, Hz" in text


@pytest.mark.parametrize("name", SETS[:5])
def test_the_pages_carry_the_cautions_for_soldering_and_mains(name: str, opened: Any) -> None:
    text = pages(opened(sheet(name)))
    for stage in ("soldering", "mains"):
        assert STAGE_TITLES[stage] in text
        assert all(sentence.split(":")[0] in text for sentence in cautions(stage))
    # before the first joint
    assert text.index(STAGE_TITLES["soldering"]) < text.index("Joints, in the order of soldering")


def test_a_set_without_a_harness_has_no_wiring_pages(opened: Any) -> None:
    printed = opened(sheet("no harness"))
    assert not any(printed.text(i).startswith("Wiring ") for i in range(len(printed.pages)))
    assert sheet_data(made("no harness"), paper_named("a4"))["wiring"] is None


def test_one_coil_alone_has_no_phase_check(opened: Any) -> None:
    assert "Phase check" not in pages(opened(sheet("wren")))
    assert "Phase check" in pages(opened(sheet("heron")))


@pytest.mark.parametrize("name", SETS[:5])
def test_the_two_columns_of_joints_hold_each_joint_once_in_order(name: str) -> None:
    left, right = sheet_data(made(name), paper_named("a4"))["wiring"]["joints"]
    rows = [*left, *right]
    assert [(r["what"], r["to"]) for r in rows if "what" in r] == [(j.what, j.to) for j in plan_of(made(name)).joints]
    assert "title" not in left[-1]
    # no column is much longer: lines reckoned from the letters, a heading as a line and a half
    heights = [sum(1.5 if "title" in r else 1 + len(r["what"] + r["to"]) // 57 for r in c) for c in (left, right)]
    assert abs(heights[0] - heights[1]) <= 4
