"""Beginning, repeating, comparing, taking apart, and the card of a coil. Outside facts: 44 AWG reads 8.5 Ohm a metre,
50.2 um bare (ASTM B258: 0.127 mm x 92^((36-44)/39)), copper 8.89 g/cm3 and 0.017241 Ohm mm2/m (IEC 60028).
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from lodestring.book.problem import BookProblem
from lodestring.errors import QuantityError
from lodestring.folder.winding_begin import begin_coil, begin_old_coil, beginnings
from lodestring.folder.winding_card import card_record, coil_card
from lodestring.folder.winding_compare import compare_coils
from lodestring.folder.winding_repair import repair_body, repair_report
from lodestring.folder.winding_repeat import begin_repeat, repeat_plan
from lodestring.folder.winding_setup import crank_once, propose_winder, write_winder
from lodestring.folder.winding_stages import coils, stages
from lodestring.folder.winding_state import bench_state
from lodestring.making.old_coil import OldCoil, what_it_was


def wound(evening: Any, end: float = 0.0655, turns: int = 7810) -> str:
    serial: str = evening.begin(spool="fine-1")
    evening.turns(0)
    for n in (1500, 4100):
        evening.count(n, seconds=600.0, end=0.0564 + 0.0091 * n / turns, side=0.005 + 0.0105 * n / turns)
    evening.note("coil.snag", {})
    evening.count(turns, seconds=900.0, end=end, side=0.0155)
    evening.note("measure", {"quantity": "resistance", "value": 5710.0, "unit": "ohm", "temperature": 294.15})
    evening.note("coil.end", {"state": "wound"})
    return serial


@pytest.fixture
def spooled(evening: Any) -> Any:
    evening.spool()
    return evening


# ---- begin ----


def test_every_coil_of_every_set_can_be_begun(spooled: Any) -> None:
    first = beginnings(spooled.folder, spooled.book)[0]
    assert (first.set_name, first.pickup, first.coil, first.turns) == ("heron", "bridge", "main", 7800)
    assert first.serial == "heron-bridge-main-1"
    assert first.spools[0] == "fine-1"
    assert first.winders == ("geared",)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"coil": "front"}, "one that the set is to wind"),
        ({"serial": "Heron 1"}, "small letters"),
        ({"spool": "nobody"}, "spool must be known"),
        ({"winder": "nobody"}, "winder must be set up"),
        ({"target": 0}, "1 to 100 000"),
    ],
    ids=["no such coil", "no serial", "no such spool", "no such winder", "no turns"],
)
def test_what_cannot_be_begun_gets_a_sentence_and_writes_nothing(more: Any, says: str, spooled: Any) -> None:
    args = {"pickup": "bridge", "coil": "main", **more}
    with pytest.raises(BookProblem, match=says):
        begin_coil(spooled.folder, spooled.book, "heron", **args)
    assert spooled.book.coils() == ()


def test_a_serial_is_used_once(spooled: Any) -> None:
    spooled.begin(serial="one")
    with pytest.raises(BookProblem, match="must be new"):
        spooled.begin(serial="one")


def test_a_set_with_a_long_name_still_gets_a_serial_the_book_takes(spooled: Any) -> None:
    name = "a" * 32
    (spooled.folder / f"{name}.toml").write_bytes((spooled.folder / "heron.toml").read_bytes())
    one, two = (begin_coil(spooled.folder, spooled.book, name, "bridge", "main").coil for _ in range(2))
    assert (len(one), one[-2:], two[-2:]) == (32, "-1", "-2")


# ---- set-up ----


def test_a_winder_is_proposed_and_the_rest_of_the_file_stays(evening: Any) -> None:
    path = evening.folder / "workshop.toml"
    before = path.read_text(encoding="utf-8")
    found = propose_winder(evening.folder, "belt", crank_once("5", "5", "reversed"))
    assert path.read_text(encoding="utf-8") == before  # nothing is written unasked
    assert "is added" in found.sentence
    write_winder(evening.folder, found)
    after = path.read_text(encoding="utf-8")
    assert [line for line in before.splitlines() if line not in after.splitlines()] == []
    evening.begin(winder="belt")
    assert bench_state(evening.book, evening.serial).unit == "turns"


def test_a_workshop_file_that_changed_meanwhile_is_not_written_over(evening: Any) -> None:
    found = propose_winder(evening.folder, "belt", crank_once("1", "1", "same"))
    path = evening.folder / "workshop.toml"
    path.write_text(path.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    with pytest.raises(Exception, match="as it was when it was opened"):
        write_winder(evening.folder, found)
    assert path.read_text(encoding="utf-8").endswith("# mine\n")


def test_a_first_workshop_file_is_made(evening: Any) -> None:
    (evening.folder / "workshop.toml").unlink()
    write_winder(evening.folder, propose_winder(evening.folder, "hand", crank_once("1", "1", "same"), "180 /min"))
    assert "[winder.hand]" in (evening.folder / "workshop.toml").read_text(encoding="utf-8")


# ---- repeat, compare ----


def test_a_coil_is_wound_again_with_its_real_turns_and_pauses(spooled: Any) -> None:
    old = wound(spooled)
    plan = repeat_plan(spooled.book, old)
    assert [p.turns for p in plan.pauses] == [1500, 4100, 7810]
    assert plan.pauses[0].end == "58.15 mm"
    assert plan.pauses[1].what == "a snag"
    (spooled.folder / "heron.toml").unlink()  # its set is in the book
    new = begin_repeat(spooled.folder, spooled.book, old, spool="fine-1")
    state = bench_state(spooled.book, new.coil)
    assert (state.target, state.again) == (7810, old)
    assert [p.turns for p in state.pauses] == [1500, 4100, 7810]
    assert state.next.before.startswith("58.15 mm")


def test_only_a_coil_that_was_wound_is_wound_again(spooled: Any) -> None:
    spooled.begin()
    with pytest.raises(BookProblem, match="has turns"):
        repeat_plan(spooled.book, spooled.serial)
    old = begin_old_coil(spooled.folder, spooled.book).coil
    with pytest.raises(BookProblem, match="was unwound"):
        repeat_plan(spooled.book, old)


def test_two_coils_stand_side_by_side(spooled: Any) -> None:
    one, two = wound(spooled), wound(spooled, turns=7700)
    found = compare_coils(spooled.book, one, two)
    rows = {r.label: r for r in found.rows}
    assert rows["turns"].difference == "\u2212110"
    assert rows["resistance"].a == "5.71 kOhm at 21 C"
    assert "1.4 % more ohms a turn" in found.words[0]  # 7810 / 7700
    assert "5 to 8 %" in found.words[0]


def test_coils_of_the_book_stand_on_their_stage(spooled: Any) -> None:
    one = wound(spooled)
    spooled.note("coil.wax", {"temperature": 335.0, "minutes": 20})
    two = spooled.begin("neck")
    assert {c.serial: c.stage for c in coils(spooled.book)} == {one: "potted", two: "winding"}
    assert stages(spooled.book, "heron")[("bridge", "main")]["potted"] == 1
    assert stages(spooled.book, "wren") == {}


# ---- an old coil ----


def test_an_old_coil_is_counted_while_it_comes_off_and_told(spooled: Any) -> None:
    """9.0 kOhm at 8.5 Ohm/m are 1059 m, 8000 turns of 132 mm; 8.5 Ohm/m is 50.8 um of copper (0.017241 Ohm mm2/m), 18.0
    mg a metre; enamel of a tenth of the diameter adds some 3 %: 19.7 g."""
    begun = begin_old_coil(spooled.folder, spooled.book, guess=8000)
    spooled.serial = begun.coil
    spooled.turns(8000, by="sensor")
    for quantity, text in (
        ("resistance", "9.0 kOhm"),
        ("unwound", "clockwise"),
        ("wire_mass", "19.7 g"),
        ("ohm_per_metre", "8.5 ohm/m"),
    ):
        spooled.note("measure", repair_body(quantity, text))
    report = repair_report(spooled.book, spooled.serial)
    told = {(t.what, t.by): t.text for t in report.was.told}
    assert report.was.wire == ("44 AWG",)
    assert report.was.words == ()
    assert told[("wound", "the way it came off")].startswith("clockwise")
    length = float(told[("wire on it", "its resistance and ohms per metre")].split(" m")[0].replace("\u202f", ""))
    assert length == pytest.approx(1059, rel=0.01)
    weighed = float(told[("wire on it", "its mass and diameter")].split(" m")[0].replace("\u202f", ""))
    assert weighed == pytest.approx(0.0197 / (8890 * math.pi / 4 * 0.0508e-3**2 * 1.03), rel=0.02)
    assert bench_state(spooled.book, spooled.serial).unwind
    assert [q for q, _ in report.ask] == ["wire_overall", "wire_bare", "mean_turn"]
    assert report.card.title == "Taking an old coil apart"


@pytest.mark.parametrize("way", ["clockwise", "anticlockwise"])
def test_the_way_it_comes_off_is_the_way_it_was_wound(way: str) -> None:
    """Winding plan: a clockwise coil is wound by a bobbin that turns anticlockwise seen from its top plate; taking it
    off runs that backward, so the bobbin turns clockwise."""
    from lodestring.making.winding_plan import OPPOSITE, mountings

    told = what_it_was(OldCoil(unwound=way)).told
    assert told[0].text.startswith(way)
    assert mountings(way, None)[0].bobbin_turns == OPPOSITE[way]  # while it was wound


def test_what_does_not_go_together_is_said() -> None:
    wrong = what_it_was(OldCoil(bare=63e-6, ohm_per_metre=8.5))
    assert wrong.wire == ()
    assert "no gauge" in wrong.words[0]
    shorted = what_it_was(OldCoil(turns=8000, mean_turn=0.132, resistance=6000.0, ohm_per_metre=8.5))
    assert "do not agree" in shorted.words[0]
    assert what_it_was(OldCoil()).told == ()


@pytest.mark.parametrize(
    ("quantity", "text", "error"),
    [("colour", "red", BookProblem), ("unwound", "left", BookProblem), ("wire_mass", "20 mm", QuantityError)],
    ids=["not asked", "neither way", "no mass"],
)
def test_a_note_of_an_old_coil_that_is_none_gets_a_sentence(quantity: str, text: str, error: type[Exception]) -> None:
    with pytest.raises(error):
        repair_body(quantity, text)


def test_a_coil_being_wound_is_not_taken_for_an_old_one(spooled: Any) -> None:
    spooled.begin()
    with pytest.raises(BookProblem, match="being wound"):
        repair_report(spooled.book, spooled.serial)


# ---- the card ----


def test_the_card_says_what_was_wound_and_what_was_measured(spooled: Any) -> None:
    """Copper gains 0.393 % a kelvin (IEC 60028): what was drawn is said at the 35 C at which the coil was read. 7810
    turns of 132.8 mm at 5.44 Ohm a metre are 5.64 kOhm at 20 C; 2 % is what the mean turn by hand may be off."""
    serial = wound(spooled)
    spooled.note("measure", {"quantity": "resistance", "value": 6045.0, "unit": "ohm", "temperature": 308.15})
    card = card_record(spooled.book, serial)
    assert (card.serial, card.turns) == (serial, "7\u202f810")
    assert ("drawn with", "7\u202f800 turns") in card.facts
    first = card.rows[0]
    assert (first.label, first.measured) == ("resistance", "6.045 kOhm at 35 C")
    assert float(first.drawn.split()[0]) == pytest.approx(5.64 * (1 + 0.00393 * 15), rel=0.02)
    assert any(e.startswith("snag at turn 4\u202f100") for e in card.events)
    assert coil_card(spooled.book, serial)[:5] == b"%PDF-"
