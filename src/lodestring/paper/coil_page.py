"""The page of one coil: what lies beside the winder."""

from __future__ import annotations

from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.coil_views import mounting_view, section, size_plot, top_view
from lodestring.drawing.section_view import cut_at
from lodestring.making.winding_plan import WindingPlan, first_winder, winding_plan
from lodestring.paper.press import picture
from lodestring.paper.sizes import Paper
from lodestring.paper.wording import card, caution, coil_name, fact, fig, wire_name

ROW, ROOMY_ROW, REST = 5.4, 6.0, 119.0
"""mm: a pause's row, tight and with room to write; and all a coil's page shows besides drawings and pauses."""
MOUNTINGS = 26.0, 48.0
"""mm: the two ways of mounting side by side, and over each other beside the section."""
GAP = 4.0
TALLEST, WIDEST_CUT = 75.0, 90.0
"""mm: a drawing that is larger gets a page to itself."""
BELOW = 14.0
"""Heading over a drawing that has a page to itself, mm."""


def coil_page(assessment: Assessment, pickup: str, coil: str, paper: Paper, number: int) -> dict[str, Any]:
    """Everything one coil's page shows. `number` makes the pictures' ids differ from page to page."""
    plan = winding_plan(assessment, pickup, coil)
    path = blocks.coil_path(pickup, coil)
    record = blocks.coil_of(assessment.model, pickup, coil)
    top, cut = top_view(assessment, pickup, coil), section(assessment, pickup, coil)
    width = paper.room[0]
    where, cut_apart = _places(top.size_mm, cut.size_mm, width)
    ids, name = f"c{number}", coil_name(assessment, pickup, coil)
    return {
        "name": name,
        "title": name if name.endswith("coil") else f"{name} coil",
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
                ("inductance_1khz", "inductance, 1 kHz"),
            )
            if f"{path}.{key}" in assessment.facts
        ],
        "taps": [
            {"turn": f"{turn:,}".replace(",", "\u202f"), **fig(fact(assessment, f"{path}.tap.{i + 1}.dc_resistance"))}
            for i, turn in enumerate(record.tap or ())
        ],
        "where": where,
        "cut_apart": cut_apart,
        "top": picture(top, f"{ids}t"),
        "section": picture(cut, f"{ids}s"),
        "top_way": paper.way(top.size_mm, BELOW),
        "section_way": paper.way(cut.size_mm, BELOW),
        "cut": cut_at(assessment, pickup, coil),
        "too_large": _left_out("top view", top.size_mm, paper),
        "cut_too_large": _left_out("section", cut.size_mm, paper),
        "plot": picture(size_plot(assessment, pickup, coil), f"{ids}p", (width - 6.0) / 2),
        **_winding(plan, ids, _room(where, cut_apart, top.size_mm[1], cut.size_mm[1], paper)),
        "crank": _crank(assessment),
        "caution": caution("winding"),
    }


def _winding(plan: WindingPlan, ids: str, room: float) -> dict[str, Any]:
    rows = [
        {
            "turns": f"{p.turns:,}".replace(",", "\u202f") + (f", {p.what}" if p.what else ""),
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
        "pauses_on_page": len(rows) * ROW <= room,
        "roomy": len(rows) * ROOMY_ROW <= room or len(rows) * ROW > room,
        "tension": {"pull": plan.tension.pull, "usual": plan.tension.usual, "coins": few_coins(plan.tension.coins)},
        "start": card(plan.start),
        "finish": card(plan.finish),
    }


def _places(top: tuple[float, float], cut: tuple[float, float], width: float) -> tuple[str, bool]:
    """Where the top view stands (beside the section, above it, apart), and whether the section goes apart."""
    cut_apart = cut[0] > WIDEST_CUT or cut[1] > TALLEST
    if top[0] > width or top[1] > TALLEST:
        return "apart", cut_apart
    return ("beside" if not cut_apart and top[0] + cut[0] + GAP <= width else "above"), cut_apart


def _room(where: str, cut_apart: bool, top: float, cut: float, paper: Paper) -> float:
    """mm for the rows of the pauses on the coil's own page; what does not fit gets a page of its own."""
    if where == "beside":
        drawn = max(top, cut) + MOUNTINGS[0]
    else:
        drawn = (top if where == "above" else 5.0) + max(MOUNTINGS[1], 0.0 if cut_apart else cut + 5.0)
    return paper.room[1] - REST - drawn


def _left_out(what: str, size: tuple[float, float], paper: Paper) -> str:
    return (
        f"The {what} is {size[0]:.0f} x {size[1]:.0f} mm and does not go on {paper.label} at 1:1. "
        "It is left out rather than scaled: take it from a larger paper."
    )


def few_coins(coins: tuple[str, ...], each: int = 2) -> list[str]:
    """The handiest hangers: of each currency the ones with the fewest coins."""
    by_count = sorted(coins, key=lambda text: int(text.split(" ", 1)[0]))
    euro = [c for c in by_count if "euro" in c]
    return [*euro[:each], *[c for c in by_count if c not in euro][:each]]


def _crank(assessment: Assessment) -> str:
    name, winder = first_winder(assessment.model)
    if winder is None:
        return ""
    return f"winder {name}: one crank is {winder.turns_per_crank} turns, its counter counts {winder.counts}"
