"""What is drawn for a hole or a peg: before a test piece was tried, after it, by class, kind, direction and process."""

from __future__ import annotations

import pytest

from lodestring.design.read import read_workshop
from lodestring.errors import CatalogueError, LodestringError
from lodestring.parts.choices import choices
from lodestring.parts.fit import Axis, Calibration, Feature, FitClass, Tried, fitted
from lodestring.parts.fit_piece import answered, fit_piece, labels
from lodestring.reference import band, screw

# By hand, mm. Common practice, no source: a printed hole comes out 0.25 small (0.1-0.4), a peg 0.15 large, a lying one
# 0.1 more of either; slip leaves 0.1, a hand press takes 0.02, force 0.08. A laser burns 0.2 away (0.08-0.45).
UNTRIED: dict[str, tuple[str, FitClass, Feature, Axis, float]] = {
    "printed hole, slip": ("filament", "slip", "hole", "upright", 4.8 + 0.1 + 0.25),
    "printed hole, hand press": ("filament", "hand press", "hole", "upright", 4.8 - 0.02 + 0.25),
    "printed hole, force": ("filament", "force", "hole", "upright", 4.8 - 0.08 + 0.25),
    "printed hole, to size": ("filament", "to size", "hole", "upright", 4.8 + 0.25),
    "printed hole, lying": ("filament", "slip", "hole", "lying", 4.8 + 0.1 + 0.25 + 0.1),
    "printed peg, slip": ("filament", "slip", "peg", "upright", 4.8 - 0.1 - 0.15),
    "printed peg, lying": ("filament", "slip", "peg", "lying", 4.8 - 0.1 - 0.15 - 0.1),
    "printed peg, force": ("filament", "force", "peg", "upright", 4.8 + 0.08 - 0.15),
    "cut hole": ("cut sheet", "slip", "hole", "upright", 4.8 + 0.1 - 0.2),
    "cut outline": ("cut sheet", "to size", "peg", "upright", 4.8 + 0.2),
    "milled hole": ("cnc", "slip", "hole", "upright", 4.8 + 0.1),
}


@pytest.mark.parametrize(("process", "fit", "feature", "axis", "drawn"), UNTRIED.values(), ids=UNTRIED.keys())
def test_an_untried_machine_is_allowed_what_is_usual_for_its_process(
    process: str, fit: FitClass, feature: Feature, axis: Axis, drawn: float
) -> None:
    found = fitted(4.8e-3, fit, feature, axis, Calibration(process))
    assert found.drawn * 1e3 == pytest.approx(drawn, abs=1e-9)
    assert found.low < found.drawn < found.high
    assert not found.tested


def test_the_usual_shrinkage_of_printed_holes_is_the_band_the_bench_knows() -> None:
    # trade pages and memory: 0.1 to 0.4 mm
    spread = band("print.hole-undersize").spread()
    found = fitted(5e-3, "to size", "hole", "upright", Calibration())
    assert (found.low, found.drawn, found.high) == pytest.approx(
        (5e-3 + spread.low, 5e-3 + spread.nominal, 5e-3 + spread.high), abs=1e-12
    )


def test_a_measured_kerf_takes_the_place_of_the_usual_one() -> None:
    machine = Calibration("cut sheet", kerf=0.12e-3)
    assert fitted(5e-3, "to size", "hole", "upright", machine).drawn == pytest.approx(4.88e-3)
    assert fitted(80e-3, "to size", "peg", "upright", machine).drawn == pytest.approx(80.12e-3)


# The rod of 4.8 mm slips into number 5 (drawn 5.1) and must be pressed into number 3 (drawn 4.9).
TRIED: dict[str, tuple[FitClass, float]] = {
    "slip is what slipped": ("slip", 0.3),
    "hand press is what was pressed": ("hand press", 0.1),
    "to size lies midway": ("to size", 0.2),
    "force is tighter by the usual 0.06": ("force", 0.04),
}


@pytest.mark.parametrize(("fit", "wider"), TRIED.values(), ids=TRIED.keys())
def test_the_makers_answers_replace_what_is_usual_and_move_along_with_the_size(fit: FitClass, wider: float) -> None:
    tried = answered(fit_piece(4.8e-3), "hole", "upright", slips=5, pressed=3)
    machine = Calibration("filament", (tried,))
    for nominal in (4.8, 4.0, 2.2):
        found = fitted(nominal * 1e-3, fit, "hole", "upright", machine)
        assert found.drawn * 1e3 == pytest.approx(nominal + wider, abs=1e-9)
        assert found.tested
        assert (found.high - found.low) * 1e3 == pytest.approx(0.1)  # half a step of the test piece either way
    assert not fitted(4.8e-3, fit, "hole", "lying", machine).tested
    assert not fitted(4.8e-3, fit, "peg", "upright", machine).tested


def test_a_peg_s_answers_run_the_other_way() -> None:
    # pegs of column i are drawn 4.8 - offset: number 4 (offset 0.2) is 4.6, number 2 (offset 0) is 4.8
    tried = answered(fit_piece(4.8e-3), "peg", "lying", slips=4, pressed=2)
    assert (tried.slips, tried.pressed) == pytest.approx((4.6e-3, 4.8e-3))
    machine = Calibration("filament", (tried,))
    assert fitted(5e-3, "slip", "peg", "lying", machine).drawn == pytest.approx(4.8e-3)
    assert fitted(5e-3, "force", "peg", "lying", machine).drawn == pytest.approx(5.06e-3)


def test_raised_figures_are_the_columns_numbers_and_the_drawn_size_of_their_holes() -> None:
    piece = fit_piece(4.8e-3)
    assert labels(piece)[0] == ("1", "4.70")
    assert labels(piece)[-1] == ("7", "5.30")
    assert answered(piece, "hole", "upright", 5, 3).slips * 1e3 == pytest.approx(float(labels(piece)[4][1]))


REFUSED = {
    "slips tighter than pressed": (lambda: answered(fit_piece(4.8e-3), "hole", "upright", 3, 5), "higher number"),
    "same number twice": (lambda: answered(fit_piece(4.8e-3), "hole", "upright", 3, 3), "higher number"),
    "no such column": (lambda: answered(fit_piece(4.8e-3), "hole", "upright", 9, 3), "columns 1 to 7"),
    "hole the wrong way round": (lambda: Tried("hole", "upright", 5e-3, 5.0e-3, 5.2e-3), "wider"),
    "peg the wrong way round": (lambda: Tried("peg", "upright", 5e-3, 5.2e-3, 5.0e-3), "thinner"),
    "a hole that would vanish": (
        lambda: fitted(0.05e-3, "force", "hole", "upright", Calibration("cut sheet")),
        "above 0",
    ),
    "no size": (lambda: fitted(-1e-3, "slip", "hole", "upright", Calibration()), "above 0"),
    "a body too thick to try": (lambda: fit_piece(15e-3), "2 to 10 mm"),
}


@pytest.mark.parametrize(("ask", "words"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_is_refused_in_a_sentence(ask: object, words: str) -> None:
    with pytest.raises(LodestringError, match=words):
        ask()  # type: ignore[operator]


def test_an_unknown_fit_names_those_there_are() -> None:
    with pytest.raises(CatalogueError, match="hand press"):
        fitted(5e-3, "hand pres", "hole", "upright", Calibration())  # type: ignore[arg-type]


WORKSHOP = """
format = 1
[printer.desk]
process = "filament"
material = "PETG"
nozzle = "0.4 mm"
fit = [
  { feature = "hole", axis = "upright", nominal = "4.8 mm", slips = "5.1 mm", pressed = "4.9 mm" },
  { feature = "hole", axis = "lying", nominal = "4.8 mm", slips = "5.3 mm", pressed = "5.1 mm", nozzle = "0.6 mm" },
  { feature = "peg", axis = "upright", nominal = "4.8 mm", slips = "4.6 mm", pressed = "4.7 mm", material = "PLA" },
]
[printer.laser]
process = "cut sheet"
material = "vulcanised fibre"
kerf = "0.15 mm"
"""


def test_the_workshop_file_keeps_the_answers_by_printer_material_and_nozzle() -> None:
    found = choices(read_workshop(WORKSHOP.encode()).record)
    assert found.plastic == "PETG"
    assert [(t.feature, t.axis) for t in found.printer.tried] == [("hole", "upright")]  # others: nozzle, material
    assert found.printer.tried[0].slips == pytest.approx(5.1e-3)
    assert found.sheet.kerf == pytest.approx(0.15e-3)
    with pytest.raises(CatalogueError, match="desk"):
        choices(read_workshop(WORKSHOP.encode()).record, "desc")


def test_answers_that_cannot_be_are_refused_where_they_stand_in_the_file() -> None:
    wrong = WORKSHOP.replace('slips = "5.1 mm"', 'slips = "4.7 mm"', 1)
    with pytest.raises(LodestringError, match="wider than one"):
        _ = read_workshop(wrong.encode()).record


# ISO 273 (fine, medium, coarse), M1.6 and M4 from memory; ASME B18.2.8 from memory (close, normal, loose, inches), held
# against the metric drills of the same table in a handbook (Machinery's Handbook, 31st edition, page 1743, in part).
CLEARANCE = {
    "M1.6": (1.7, 1.8, 2.0),
    "M4": (4.3, 4.5, 4.8),
    "#2": (0.094 * 25.4, 0.102 * 25.4, 0.116 * 25.4),
    "#4": (0.120 * 25.4, 0.128 * 25.4, 0.144 * 25.4),
    "#6": (0.154 * 25.4, 0.170 * 25.4, 0.185 * 25.4),
    "#8": (0.180 * 25.4, 0.190 * 25.4, 0.205 * 25.4),
}
DRILLS = {"#2": (2.4, 2.6), "#3": (2.7, 2.9)}
THREADS = {"#2": 56, "#3": 48, "#4": 40, "#5": 40, "#6": 32, "#8": 32}


@pytest.mark.parametrize(("name", "holes"), CLEARANCE.items(), ids=CLEARANCE.keys())
def test_screws_have_the_clearance_holes_of_the_standards(name: str, holes: tuple[float, float, float]) -> None:
    found = screw(name).clearance_hole
    assert (found.low * 1e3, found.nominal * 1e3, found.high * 1e3) == pytest.approx(holes)


@pytest.mark.parametrize(("name", "drills"), DRILLS.items(), ids=DRILLS.keys())
def test_inch_clearance_holes_lie_by_the_metric_drills_of_the_same_table(
    name: str, drills: tuple[float, float]
) -> None:
    found = screw(name).clearance_hole
    assert (found.low * 1e3, found.nominal * 1e3) == pytest.approx(drills, abs=0.06)  # drills come in steps of 0.1


@pytest.mark.parametrize(("name", "threads"), THREADS.items(), ids=THREADS.keys())
def test_number_screws_have_their_threads_an_inch(name: str, threads: int) -> None:
    assert 25.4e-3 / screw(name).pitch.nominal == pytest.approx(threads, rel=1e-5)
    # ASME B1.1: a number screw is 0.060 + 0.013 n inch thick; its clearance hole is wider
    assert screw(name).clearance_hole.low > (0.060 + 0.013 * int(name[1:])) * 25.4e-3
