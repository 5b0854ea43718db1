"""The coil card: a small card with everything of one coil, to cut out and stick in the case; two of it on a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lodestring.paper.press import Printed, press
from lodestring.paper.sizes import FOOT, HEAD, MARGIN, paper_named

SIZE = 105.0, 74.0
"""mm: A7 across (ISO 216), which goes into an instrument's case."""


@dataclass(frozen=True, slots=True)
class CardRow:
    """One measured value with what was drawn beside it, "" where nothing was."""

    label: str
    measured: str
    drawn: str = ""


@dataclass(frozen=True, slots=True)
class CoilCard:
    """One coil as it was wound. `title`: of its set; `facts`: (label, text) of what was wound; `rows`: what was
    measured; `events`: what happened on the way, in a few words each; `dates`: (label, day)."""

    serial: str
    title: str
    coil: str
    turns: str
    wire: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[CardRow, ...]
    events: tuple[str, ...]
    dates: tuple[tuple[str, str], ...]
    made_by: str


def coil_card_pdf(cards: Sequence[CoilCard], paper: str = "a4") -> Printed:
    """Cards of these coils on "a4" or "letter", with marks to cut along. The same cards give the same bytes.

    Raises LodestringError for a paper there is not.
    """
    return press("coil_card", card_data(cards, paper))


def card_data(cards: Sequence[CoilCard], paper: str = "a4") -> dict[str, Any]:
    """Everything the template `coil_card.typ` prints, as plain data."""
    sheet = paper_named(paper)
    named = ", ".join(c.serial for c in cards)
    return {
        "paper": {
            "label": sheet.label,
            "width": sheet.width,
            "height": sheet.height,
            "margin": MARGIN,
            "head": HEAD,
            "foot": FOOT,
        },
        "title": f"Coil card {named}"[:120],
        "running": f"coil card{'' if len(cards) == 1 else 's'} {named}"[:60],
        "stamp": cards[0].made_by if cards else "",
        "size": list(SIZE),
        "cards": [_card(c) for c in cards],
    }


def _card(card: CoilCard) -> dict[str, Any]:
    return {
        "serial": card.serial,
        "title": card.title,
        "coil": card.coil,
        "turns": card.turns,
        "wire": card.wire,
        "facts": [{"label": label, "text": text} for label, text in card.facts],
        "rows": [{"label": r.label, "measured": r.measured, "drawn": r.drawn} for r in card.rows],
        "events": list(card.events),
        "dates": [{"label": label, "text": text} for label, text in card.dates],
        "made_by": card.made_by,
    }
