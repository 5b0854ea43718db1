"""The pictures of an open set by name, drawn for the width a page has.

top.PICKUP           a pickup seen from the strings        section.PICKUP.COIL   a cut across its row
solid.PICKUP         as a body, hidden lines dashed        apart.PICKUP          the same taken apart
size.PICKUP.COIL     the coil's depth, turn by turn        template.PICKUP       what is laid in the housing
schematic, wiring    the harness                           response, response.2  what arrives at the jack
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from lodestring.assess import blocks
from lodestring.assess.circuit_net import position_names
from lodestring.assess.report import Assessment
from lodestring.drawing.place_view import place_view
from lodestring.drawing.plot import Plot, readout
from lodestring.drawing.plot_layout import rails
from lodestring.drawing.response_plot import TOGETHER, response_plots
from lodestring.drawing.schematic import schematic
from lodestring.drawing.section_view import section
from lodestring.drawing.size_plot import size_plot
from lodestring.drawing.solid_view import solid_view
from lodestring.drawing.string_plots import balance_plot, beside, field_plot, heard, pitch_plot
from lodestring.drawing.svg import Picture, mm_from_px, svg
from lodestring.drawing.template_view import template_view
from lodestring.drawing.top_view import top_view
from lodestring.drawing.wiring_view import wiring_view
from lodestring.errors import LodestringError
from lodestring.making.wiring_plan import wiring_plan

NARROWEST, WIDEST = 120.0, 4000.0
"""Pixels."""
PLACE_WIDTH = 150.0
"""mm of paper the overview is laid out for; a page scales it."""
HEADINGS = {
    "place": "Where the pickups sit",
    "top": "Top view, {0}",
    "section": "Section, {0}",
    "solid": "As a body, {0}",
    "apart": "Taken apart, {0}",
    "template": "What is laid in the housing, {0}",
    "size": "Width of the coil as it grows, {0}",
    "schematic": "Circuit",
    "wiring": "Wiring",
    "response": "Response at the jack",
    "balance": "Output, string against string",
    "pitch": "Pitch drawn down by the magnets, {0}",
    "field": "Field along the string, {0}",
}
SLOW_VIEWS = ("response", "balance", "pitch", "field")


@dataclass(frozen=True, slots=True)
class Shown:
    """A view for a page: its name, a heading, whether it needs a magnetic or circuit solve."""

    view: str
    heading: str
    slow: bool


def shown_views(assessment: Assessment) -> tuple[Shown, ...]:
    """Every view of the set with its heading, in the order of `views`."""
    return tuple(_shown(assessment, view) for view in views(assessment))


def _shown(assessment: Assessment, view: str) -> Shown:
    kind, _, rest = view.partition(".")
    pickup, _, coil = rest.partition(".")
    coils = (
        assessment.model.inputs.design.pickup[pickup].coil if pickup in assessment.model.inputs.design.pickup else {}
    )
    of = f"{pickup} {coil}".strip() if coil and len(coils or {}) > 1 else pickup
    return Shown(view, HEADINGS[kind].format(of), kind in SLOW_VIEWS)


def views(assessment: Assessment) -> dict[str, Callable[[], Picture]]:
    """Every picture the set has, in the order of the set file; each is drawn when it is called for."""
    out: dict[str, Callable[[], Picture]] = {"place": lambda: place_view(assessment, PLACE_WIDTH)[0]}
    model = assessment.model
    for pickup in dict.fromkeys(p for p, _ in blocks.every_coil(model)):
        out[f"top.{pickup}"] = partial(top_view, assessment, pickup)
        out[f"solid.{pickup}"] = partial(solid_view, assessment, pickup)
        out[f"apart.{pickup}"] = partial(solid_view, assessment, pickup, True)
        out[f"template.{pickup}"] = partial(template_view, assessment, pickup)
    for pickup, coil in blocks.every_coil(model):
        out[f"section.{pickup}.{coil}"] = partial(section, assessment, pickup, coil, True)
        out[f"size.{pickup}.{coil}"] = partial(size_plot, assessment, pickup, coil)
    if model.inputs.design.harness is not None:
        out["schematic"] = partial(_of_harness, assessment, schematic)
        out["wiring"] = partial(_of_harness, assessment, wiring_view)
        for i in range(-(-len(position_names(model)) // TOGETHER)):
            out[f"response.{i + 1}" if i else "response"] = partial(_response, assessment, i)
    strings = heard(assessment)
    if strings:
        out["balance"] = partial(balance_plot, assessment)
    for pickup in strings:
        out[f"pitch.{pickup}"] = partial(pitch_plot, assessment, pickup)
        out[f"field.{pickup}"] = partial(field_plot, assessment, pickup)
    return out


def picture(assessment: Assessment, view: str, kept: Assessment | None = None) -> Picture:
    """One picture; a plot shows the kept state's lines under its own. Raises LodestringError for a view the set does
    not have."""
    draw = views(assessment).get(view)
    if draw is None:
        raise LodestringError("a picture must be one the set has", f'"{view}"', ", ".join(list(views(assessment))[:4]))
    drawn = draw()
    before = None if kept is None else views(kept).get(view)
    if isinstance(drawn, Plot) and before is not None:
        was = before()
        if isinstance(was, Plot):
            return beside(drawn, was)
    return drawn


def picture_svg(assessment: Assessment, view: str, px: float, kept: Assessment | None = None) -> str:
    """One picture as SVG, `px` pixels of a page wide. Raises as `picture`."""
    width = min(max(px, NARROWEST), WIDEST)
    drawn = picture(assessment, view, kept)
    return svg(drawn, mm_from_px(width), ids="p-" + re.sub(r"[^A-Za-z0-9_-]", "-", view))


def picture_points(
    assessment: Assessment, view: str, px: float, kept: Assessment | None = None
) -> dict[str, object] | None:
    """What pointer and keyboard read off a plot: its series, and where the plane of its axes lies in the picture, as
    shares of width and height; None for a drawing."""
    drawn = picture(assessment, view, kept)
    if not isinstance(drawn, Plot):
        return None
    return {
        "rails": rails(drawn, mm_from_px(min(max(px, NARROWEST), WIDEST))),
        "series": [readout(drawn, s.id) for s in drawn.series],
    }


def _of_harness(assessment: Assessment, draw: Callable[..., Picture]) -> Picture:
    plan = wiring_plan(assessment.model)
    if plan is None:
        raise LodestringError("a wiring picture is of a set with a harness", "a set without one", "a [harness] table")
    return draw(plan)


def _response(assessment: Assessment, which: int) -> Picture:
    plots = response_plots(assessment.model)
    if which >= len(plots):
        raise LodestringError("a response is of a set with a harness that has it", "one without", "another picture")
    return plots[which]
