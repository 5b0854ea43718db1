"""What stands on the sheet, read back from the PDF."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from once import sheet_pdf, template_pdf

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown
from lodestring.errors import LodestringError
from lodestring.making.winding_plan import winding_plan
from lodestring.paper.press import Printed, breakable, press
from lodestring.paper.wording import STAGE_TITLES
from lodestring.reference import cautions

Assessed = Callable[..., Assessment]
SETS = ("heron", "plover", "wren", "heron-neck-kept")
PAPERS = ("a4", "letter")


def flat(text: str) -> str:
    for space in "\u202f\u00a0\u2009\n":
        text = text.replace(space, " ")
    return " ".join(text.replace("\u200b", "").split())


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SETS)
def test_each_coil_has_exactly_one_page_after_the_first(name: str, paper: str, assessed: Assessed, opened: Any) -> None:
    found = assessed(name)
    printed = opened(sheet_pdf(found, paper).pdf)
    coils = blocks.every_coil(found.model)
    assert "build sheet" in printed.text(0).lower()
    for i, (pickup, coil) in enumerate(coils):
        text = printed.text(1 + i)
        assert text.startswith(f"{pickup} coil" if coil == "main" else f"{pickup}, {coil} coil")
        assert "Which way the bobbin turns" in text
        assert "After the last turn" in text
    assert printed.text(1 + len(coils)).startswith("Before the evening")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["heron", "wren"])
def test_every_pause_of_every_coil_is_printed_with_reading_and_size(
    name: str, paper: str, assessed: Assessed, opened: Any
) -> None:
    found = assessed(name)
    printed = opened(sheet_pdf(found, paper).pdf)
    for i, (pickup, coil) in enumerate(blocks.every_coil(found.model)):
        text = printed.text(1 + i)
        for pause in winding_plan(found, pickup, coil).pauses:
            row = f"{grouped(pause.turns)} {flat(pause.reading)} {flat(pause.length.value)}"
            assert row in text
            assert flat(pause.width.value) in text
            assert flat(pause.wire_gone.text) in text


def test_more_pauses_than_the_page_holds_go_on_a_page_of_their_own_and_none_is_lost(
    assessed: Assessed, opened: Any
) -> None:
    found = assessed("wren", ("turns = 8600", "turns = 23000"), ('width = "18 mm"', 'width = "38 mm"'),
                     ('width = "22 mm"', 'width = "42 mm"'))  # fmt: skip
    text = opened(sheet_pdf(found, "letter").pdf).text()
    for pause in winding_plan(found, "main", "main").pauses:
        assert f"{grouped(pause.turns)} {flat(pause.reading)} " in text


@pytest.mark.parametrize(
    ("turns", "width", "housing"), [(t, 26, 30) for t in (9100, 11100, 12100)], ids=lambda v: str(v)
)
@pytest.mark.parametrize("paper", PAPERS)
def test_no_coil_page_runs_over_by_a_few_lines(
    turns: int, width: int, housing: int, paper: str, assessed: Assessed, opened: Any
) -> None:
    """The table of pauses stays or goes as a whole: the page after a coil's is never a left-over."""
    changes = (("turns = 7800", f"turns = {turns}"), ('width = "16 mm"', f'width = "{width} mm"'),
               ('width = "19 mm"', f'width = "{housing} mm"'))  # fmt: skip
    printed = opened(sheet_pdf(assessed("heron", *changes), paper).pdf)
    assert printed.text(1).startswith("bridge coil")
    apart = printed.text(2).startswith("bridge coil: pauses")
    assert apart or printed.text(2).startswith("neck coil")
    assert apart == ("their table is on the next page" in printed.text(1))


def grouped(number: int) -> str:
    return f"{number:,}".replace(",", " ")


NASTY = [
    pytest.param('#import \\"x\\" $ * _ < > & \\\\ \\"', '#import "x" $ * _ < > & \\ "', id="commands"),
    pytest.param("= head / - list + ~ `raw` @ref <lab> [x] {y}", None, id="markup"),
    pytest.param("</text><script>alert(1)</script>", None, id="svg"),
    pytest.param("#(1 + 2) #sys.inputs.data #panic()", None, id="code"),
    pytest.param(
        "A title -- with --- dashes ... and \\u00e9\\u00df\\u00f8",
        "A title -- with --- dashes ... and éßø",
        id="dashes",
    ),
]


@pytest.mark.parametrize(("typed", "shown_as"), NASTY)
def test_a_title_prints_literally_whatever_it_says(
    typed: str, shown_as: str | None, assessed: Assessed, opened: Any
) -> None:
    found = assessed("heron", ('title = "Heron"', f'title = "{typed}"'))
    expected = flat(shown_as or typed)
    assert expected in opened(sheet_pdf(found, "a4").pdf).large(0, 11.9)
    assert f"{expected}: bridge" in opened(template_pdf(found, "a4").pdf).large(0, 11.9)


@pytest.mark.parametrize("title", ["W" * 190, "one " * 45, "\U0001f3b8 \u65e5\u672c\u8a9e \u202e\u200f", "a" * 29])
def test_no_title_pushes_anything_off_the_paper(title: str, assessed: Assessed, opened: Any) -> None:
    found = assessed("heron", ('title = "Heron"', f'title = "{title}"'))
    for printed in (sheet_pdf(found, "a4"), template_pdf(found, "letter")):
        for page in opened(printed.pdf).pages[:1]:
            assert all(c["x0"] >= 0 and c["x1"] <= page.width and c["bottom"] <= page.height for c in page.chars)


def test_long_words_get_places_to_break_and_lose_no_sign() -> None:
    text = "short " + "x" * 100 + " end"
    assert breakable(text).replace("\u200b", "") == text
    assert "\u200b" not in breakable("pickup.bridge.main")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SETS)
def test_the_same_set_gives_the_same_bytes(name: str, paper: str, assessed: Assessed) -> None:
    first, second = assessed(name), assessed(name, fresh=True)
    assert first is not second
    assert sheet_pdf(first, paper).pdf == sheet_pdf(second, paper).pdf
    assert template_pdf(first, paper).pdf == template_pdf(second, paper).pdf


def test_the_file_holds_no_date_and_no_place_on_this_machine(assessed: Assessed, tmp_path: Any) -> None:
    found = assessed("heron", fresh=True)
    for printed in (sheet_pdf(found), template_pdf(found)):
        for word in (b"CreationDate", b"ModDate", str(tmp_path).encode(), b"/tmp", b"heron.toml"):
            assert word not in printed.pdf


@pytest.mark.parametrize(
    ("stage", "heading"),
    [
        pytest.param("winding", "After the last turn", id="winding-on-the-coil-page"),
        pytest.param("soldering", "A splice", id="soldering-beside-the-splice"),
        pytest.param("potting", "Potting and fitting", id="hot-wax-beside-potting"),
        pytest.param("magnets", "Marking like ends", id="magnets-beside-marking"),
        pytest.param("cutting", "Shopping list", id="cutting-beside-the-plates"),
        pytest.param("gluing", "Before the evening", id="gluing-beside-the-plates"),
        pytest.param("mains", "Fitting, height first", id="mains-beside-fitting"),
    ],
)
def test_cautions_stand_on_the_page_where_the_hands_are(
    stage: str, heading: str, assessed: Assessed, opened: Any
) -> None:
    printed = opened(sheet_pdf(assessed("heron"), "a4").pdf)
    pages = [printed.text(i) for i in range(len(printed.pages)) if heading in printed.text(i)]
    assert pages
    for text in pages:
        assert STAGE_TITLES[stage] in text
        assert "These do not replace local rules" in text
        assert "a licensed person does" in text
        for line in cautions(stage):
            assert flat(line) in text


def test_cutting_cautions_stand_on_the_template_too(assessed: Assessed, opened: Any) -> None:
    text = opened(template_pdf(assessed("heron"), "a4").pdf).text(0)
    assert STAGE_TITLES["cutting"] in text


@pytest.mark.parametrize("name", ["heron", "plover"])
def test_page_1_shows_three_findings_and_the_end_all_of_them(name: str, assessed: Assessed, opened: Any) -> None:
    found = assessed(name, ('temperature = "62 C"', 'temperature = "78 C"'))
    assert found.findings
    printed = opened(sheet_pdf(found, "a4").pdf)
    whole = printed.text()
    for i, finding in enumerate(found.findings):
        assert (flat(finding.sentence) in printed.text(0)) == (i < 3)
        assert whole.count(flat(finding.sentence)) >= (2 if i < 3 else 1)
        assert flat(finding.attempt) in whole
    assert ("at the end of this sheet" in printed.text(0)) == (len(found.findings) > 3)


@pytest.mark.parametrize("name", SETS)
def test_ends_and_directions_are_told_in_words_and_letters(name: str, assessed: Assessed, opened: Any) -> None:
    found = assessed(name)
    printed = opened(sheet_pdf(found, "a4").pdf)
    for i, (pickup, coil) in enumerate(blocks.every_coil(found.model)):
        plan = winding_plan(found, pickup, coil)
        text = printed.text(1 + i)
        assert f"wound {plan.wound} seen from the strings" in text
        for mounting in plan.mountings:
            assert mounting.bobbin_turns in text
            assert f"crank {mounting.crank}" in text
    letters = [c["text"] for c in printed.pages[0].chars if c["text"] in ("N", "S")]
    assert len(letters) >= sum(len(blocks.row(found.model, *c).centres) for c in blocks.every_coil(found.model))
    assert "end toward the strings" in printed.text(0)


def test_a_reversed_spindle_turns_the_crank_the_other_way_on_paper(
    assessed: Assessed, opened: Any, tmp_path: Any
) -> None:
    from lodestring.folder.examples import example_text
    from lodestring.folder.open_set import assess_here

    (tmp_path / "heron.toml").write_text(example_text("heron"), encoding="utf-8")
    workshop = example_text("workshop").replace('spindle = "same"', 'spindle = "reversed"')
    (tmp_path / "workshop.toml").write_text(workshop, encoding="utf-8")
    text = opened(sheet_pdf(assess_here(tmp_path / "heron.toml")).pdf).text(1)
    assert "crank clockwise" in text
    assert "crank anticlockwise" in text
    assert "clockwise too" not in text


def test_a_kept_pickup_stands_on_page_1_with_its_reading(assessed: Assessed, opened: Any) -> None:
    text = opened(sheet_pdf(assessed("heron-neck-kept"), "a4").pdf).text(0)
    for words in ("neck, kept", "5.31 kOhm ± 1 %", "2.1 H ± 5 %", "series mode", "north", "kicks plus"):
        assert words in text


def test_a_template_of_kept_pickups_alone_is_refused_in_a_sentence(assessed: Assessed) -> None:
    found = assessed("heron-neck-kept")
    text = flat(str(found.model.inputs.design.title))
    assert text
    start = "[pickup.bridge]"
    from lodestring.folder.examples import example_text

    whole = example_text("heron-neck-kept")
    made = whole[whole.index(start) : whole.index("[pickup.neck]")]
    kept = assessed(
        "heron-neck-kept",
        (made, ""),
        ('cancel_hum = [["bridge.main", "neck"]]\n', ""),
        ('bridge" }', 'neck" }'),
        ("two volumes, one tone", "one volume, one tone"),
    )
    with pytest.raises(LodestringError, match="kept"):
        template_pdf(kept)
    assert sheet_pdf(kept).pages >= 1


@pytest.mark.parametrize("name", SETS)
def test_the_main_figures_on_paper_are_those_of_the_assessment(name: str, assessed: Assessed, opened: Any) -> None:
    found = assessed(name)
    printed = opened(sheet_pdf(found, "a4").pdf)
    for i, (pickup, coil) in enumerate(blocks.every_coil(found.model)):
        text = printed.text(1 + i)
        for key in ("dc_resistance", "outer_length", "outer_width", "wire_length", "wire_mass", "winding_time"):
            figure = shown(found.facts[f"pickup.{pickup}.coil.{coil}.{key}"])
            assert flat(figure.text) in text
            assert flat(figure.interval) in text


def test_sources_of_the_wire_and_the_program_are_named(assessed: Assessed, opened: Any) -> None:
    pages = opened(sheet_pdf(assessed("heron"), "a4").pdf)
    text = pages.text(-2) + pages.text(-1)
    assert "Where the numbers come from" in text
    assert "American wire gauge" in text
    assert "Assumed, until measured" in text


def test_a_blade_a_coreless_coil_and_no_workshop_print_too(assessed: Assessed) -> None:
    plain = sheet_pdf(assessed("heron", workshop=False))
    assert isinstance(plain, Printed)
    blade = assessed(
        "wren",
        (
            'kind = "two per string", apart = "5.1 mm"',
            'kind = "blade", length = "36 mm", thickness = "3 mm"',
        ),
        ('diameter = "4 mm ± 0.05", ', ""),
    )
    assert sheet_pdf(blade).pages >= 5
    assert template_pdf(blade).pages == 1


def test_a_fault_of_typst_is_a_sentence_not_a_traceback() -> None:
    with pytest.raises(LodestringError, match="the sheet must set"):
        press("sheet", {"title": "x"})
