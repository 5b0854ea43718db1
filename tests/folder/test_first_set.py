"""Five answers give a set that can be computed, fits, and says of everything not asked that it is assumed."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.assess.findings import copper, fit, process, wiring
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.errors import SetFileError
from lodestring.folder.examples import example_text, examples
from lodestring.folder.first_set import first_set
from lodestring.folder.marks import assumed
from lodestring.folder.open_set import opened
from lodestring.folder.questions import Answers, KeptAnswers, questions, ready_strings
from lodestring.folder.sensitive import sensitive

HERON = Answers(
    "Heron", "baritone", "686 mm", "52.5 mm", "45 mm, 160 mm",
    housing_length="84 mm", housing_width="19 mm", housing_depth="20 mm", housing_corner="9 mm",
)  # fmt: skip
KEPT = KeptAnswers("160 mm", "5.31 kOhm ± 1 %", "north", "plus", "2.1 H", "1 kHz", "series")


def assessment_of(text: str) -> Assessment:
    return Assessment(opened(read_set(text.encode(), "first set"), None).model)


# Spacing at the bridge [mm], where pickups sit [mm] and what they must fit: common practice, no source (bands of the
# bench for the spacing). Each row: list, scale [mm], pitch at the bridge [mm], places [mm].
INSTRUMENTS = {
    "guitar-light": ((610, 660), (10.0, 10.8), (38, 150)),
    "guitar-medium": ((610, 660), (10.0, 10.8), (38, 150)),
    "guitar-seven": ((640, 690), (10.2, 10.8), (38, 150)),
    "baritone": ((670, 720), (10.0, 10.8), (38, 165)),
    "bass-four": ((760, 870), (18.0, 20.0), (45, 170)),
    "bass-five": ((840, 890), (16.5, 19.0), (45, 170)),
    "tenor": ((540, 600), (9.0, 11.5), (38, 130)),
    "lap-steel-six": ((560, 600), (8.5, 10.0), (38, 100)),
    "lap-steel-eight": ((560, 600), (8.5, 10.0), (38, 100)),
}


@st.composite
def sensible(draw: st.DrawFn) -> Answers:
    """What a person with calipers may answer, in millimetres or inches."""
    name = draw(st.sampled_from(sorted(INSTRUMENTS)))
    scales, pitches, places = INSTRUMENTS[name]
    count = len(next(r for r in ready_strings() if r.id == name).lines)

    def typed(low: float, high: float) -> str:
        millimetres = draw(st.floats(low, high))
        return f"{millimetres / 25.4:.3f} in" if draw(st.booleans()) else f"{millimetres:.1f} mm"

    by_pitch = draw(st.booleans())
    times = 1 if by_pitch else count - 1
    two = draw(st.booleans()) and places[1] > 120
    near = typed(places[0], 60.0)
    row = pitches[1] * (count - 0.5)
    house = draw(st.booleans())
    inside = (
        {
            "housing_length": typed(row + 20, row + 45),
            "housing_width": typed(17.0, 40.0),
            "housing_depth": typed(15.0, 30.0),
            "housing_corner": draw(st.sampled_from(["", "3 mm", "9 mm"])),
        }
        if house
        else {}
    )
    return Answers(
        "A first one",
        name,
        typed(*scales),
        typed(pitches[0] * times, pitches[1] * times),
        f"{near}, {typed(110.0, places[1])}" if two else near,
        "string to string" if by_pitch else "outer strings",
        **inside,
    )


@settings(max_examples=60)
@given(answers=sensible())
def test_sensible_answers_give_a_coil_that_fits_without_a_blocker(answers: Answers) -> None:
    text = first_set(answers)
    model = assessment_of(text).model
    found = [f for room in (fit, copper, process, wiring) for f in room.find(model)]
    assert [f.sentence for f in found if f.severity != "note"] == []
    for name in model.inputs.design.pickup:  # the coil's own figures, not the findings' word alone
        for key in (k for k in model.specs() if k.startswith(f"pickup.{name}.") and ".clearance_" in k):
            assert model.fact(key).number > 0.0, key


@pytest.mark.parametrize("name", sorted(INSTRUMENTS))
def test_every_ready_list_gives_a_set_without_blockers_magnetics_and_circuit_counted(name: str) -> None:
    scales, pitches, _ = INSTRUMENTS[name]
    count = len(next(r for r in ready_strings() if r.id == name).lines)
    text = first_set(Answers("One", name, f"{scales[0]} mm", f"{pitches[0] * (count - 1)} mm", "50 mm"))
    assert [f.sentence for f in assessment_of(text).findings if f.severity == "blocker"] == []


def test_answers_stand_as_typed_and_all_the_rest_is_marked_assumed() -> None:
    answers = replace(HERON, scale="27 in", spacing="2 1/16 in", place="1 3/4 in", housing_width="3/4 in")
    text = first_set(answers)
    data = tomllib.loads(text)
    assert data["instrument"]["scale"] == "27 in"
    assert data["instrument"]["bridge"] == {"span": "2 1/16 in"}
    assert data["pickup"]["main"]["place"] == "1 3/4 in"
    assert data["pickup"]["main"]["housing"]["width"] == "3/4 in"
    asked = {"format", "title", "instrument.scale", "instrument.bridge.span", "pickup.main.place"}
    asked |= {f"pickup.main.housing.{k}" for k in ("length", "width", "depth", "corner")}
    marked = {".".join(map(str, p)) for p in assumed(text)}

    def leaves(value: object, path: str) -> list[str]:
        if isinstance(value, dict):
            return [x for k, v in value.items() for x in leaves(v, f"{path}.{k}" if path else k)]
        if isinstance(value, list):
            return [x for i, v in enumerate(value, 1) for x in leaves(v, f"{path}.{i}")]
        return [path]

    for path in leaves(data, ""):
        given_here = path in asked or (path.endswith((".note", ".diameter")) and "strings" in path)
        assert (path in marked) != given_here, path


def test_two_pickups_cancel_hum_and_are_in_phase() -> None:
    a = assessment_of(first_set(HERON))
    assert a.facts["position.bridge-neck.phase"].value == "in"
    # 20 dB: a tenth of the hum of the louder coil alone, what two equal coils at a slightly different spacing leave
    assert a.number("position.bridge-neck.hum_left") < -20.0


@pytest.mark.parametrize("up", ["north", "south"])
@pytest.mark.parametrize("kick", ["plus", "minus"])
@pytest.mark.parametrize("place", ["45 mm", "160 mm"])
def test_a_new_coil_beside_a_kept_one_is_in_phase_and_cancels_its_hum(up: str, kick: str, place: str) -> None:
    kept = replace(KEPT, up=up, kick=kick, place="160 mm" if place == "45 mm" else "45 mm")
    text = first_set(replace(HERON, place=place, kept=kept))
    design = read_set(text.encode(), "x").record
    made = "bridge" if place == "45 mm" else "neck"
    coil = (design.pickup[made].coil or {})["main"]
    assert coil.poles.up == {"north": "south", "south": "north"}[up]
    a = assessment_of(text)
    assert [f.code for f in wiring.find(a.model)] == []
    assert a.facts[f"pickup.{made}.coil.main.kick"].value == kick
    assert "5.31 kOhm ± 1 %" in text


@pytest.mark.parametrize(
    ("change", "where", "words"),
    [
        pytest.param({"scale": ""}, "scale", "needs an answer", id="nothing"),
        pytest.param({"scale": "648"}, "scale", "unit", id="no-unit"),
        pytest.param({"scale": "25.5 mm"}, "scale", "between", id="wrong-unit"),
        pytest.param({"spacing": "8 mm"}, "spacing", "between", id="one-step-for-all"),
        pytest.param({"strings": "E2 0.046 in\nA2 0.036 in\nE4 0.010 in"}, "strings", "highest", id="lowest-first"),
        pytest.param({"strings": "E4\nB3"}, "strings", "note and its diameter", id="no-diameter"),
        pytest.param({"strings": "H4 0.010 in"}, "strings", "line 1", id="no-note"),
        pytest.param({"strings": "E4 10 in\nB3 13 in\nG3 17 in"}, "strings", "thick", id="thick-as-a-pole"),
        pytest.param({"strings": ""}, "strings", "3 to 12", id="no-strings"),
        pytest.param({"place": "45 mm, 100 mm, 160 mm"}, "place", "one or two", id="three-places"),
        pytest.param({"place": "400 mm"}, "place", "fret 12", id="over-the-frets"),
        pytest.param({"place": "9 mm"}, "place", "between", id="in-the-bridge"),
        pytest.param({"place": "45 mm, 50 mm"}, "place", "one place", id="two-in-one-place"),
        pytest.param(
            {"kept": replace(KEPT, place="50 mm"), "place": "45 mm"}, "place", "one place", id="on-the-kept-one"
        ),
        pytest.param({"housing_length": "60 mm"}, "housing_length", "or more", id="housing-too-short"),
        pytest.param({"housing_width": "12 mm"}, "housing_width", "or more", id="housing-too-narrow"),
        pytest.param({"housing_depth": "9 mm"}, "housing_depth", "or more", id="housing-too-shallow"),
        pytest.param({"housing_depth": ""}, "housing_depth", "needs an answer", id="half-a-housing"),
        pytest.param({"kind": "harp"}, "kind", "one of", id="no-such-kind"),
        pytest.param({"title": "x" * 300}, "title", "120", id="long-title"),
        pytest.param({"kept": replace(KEPT, resistance="lots")}, "kept_resistance", "", id="kept-without-reading"),
        pytest.param({"kept": replace(KEPT, up="sideways")}, "kept_up", "north or south", id="kept-sideways"),
    ],
)
def test_an_answer_that_cannot_be_is_told_at_its_question(change: dict[str, str], where: str, words: str) -> None:
    with pytest.raises(SetFileError) as caught:
        first_set(replace(HERON, **change))  # type: ignore[arg-type]
    assert where in [p.path for p in caught.value.problems]
    assert words in " ".join(p.sentence() for p in caught.value.problems)


@given(answers=st.builds(Answers, *[st.text(max_size=20)] * 5, housing_width=st.text(max_size=8)))
def test_any_answer_at_all_is_a_set_or_a_sentence(answers: Answers) -> None:
    try:
        text = first_set(answers)
    except SetFileError as error:
        assert error.problems  # noqa: PT017 both ends are right
    else:
        assert read_set(text.encode(), "x").record


def test_there_are_five_questions_and_each_ready_list_runs_from_the_highest_string_down() -> None:
    assert [q.id for q in questions()] == ["strings", "scale", "spacing", "place", "housing"]
    for ready in ready_strings():
        inches = [float(line.split()[1]) for line in ready.lines]
        assert all(b > a for a, b in pairwise(inches)), ready.id


# ---- what to measure ----


@pytest.mark.parametrize("name", sorted(examples()))
def test_three_measurements_are_named_that_a_person_can_make(name: str) -> None:
    found = sensitive(assessment_of(example_text(name)))
    assert len(found) == 3
    for measurement in found:
        assert measurement.todo
        assert measurement.low != measurement.high
        assert 0.0 < measurement.share <= 1.0
        assert not any(p.startswith(("hand.", "string.", "magnet.", "copper.")) for p in measurement.paths)


def test_measuring_the_first_of_them_narrows_its_figure_as_its_share_says() -> None:
    """A gap given with a small ±: squares of half-widths add, so the interval shrinks by the root of what is left."""
    text = example_text("heron")
    a = assessment_of(text)
    gap = next(m for m in sensitive(a, 20) if m.paths[0].endswith(".gap"))
    before = a.facts[gap.key]
    sharp = text.replace('first = "1.8 mm", last = "2.2 mm"', 'first = "1.8 mm ± 0.01", last = "2.2 mm ± 0.01"')
    after = assessment_of(sharp).facts[gap.key]
    width = [(f.high or 0.0) - (f.low or 0.0) for f in (before, after)]
    # the method's own spread is no input and no share counts it, so the narrowing is a little less than the share says
    assert math.sqrt(1.0 - gap.share) - 0.02 < width[1] / width[0] < 0.97
