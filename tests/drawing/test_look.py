"""The print look: enough contrast on paper, and nothing told by colour alone."""

from __future__ import annotations

import re

import pytest

from lodestring.drawing.look import LOOKS, PAPER, Look, Role, SeriesLook, css_class


def luminance(colour: str) -> float:
    """Relative luminance of `#rrggbb`, as WCAG 2.2 defines it (its glossary, "relative luminance")."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, glossary, "contrast ratio"."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_published_extremes() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2: "from 1 to 21"
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # widely quoted as just failing AA


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS.keys())
def test_text_has_at_least_the_contrast_of_wcag_aa_on_paper(look: Look) -> None:
    assert contrast(look.ink, PAPER) >= 4.5  # WCAG 2.2, 1.4.3


@pytest.mark.parametrize("role", [r for r in LOOKS if r not in (Role.GRID, Role.GRID_FINE)])
def test_lines_that_carry_meaning_have_three_to_one_on_paper_and_on_their_own_filling(role: Role | SeriesLook) -> None:
    look = LOOKS[role]
    if look.stroke == "none":
        return
    assert contrast(look.stroke, PAPER) >= 3  # WCAG 2.2, 1.4.11
    if role in tuple(Role) and look.fill != "none":
        assert contrast(look.stroke, look.fill) >= 3


@pytest.mark.parametrize("role", [Role.COPPER, Role.WIRE, Role.STEEL, Role.PLATE, Role.TAPE, Role.SPAN])
def test_a_note_can_be_read_on_every_filling(role: Role) -> None:
    assert contrast(LOOKS[Role.NOTE].ink, LOOKS[role].fill) >= 4.5


def test_every_role_has_a_look_and_every_look_a_class_of_its_own() -> None:
    assert set(LOOKS) == {*Role, *SeriesLook}
    classes = [css_class(role) for role in LOOKS]
    assert len(set(classes)) == len(classes)
    assert all(re.fullmatch(r"pic-[a-z]+(-[a-z]+)*", c) for c in classes)


def test_series_differ_in_dash_and_in_mark_not_in_colour_alone() -> None:
    # BETWEEN is for the lines of a family between those that are told apart: their order tells which is which
    looks = [LOOKS[s] for s in SeriesLook if s is not SeriesLook.BETWEEN]
    assert len({look.dash for look in looks}) == len(looks)
    assert len({look.mark for look in looks}) == len(looks)
    assert None not in {look.mark for look in looks}


def test_thick_lines_are_twice_as_thick_as_thin_ones() -> None:
    # ISO 128-2: the ratio of wide to narrow lines is 2:1 (from memory; the standard was not at hand).
    assert LOOKS[Role.OUTLINE].width == 2 * LOOKS[Role.VISIBLE].width == 2 * LOOKS[Role.HIDDEN].width == 0.5


def test_a_warning_is_bold_as_well_as_red() -> None:
    assert LOOKS[Role.WARNING].bold
