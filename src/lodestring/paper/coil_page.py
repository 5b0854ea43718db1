"""The page of one coil: what lies beside the winder."""

from __future__ import annotations

from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.coil_views import mounting_view, section, size_plot, top_view
from lodestring.drawing.section_view import cut_at
from lodestring.making.cards import cards
from lodestring.making.winding_plan import WindingPlan, winding_plan
from lodestring.paper.press import picture
from lodestring.paper.sizes import Paper
from lodestring.paper.wording import card, caution, coil_name, fact, fig, wire_name

ON_PAGE = 9
"""So many pauses fit on the coil's own page; more of them go on a page of their own."""
GAP = 4.0
BELOW = 14.0
"""Heading over a drawing that has a page to itself, mm."""


def coil_page(assessment: Assessment, pickup: str, coil: str, paper: Paper, number: int) -> dict[str, Any]:
    """Everything one coil's page shows. `number` makes the pictures' ids differ from page to page."""
    plan = winding_plan(assessment, pickup, coil)
    path = blocks.coil_path(pickup, coil)
    record = blocks.coil_of(assessment.model, pickup, coil)
    top, cut = top_view(assessment, pickup, coil), section(assessment, pickup, coil)
    width = paper.room[0]
    where = "beside" if top.size_mm[0] + cut.size_mm[0] + GAP <= width else "above" if top.size_mm[0] <= width else "apart"
    if where != "apart" and max(top.size_mm[1], cut.size_mm[1]) > 75.0:
        where = "apart"
    ids = f"c{number}"
    return {
        "name": coil_name(assessment, pickup, coil),
        "turns": fact(assessment, f"{path}.turns").text,
        "wound": record.wound,
        "hot": record.hot,
        "wire": wire_name(assessment, pickup, coil),
        "figures": [
            {"label": label, **fig(fact(assessment, f"{path}.{key}"))}
            for key, label in (
                ("dc_resistance", "resistance at 20 C"),
                ("outer_length", "length over ends"),
                ("outer_width", "width at mid-side"),
                ("wire_length", "wire on the coil"),
                ("wire_mass", "its mass"),
                ("winding_time", "time"),
            )
        ],
        "taps": [
            {"turn": f"{turn:,}".replace(",", "\u202f"), **fig(fact(assessment, f"{path}.tap.{i + 1}.dc_resistance"))}
            for i, turn in enumerate(record.tap or ())
        ],
        "where": where,
        "top": picture(top, f"{ids}t"),
        "section": picture(cut, f"{ids}s"),
        "top_way": paper.way(top.size_mm, BELOW),
        "section_way": paper.way(cut.size_mm, BELOW),
        "cut": cut_at(assessment, pickup, coil),
        "too_large": f"This drawing is {top.size_mm[0]:.0f} x {top.size_mm[1]:.0f} mm and does not go on {paper.label} at 1:1. "
        "It is left out rather than scaled: print the sheet's figures and take the drawing from a larger paper.",
        "plot": picture(size_plot(assessment, pickup, coil), f"{ids}p", min(width, 150.0)),
        **_winding(plan, ids),
        "caution": caution("winding"),
        "splice": card(cards()["splice"]),
    }


def _winding(plan: WindingPlan, ids: str) -> dict[str, Any]:
    rows = [
        {
            "turns": f"{p.turns:,}".replace(",", "\u202f"),
            "reading": p.reading,
            "length": fig(p.length),
            "width": fig(p.width),
            "gone": p.wire_gone.text,
            "minutes": p.minutes.text,
        }
        for p in plan.pauses
    ]
    return {
        "mountings": [
            {
                "facing": m.facing,
                "turns": m.bobbin_turns,
                "crank": m.crank,
                "same": m.crank == m.bobbin_turns,
                "picture": picture(mounting_view(m), f"{ids}m{i}"),
            }
            for i, m in enumerate(plan.mountings)
        ],
        "winder": plan.winder,
        "unit": plan.counter_unit,
        "total_reading": plan.total_reading,
        "pauses": rows,
        "pauses_on_page": len(rows) <= ON_PAGE,
        "tension": {"pull": plan.tension.grams, "usual": plan.tension.usual, "coins": list(plan.tension.coins)},
        "start": card(plan.start),
        "finish": card(plan.finish),
    }
