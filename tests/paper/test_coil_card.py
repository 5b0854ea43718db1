"""The coil card, read back from the PDF: true to size (ISO 216: A7 is 105 x 74 mm), everything on it."""

from __future__ import annotations

from typing import Any

import pytest

from lodestring.errors import LodestringError
from lodestring.paper.coil_card import CardRow, CoilCard, coil_card_pdf

SMALL = CoilCard("old-coil-1", "an old coil", "unwound", "0", "", (), (), (), (("begun", "2026-11-25"),), "lodestring")
FULL = CoilCard(
    "a-very-long-serial-0123456789-12",
    "A title that goes on for as long as a title of a set may go on, which is eighty.",
    "middle-and-neck pickup, rear-of-the-two coil",
    "about 12 345",
    "0.063 mm (≈ 42 AWG), single polyester-imide",
    (
        ("wound", "anticlockwise, seen from the strings, start to finish"),
        ("hot", "start wire"),
        ("drawn with", "12 000 turns"),
        ("spool", "the-third-fine-spool-of-2025-xyz"),
    ),
    tuple(
        CardRow(f"quantity {i}, 1 kHz, series mode", f"2.412{i} H at 21 C", "2.39 H (2.24 to 2.52)") for i in range(7)
    ),
    tuple(f"wire snapped at turn {i} 345 (jerk at a restart), spliced" for i in range(6)),
    (("begun", "2026-11-25"), ("potted", "2026-12-25")),
    "lodestring 0.1.0.dev0",
)


@pytest.mark.parametrize("card", [SMALL, FULL], ids=["nothing on it", "full"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_card_is_true_to_size_and_everything_stands_inside(
    card: CoilCard, paper: str, opened: Any, drawn_on: Any
) -> None:
    """The frame's middle of line is 105 x 74 mm; 0.1 mm is far below what scissors can."""
    printed = opened(coil_card_pdf([card], paper).pdf)
    assert len(printed.pages) == 1
    frame = [b for b in drawn_on(printed.pages[0]) if abs(b.width - 105.0) < 0.1 and abs(b.height - 74.0) < 0.1]
    assert frame
    text = printed.text()
    for row in card.rows:
        assert f"{row.measured} {row.drawn}" in text
    for _, said in (*card.facts, *card.dates):
        assert said in text
    for event in card.events:
        assert event.split(" (")[0] in text
    inside = [
        c
        for c in printed.pages[0].chars
        if c["text"].strip() and frame[0].bottom < (printed.pages[0].height - c["bottom"]) * 25.4 / 72 < frame[0].top
    ]
    assert inside
    for c in inside:
        assert frame[0].left < c["x0"] * 25.4 / 72
        assert c["x1"] * 25.4 / 72 < frame[0].right


def test_two_cards_go_on_a_page_and_the_same_cards_are_the_same_file(opened: Any) -> None:
    pdf = coil_card_pdf([SMALL, FULL]).pdf
    assert len(opened(pdf).pages) == 1
    assert pdf == coil_card_pdf([SMALL, FULL]).pdf
    assert len(opened(coil_card_pdf([FULL] * 4).pdf).pages) == 2


def test_what_a_maker_typed_prints_literally(opened: Any) -> None:
    """Set in typst a title could be a command; it travels as data."""
    card = CoilCard("x-1", '#panic("no") *bold* $x$', "c", "1", "", (), (), (), (), "")
    assert '#panic("no") *bold* $x$' in opened(coil_card_pdf([card]).pdf).text().replace("“", '"').replace("”", '"')


def test_a_paper_there_is_not_gets_a_sentence() -> None:
    with pytest.raises(LodestringError, match="a4 or letter"):
        coil_card_pdf([SMALL], "a3")
