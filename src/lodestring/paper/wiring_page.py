"""The wiring pages: schematic, positions, response, the wiring on the bench, joints in order, phase check."""

from __future__ import annotations

from typing import Any

from lodestring.assess import circuit_net
from lodestring.assess.report import Assessment
from lodestring.drawing.picture import Sheet1to1
from lodestring.drawing.response_plot import (
    FAMILY_HEIGHT,
    RESPONSE_HEIGHT,
    TOGETHER,
    response_plots,
    travel_plot,
)
from lodestring.drawing.schematic import schematic
from lodestring.drawing.wiring_view import wiring_view
from lodestring.making.wiring_joints import STAGES
from lodestring.making.wiring_plan import wiring_plan
from lodestring.making.wiring_records import GROUND, Joint, PhasePair, WiringPlan
from lodestring.paper.press import picture
from lodestring.paper.sizes import Paper
from lodestring.paper.wording import caution, fact

HIGHEST, AROUND = 120.0, 66.0
"""mm: height of the schematic at most; what stands above and below the wiring picture on its page."""
TEXTS, ROW = 60.0, 8.5
"""mm: titles, words and table heading of the first page, and one row of its table."""
FAMILIES = ("volume", "tone", "blend")
GUTTER = 6.0
ONE_LINE = 56
"""Letters of a joint that go on one line of its column."""


def wiring(assessment: Assessment, paper: Paper) -> dict[str, Any] | None:
    """Everything the wiring pages show; None for a set without a harness."""
    plan = wiring_plan(assessment.model)
    if plan is None:
        return None
    width = paper.room[0]
    grounds = sum(j.to == GROUND for j in plan.joints)
    return {
        "circuit": plan.circuit,
        "schematic": fitted(schematic(plan), "schematic", width, HIGHEST),
        "contacts": len(plan.contacts),
        "positions": [_position(assessment, plan, p.name) for p in plan.positions],
        "plots": [picture(p, f"response{i}", width) for i, p in enumerate(response_plots(assessment.model))],
        "families": [
            {"title": p.title, "picture": picture(p, f"travel{i}", (width - GUTTER) / 2)}
            for i, p in enumerate(_families(assessment))
        ],
        "families_first": _room_left(plan, paper) >= 0.0,
        "bench": fitted(wiring_view(plan), "bench", width, paper.room[1] - AROUND),
        "grounds": grounds,
        "joints": _halves(plan.joints),
        "controls": any(p.kind == "control" for p in plan.parts),
        "notes": list(plan.notes),
        "not_wired": list(plan.not_wired),
        "phase": {"steps": list(plan.phase.steps), "pairs": [_pair(p) for p in plan.phase.pairs]},
        "soldering": caution("soldering"),
        "mains": caution("mains"),
    }


def fitted(drawn: Sheet1to1, ids: str, width: float, height: float) -> dict[str, Any]:
    """A picture at its own size, or made smaller to fit."""
    scale = min(1.0, width / drawn.size_mm[0], height / drawn.size_mm[1])
    return {**picture(drawn, ids), "width": drawn.size_mm[0] * scale}


def _halves(joints: tuple[Joint, ...]) -> list[list[dict[str, str]]]:
    """Two columns of about one height: headings (`title`) and joints (`what`, `to`) in their order."""
    rows: list[tuple[float, dict[str, str]]] = []
    for stage in STAGES:
        mine = [j for j in joints if j.stage == stage]
        rows += [(1.5, {"title": stage})] if mine else []
        rows += [(1.0 + (len(j.what) + len(j.to) > ONE_LINE), {"what": j.what, "to": j.to}) for j in mine]
    total, passed, at = sum(w for w, _ in rows), 0.0, 0
    while passed < total / 2:
        passed += rows[at][0]
        at += 1
    if at and "title" in rows[at - 1][1]:
        at -= 1  # a heading stands over its first joint
    return [[row for _, row in rows[:at]], [row for _, row in rows[at:]]]


def _room_left(plan: WiringPlan, paper: Paper) -> float:
    """mm left on the first page below everything, the family of a control included; below 0 it follows the joints."""
    wide, high = schematic(plan).size_mm
    drawn = high * min(1.0, paper.room[0] / wide, HIGHEST / high)
    plots = -(-len(plan.positions) // TOGETHER) * (RESPONSE_HEIGHT + 1.0)
    return paper.room[1] - TEXTS - ROW * len(plan.positions) - drawn - plots - FAMILY_HEIGHT


def _position(assessment: Assessment, plan: WiringPlan, name: str) -> dict[str, str]:
    found = next(p for p in plan.positions if p.name == name)
    path = f"position.{name}"
    gain = fact(assessment, f"{path}.peak_gain")
    return {
        "number": str(found.number),
        "name": name,
        "on": found.on,
        "joined": ", ".join("–".join(group) for group in found.joined),
        "peak": fact(assessment, f"{path}.peak_frequency").text,
        "gain": gain.text,
        "hum": fact(assessment, f"{path}.hum_left").text,
        "phase": fact(assessment, f"{path}.phase").text,
        "ohm": fact(assessment, f"{path}.dc_resistance_at_jack").text,
        "ohm_interval": fact(assessment, f"{path}.dc_resistance_at_jack").interval,
    }


def _families(assessment: Assessment) -> list[Any]:
    """The first position over the travel of its first control of each kind, two at most."""
    model = assessment.model
    names = circuit_net.travels(model)
    first = circuit_net.position_names(model)[0]
    chosen = [next((n for n in names if n.rpartition(".")[2] == kind), None) for kind in FAMILIES]
    known = [n for n in chosen if n is not None] or list(names)
    return [travel_plot(model, first, name) for name in known[:2]]


def _pair(pair: PhasePair) -> dict[str, Any]:
    return {
        "one": pair.one,
        "other": pair.other,
        "kicks": [k or "not one way" for k in pair.kicks],
        "together": ", ".join(pair.together) or "never",
        "swapped": ", ".join(pair.swapped),
        "wanted": pair.wanted,
        "cure": pair.cure,
    }


__all__ = ["fitted", "wiring"]
