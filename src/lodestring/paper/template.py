"""The paper template: a page a pickup at 1:1, with bars of 100 mm both ways."""

from __future__ import annotations

from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.coil_shapes import slant_degrees
from lodestring.drawing.coil_views import template_view
from lodestring.errors import LodestringError
from lodestring.paper.press import Printed, picture, press
from lodestring.paper.sheet import common
from lodestring.paper.sizes import Paper, paper_named
from lodestring.paper.wording import caution

BELOW = 52.0
"""Heading, how to use it and cautions above and below the drawing, mm."""


def template_pdf(assessment: Assessment, paper: str = "a4") -> Printed:
    """The template of every pickup to be made on "a4" or "letter"; the same assessment gives the same bytes.

    Raises LodestringError for a paper there is not, and where every pickup is kept.
    """
    return press("template", template_data(assessment, paper_named(paper)))


def template_data(assessment: Assessment, paper: Paper) -> dict[str, Any]:
    """Everything the template `template.typ` prints, as plain data."""
    design = assessment.model.inputs.design
    made = [name for name, record in design.pickup.items() if record.coil]
    if not made:
        raise LodestringError(
            "a template is of a pickup that is to be made", "a set of kept pickups alone", "adding a pickup with a coil"
        )
    return {
        **common(assessment, paper),
        "pages": [page for name in made for page in _pages(assessment, name, paper)],
        "kept": [name for name, record in design.pickup.items() if not record.coil],
        "cutting": caution("cutting"),
    }


def _pages(assessment: Assessment, name: str, paper: Paper) -> list[dict[str, Any]]:
    """One page where all of a template has room, else one for the pickup and one for each coil's plate."""
    if paper.way(template_view(assessment, name).size_mm, BELOW):
        return [_page(assessment, name, "", paper)]
    parts = ("pickup", *blocks.sides(assessment.model.inputs.design.pickup[name]))
    return [_page(assessment, name, part, paper) for part in parts]


def _page(assessment: Assessment, name: str, part: str, paper: Paper) -> dict[str, Any]:
    view = template_view(assessment, name, part)
    angle = slant_degrees(assessment, name)
    slant = (
        ""
        if abs(angle) <= 0.05
        else f"The pickup is slanted by {abs(angle):.1f} degrees; its strings cross it at that angle."
    )
    wide, high = view.size_mm
    return {
        "name": name,
        "picture": picture(view, f"t-{name}-{part or 'all'}"),
        "way": paper.way(view.size_mm, BELOW),
        "slant": slant,
        "too_large": f"The template of the {name} pickup is {wide:.0f} x {high:.0f} mm and does not go on "
        f"{paper.label} at 1:1, upright or turned. It is left out rather than scaled: choose a larger paper, "
        "or draw plates and holes by the dimensions of the build sheet.",
    }
