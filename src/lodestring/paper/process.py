"""The pages of the process: spool, snags, potting, meter, polarity, fitting, shopping."""

from __future__ import annotations

from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.design.fields import typed
from lodestring.drawing.coil_views import section, top_view
from lodestring.making.cards import cards
from lodestring.making.fitting_plan import heard_strings
from lodestring.making.meter_coach import meter_coach
from lodestring.making.potting_plan import potting_plans
from lodestring.making.shopping_list import shopping_list
from lodestring.making.spool_check import spool_checks
from lodestring.paper.coil_page import BELOW
from lodestring.paper.press import picture
from lodestring.paper.sizes import Paper
from lodestring.paper.wording import card, caution, coil_name, fig


def process(assessment: Assessment, paper: Paper) -> dict[str, Any]:
    """Everything the process pages show."""
    known = cards()
    return {
        "spools": _spools(assessment),
        "cards": [card(known[name]) for name in ("snag", "snap", "splice")],
        "soldering": caution("soldering"),
        "potting": _potting(assessment),
        "wax": caution("potting"),
        "meter": _meter(assessment),
        "marking": card(known["marking"]),
        "magnets": caution("magnets"),
        "fitting": card(known["fitting"]),
        "heights": _heights(assessment),
        "heard": _heard(assessment),
        "mains": caution("mains"),
        "shopping": [
            {"what": i.what, "needed": i.needed, "spare": i.spare, "note": i.note} for i in shopping_list(assessment)
        ],
        "cutting": caution("cutting"),
        "gluing": caution("gluing"),
        "pairs": _pairs(assessment, paper),
    }


def _potting(assessment: Assessment) -> list[dict[str, Any]]:
    """Each plan once; pickups that are potted alike share it."""
    alike: dict[tuple[object, ...], list[str]] = {}
    for plan in potting_plans(assessment):
        alike.setdefault((plan.kind, plan.gate, plan.steps, plan.obstacle), []).append(plan.pickup)
    return [
        {"pickups": names, "kind": kind, "gate": gate, "steps": steps, "obstacle": obstacle}
        for (kind, gate, steps, obstacle), names in alike.items()
    ]


def _spools(assessment: Assessment) -> list[dict[str, Any]]:
    return [
        {
            "label": check.label,
            "coils": [name.removesuffix(".main") for name in check.coils],
            "sample": fig(check.sample),
            "others": [{"name": name, **fig(figure)} for name, figure in check.others],
            "each": [
                {"coil": n.removesuffix(".main"), **fig(m)} for n, m in zip(check.coils, check.metres_each, strict=True)
            ],
            "metres": check.metres.text,
            "grams": check.grams.text,
            "ten": check.grams_per_10_m.text,
        }
        for check in spool_checks(assessment)
    ]


def _meter(assessment: Assessment) -> dict[str, Any]:
    coach = meter_coach(assessment)
    return {
        "steps": list(coach.steps),
        "temperatures": [f"{celsius} C" for celsius, _ in coach.expected[0].by_temperature] if coach.expected else [],
        "rows": [
            {
                "name": coil_name(assessment, e.pickup, e.coil),
                "at_20": fig(e.at_20),
                "by": [fig(figure) for _, figure in e.by_temperature],
                "kick": e.kick or "not one way",
            }
            for e in coach.expected
        ],
    }


def _heard(assessment: Assessment) -> list[dict[str, Any]]:
    """What each string should give, pickup by pickup: one row a figure, one column a string."""
    out = []
    for heard in heard_strings(assessment):
        rows = {
            "level, dB": [s.balance.value for s in heard.strings],
            "field, mT": [s.field.value for s in heard.strings],
            f"pull, {heard.strings[0].pull.unit}": [s.pull.value for s in heard.strings],
            "beats a second": [s.beat.value for s in heard.strings],
        }
        out.append(
            {
                "pickup": heard.pickup,
                "strings": [f"{s.number} {s.note}" for s in heard.strings],
                "rows": [{"label": label, "values": values} for label, values in rows.items()],
            }
        )
    return out


def _heights(assessment: Assessment) -> list[dict[str, str]]:
    """Starting heights of every pickup that says them, kept ones too."""
    out = []
    for name, record in assessment.model.inputs.design.pickup.items():
        gap = record.gap
        if gap is not None:
            out.append({"pickup": name, "first": typed(gap.first), "last": typed(gap.last), "when": str(gap.when)})
    return out


def _pairs(assessment: Assessment, paper: Paper) -> list[dict[str, Any]]:
    """Pickups of two coils, drawn whole: their coils' pages show each bobbin alone."""
    out = []
    for name, record in assessment.model.inputs.design.pickup.items():
        sides = blocks.sides(record)
        if len(sides) < 2:
            continue
        top, cut = top_view(assessment, name), section(assessment, name, sides[0], whole=True)
        out.append(
            {
                "name": name,
                "beside": top.size_mm[0] + cut.size_mm[0] <= paper.room[0],
                "connect": str(record.connect),
                "top": picture(top, f"whole-{name}-t"),
                "section": picture(cut, f"whole-{name}-s"),
                "top_way": paper.way(top.size_mm, BELOW),
                "section_way": paper.way(cut.size_mm, BELOW),
                "too_large": f"This drawing is {top.size_mm[0]:.0f} mm wide and does not go on {paper.label} at 1:1; "
                "it is left out rather than scaled.",
            }
        )
    return out
