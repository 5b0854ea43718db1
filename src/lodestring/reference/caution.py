"""Cautions, by the stage of the work where they are shown."""

from __future__ import annotations

from lodestring.reference.naming import unknown_name
from lodestring.reference.store import catalogue

CAUTION_STAGES = ("winding", "soldering", "potting", "magnets", "cutting", "gluing", "mains")


def cautions(stage: str) -> tuple[str, ...]:
    """The sentences to show at a stage, in the catalogue's order. Raises CatalogueError with the stages there are."""
    if stage not in CAUTION_STAGES:
        raise unknown_name("a stage of cautions", stage, CAUTION_STAGES)
    rows = catalogue().table("cautions")
    return tuple(r["text"].text for r in rows if stage in r["stages"].text.split(", "))
