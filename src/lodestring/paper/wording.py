"""Small texts that several pages of the sheet share."""

from __future__ import annotations

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown, size_said
from lodestring.making.cards import Card
from lodestring.quantity.figures import Figure
from lodestring.reference import cautions

RULES = "These do not replace local rules; what they ask a licensed person to do, a licensed person does."
STAGE_TITLES = {
    "winding": "Caution at the winder",
    "soldering": "Caution when soldering",
    "potting": "Caution with hot wax",
    "magnets": "Caution with magnets",
    "cutting": "Caution when cutting and drilling",
    "gluing": "Caution when gluing",
    "mains": "Caution with mains",
}


def caution(stage: str) -> dict[str, object]:
    """A box of cautions; the last line defers to local rules and licensed people."""
    return {"title": STAGE_TITLES[stage], "lines": [*cautions(stage)], "rules": RULES}


def card(given: Card) -> dict[str, object]:
    """A how-to card."""
    return {"title": given.title, "steps": list(given.steps)}


def fact(assessment: Assessment, key: str) -> Figure:
    """A figure of the assessment as it is said everywhere, or an em dash where there is none."""
    found = assessment.facts.get(key)
    return Figure("—", "", "") if found is None else shown(found, assessment.units)


def fig(figure: Figure) -> dict[str, str]:
    """A figure for a template."""
    return {"text": figure.text, "interval": figure.interval, "whole": figure.whole}


def coil_name(assessment: Assessment, pickup: str, coil: str) -> str:
    """`bridge` where the pickup has one coil called main, else `bridge, front coil`."""
    sides = blocks.sides(assessment.model.inputs.design.pickup[pickup])
    return pickup if sides == ("main",) else f"{pickup}, {coil} coil"


def wire_name(assessment: Assessment, pickup: str, coil: str) -> str:
    """`42 AWG, single polyurethane`."""
    wire = blocks.coil_of(assessment.model, pickup, coil).wire
    return f"{size_said(wire.size, assessment.units)}, {wire.film} {wire.enamel}"
