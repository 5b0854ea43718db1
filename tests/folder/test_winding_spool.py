"""A spool by its scale and its sample. Outside facts: ohms of 10 m by gauge and the reserve (trade.md 3 and the bands,
reckoned from the resistance tables and common practice, no source), copper's density and resistivity (IEC 60028).
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from lodestring.book.problem import BookProblem
from lodestring.errors import LodestringError, QuantityError
from lodestring.folder.winding_spool import known, sample_body, spool_begin_body, spool_names, weighed_before
from lodestring.folder.winding_spool_report import spool_report
from lodestring.making.spool_left import Holds, fits, sample, wire_of

OHMS = {40: 35.0, 41: 43.0, 42: 54.0, 43: 70.0, 44: 85.0}
BARE_42 = 0.0633e-3


@pytest.mark.parametrize(("gauge", "ohms"), OHMS.items(), ids=[f"{g} AWG" for g in OHMS])
def test_a_sample_names_its_gauge(gauge: int, ohms: float) -> None:
    """The bench's figures; a wire that is not the spool's label is called by what it probably is."""
    right = sample(wire_of(f"{gauge} AWG", "polyurethane", "single"), 10.0, ohms, 293.15)
    assert right.agrees
    assert right.likely == f"{gauge} AWG"
    other = 42 if gauge != 42 else 44
    wrong = sample(wire_of(f"{other} AWG", "polyurethane", "single"), 10.0, ohms, 293.15)
    assert not wrong.agrees
    assert f"{gauge} AWG" in wrong.likely
    assert f"not {other} AWG" in wrong.sentence


def test_a_warm_sample_is_taken_back_to_20_degrees() -> None:
    """Copper gains 0.393 % a kelvin (IEC 60028): what reads 54.4 at 20 C reads 56.5 at 30 C."""
    wire = wire_of("42 AWG", "polyurethane", "single")
    found = sample(wire, 10.0, 54.4 * 1.0393, 303.15)
    assert 10 * found.ohm_per_metre == pytest.approx(54.4, rel=1e-4)
    assert sample(wire, 10.0, 54.4).half_width > found.half_width  # the room's temperature is not known


def test_a_sample_of_no_wire_asks_how_it_was_taken() -> None:
    found = sample(wire_of("42 AWG", "polyurethane", "single"), 10.0, 5.4, 293.15)
    assert found.likely == ""
    assert "Was it 10 m?" in found.sentence


def test_grams_are_metres(evening: Any) -> None:
    """128 g of 42 AWG, by hand: copper's section times 8.89 to 8.96 g/cm3 and some 6 % of enamel, within 3 %."""
    evening.spool()
    report = spool_report(evening.folder, evening.book, "fine-1")
    per_metre = 8.92e3 * math.pi / 4 * BARE_42**2 * 1.045
    metres = float(report.metres.value.replace("\u202f", ""))
    assert metres == pytest.approx(0.128 / per_metre, rel=0.03)
    low, high = (float(t.replace("\u202f", "")) for t in report.metres.interval.split(" to "))
    assert low < metres < high


def test_a_sample_narrows_the_metres(evening: Any) -> None:
    evening.spool()

    def width() -> float:
        interval = spool_report(evening.folder, evening.book, "fine-1").metres.interval.replace("\u202f", "")
        low, high = map(float, interval.split(" to "))
        return high - low

    before = width()
    evening.book.note("spool.sample", sample_body("10 m", "54.4 ohm", "20 C"), spool="fine-1")
    assert width() < 0.5 * before


def test_every_coil_draws_from_the_spool_until_it_is_weighed_again(evening: Any) -> None:
    evening.spool()
    evening.begin(spool="fine-1")
    full = known(evening.folder, evening.book, "fine-1").wire_mass
    evening.turns(7800)
    drawn = full - known(evening.folder, evening.book, "fine-1").wire_mass
    assert drawn == pytest.approx(0.0301, rel=0.03)  # 7800 turns of 4 mg less what the first ones are shorter
    evening.note("coil.check", {"spool_mass": 0.1600})
    found = known(evening.folder, evening.book, "fine-1")
    assert found.wire_mass == pytest.approx(0.160 - 0.062)
    assert found.booked == 0.0
    assert "weighed" in found.source
    assert "beside coil heron-bridge-main-1" in found.source


def test_wire_lost_at_a_snap_is_booked(evening: Any) -> None:
    """500 turns off the outside of a coil of 5000 are 500 x 134 mm = 67 m that no coil holds, and no spool."""
    evening.spool()
    evening.begin(spool="fine-1")
    evening.count(5000)
    before = known(evening.folder, evening.book, "fine-1").booked
    evening.count(4500)
    evening.note("coil.snap", {"then": "spliced", "removed": 500, "found_end": True, "overrun": 0})
    found = known(evening.folder, evening.book, "fine-1")
    assert found.booked == pytest.approx(before, rel=1e-6)
    report = spool_report(evening.folder, evening.book, "fine-1")
    assert float(report.coils[0].wasted.value) == pytest.approx(67.0, abs=3.0)


@pytest.mark.parametrize(
    ("metres", "low", "high", "answer"),
    [
        (2000, 1900, 2100, "yes"),
        (1150, 1100, 1180, "perhaps"),
        (1250, 1150, 1300, "perhaps"),
        (900, 850, 950, "no"),
    ],
    ids=["plenty", "without its reserve", "if the scale is right", "too short"],
)
def test_a_coil_fits_with_its_reserve_or_perhaps_or_not(metres: float, low: float, high: float, answer: str) -> None:
    """A coil of 1036 m asks for 10 % and 20 m more, 1160 m (trade.md, bands: process)."""
    assert fits(1036.0, 1.1 * 1036.0 + 20.0, Holds(metres, low, high)) == answer
    assert fits(1036.0, 1160.0, None) == "unknown"


def test_a_short_spool_is_a_warning_before_the_evening(evening: Any) -> None:
    evening.spool(mass=0.085)  # 23 g, some 790 m
    report = spool_report(evening.folder, evening.book, "fine-1")
    assert {n.fits for n in report.next} == {"no"}
    assert "does not fit in one piece" in report.words[0]


def test_a_spool_of_another_wire_is_for_no_coil_of_the_set(evening: Any) -> None:
    evening.spool("thin", wire="44 AWG")
    assert spool_report(evening.folder, evening.book, "thin").next == ()


def test_what_is_not_known_of_a_spool_is_asked_for(evening: Any) -> None:
    evening.book.note("spool.begin", spool_begin_body("42 AWG", "polyurethane", "single"), spool="new")
    report = spool_report(evening.folder, evening.book, "new")
    assert report.metres is None
    assert len(report.words) == 3
    assert {n.fits for n in report.next} == {"unknown"}
    assert spool_names(evening.folder, evening.book) == ("new", "fine")  # the second from the workshop file
    with pytest.raises(BookProblem, match="known"):
        spool_report(evening.folder, evening.book, "nobody")


def test_the_weight_before_the_first_turn_is_the_last_one_with_no_coil_between(evening: Any) -> None:
    from lodestring.folder.winding_set import begun

    evening.spool()
    one = evening.begin(spool="fine-1")
    evening.turns(1000)
    two = evening.begin("neck", spool="fine-1")
    assert weighed_before(evening.book, "fine-1", begun(evening.book, one)) == 0.190
    assert weighed_before(evening.book, "fine-1", begun(evening.book, two)) is None
    evening.note("coil.check", {"spool_mass": 0.1864})
    evening.turns(100)
    assert weighed_before(evening.book, "fine-1", begun(evening.book, two)) == 0.1864


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: spool_begin_body("42 AWG", "polyurethane", "single", "60 g", "62 g"), "weighs more"),
        (lambda: spool_begin_body("42 AWG", "honey", "single"), "honey"),
        (lambda: spool_begin_body("42 AWG", "polyurethane", "triple"), "film"),
        (lambda: sample_body("10 mm", "54 ohm"), "some metres"),
    ],
    ids=["lighter than empty", "no enamel", "no film", "no length"],
)
def test_a_spool_that_cannot_be_gets_a_sentence(make: Any, says: str) -> None:
    with pytest.raises((QuantityError, LodestringError), match=says):
        make()
