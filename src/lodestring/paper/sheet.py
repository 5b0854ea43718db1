"""The build sheet: the set at a glance, a page a coil, the process, the wiring, all notes, where numbers come from."""

from __future__ import annotations

from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.text import shorten
from lodestring.paper.coil_page import coil_page
from lodestring.paper.glance import glance
from lodestring.paper.origins import findings_page, origins, stamp
from lodestring.paper.press import Printed, press
from lodestring.paper.process import process
from lodestring.paper.sizes import FOOT, HEAD, MARGIN, Paper, paper_named
from lodestring.paper.wiring_page import wiring


def sheet_pdf(assessment: Assessment, paper: str = "a4") -> Printed:
    """The build sheet of a set on "a4" or "letter". The same assessment gives the same bytes.

    Raises LodestringError for a paper there is not.
    """
    return press("sheet", sheet_data(assessment, paper_named(paper)), "wiring")


def sheet_data(assessment: Assessment, paper: Paper) -> dict[str, Any]:
    """Everything the template `sheet.typ` prints, as plain data."""
    return {
        **common(assessment, paper),
        "glance": glance(assessment, paper.room[0]),
        "coils": [
            coil_page(assessment, pickup, coil, paper, i)
            for i, (pickup, coil) in enumerate(blocks.every_coil(assessment.model))
        ],
        "process": process(assessment, paper),
        "wiring": wiring(assessment, paper),
        "findings": findings_page(assessment),
        "origins": origins(assessment),
    }


def common(assessment: Assessment, paper: Paper) -> dict[str, Any]:
    """What sheet and template share."""
    title = assessment.model.inputs.design.title
    return {
        "paper": {
            "label": paper.label,
            "width": paper.width,
            "height": paper.height,
            "margin": MARGIN,
            "head": HEAD,
            "foot": FOOT,
        },
        "length_sign": assessment.units.length_sign,
        "title": title,
        "running": shorten(title, 2.9, 34.0),
        "stamp": stamp(assessment),
    }
