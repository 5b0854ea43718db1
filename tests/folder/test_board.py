"""The board shows every field and every figure there is, by the words of the bench, and says nothing of its own."""

from __future__ import annotations

import dataclasses
import re
import tomllib

import pytest

from lodestring.assess.keys import TABLE
from lodestring.assess.report import Assessment
from lodestring.assess.shown import shown
from lodestring.design.describe import rows
from lodestring.design.pickup_set import PickupSet
from lodestring.design.read import read_set
from lodestring.errors import Problem
from lodestring.folder.board import QUICK_ROOMS, SLOW_ROOMS, board, finding_rows, read_outs, why
from lodestring.folder.board_figures import QUICK, SLOW, figure_group, figure_groups
from lodestring.folder.examples import example_text, examples
from lodestring.folder.labels import group_of, groups, label_of, table
from lodestring.folder.open_set import opened
from lodestring.folder.typed import kinds, source_of, typed_of

COIL = "pickup.bridge.coil.main"
# Trade.md, "Words on the page": what is not said, and the words it would be confused with.
AVOIDED = re.compile(
    r"\b(build|pot|live|leads?|pole(?! piece| height)|stop|stand-off|layers|orthocyclic|aperture|linkage|exciter|pin"
    r"|proof|assessment|fact)\b"
)


def assessment_of(text: str) -> Assessment:
    return Assessment(opened(read_set(text.encode(), "set"), None).model)


@pytest.fixture(scope="module")
def heron() -> Assessment:
    return assessment_of(example_text("heron"))


def containers() -> set[str]:
    """Fields that are only tables: their own fields are what is shown."""
    return {r.path for r in rows(PickupSet) if r.takes in ("table", "tables by name", "list of table")} | {
        "harness.volume"
    }


def test_every_field_of_the_set_file_has_a_label_and_a_group() -> None:
    fields = {r.path for r in rows(PickupSet)} - containers() - set(table()["hidden"])
    assert set(table()["fields"]) == fields
    assert len(fields) > 100
    for pattern in fields:
        assert group_of(pattern).at in {g.at for g in groups()}
    assert {g["at"] for g in table()["group"]} >= {group_of(p).at for p in fields}
    for pattern in (*table()["suggest"], *table()["hidden"]):
        assert pattern in kinds()


def test_every_figure_of_the_key_table_is_shown_in_one_group_and_no_other_is() -> None:
    listed = [f"{g['of']}.{name}" for g in table()["figures"] for name in (*g["show"], *g.get("more", {}))]
    assert len(listed) == len(set(listed))
    assert set(listed) == {f"{of}.{key.name}" for of, keys in TABLE.items() for key in keys}
    assert set(table()["bands"]) <= set(listed)


def test_labels_and_titles_use_the_words_of_the_bench() -> None:
    words = [*table()["fields"].values(), *(g["title"] for g in table()["group"])]
    words += [label for g in table()["group"] for label in g.get("add", {}).values()]
    for g in table()["figures"]:
        words += [g["title"], *g["show"].values(), *g.get("more", {}).values()]
    allowed = {"Lead from pickup to controls", "lead from pickup to controls", "with leads swapped",
               "resistance at its leads", "inductance at its leads"}  # fmt: skip
    assert [w for w in words if AVOIDED.search(w.lower()) and w not in allowed] == []


@pytest.mark.parametrize("name", sorted(examples()))
def test_every_value_of_an_example_has_its_field_and_shows_what_is_typed(name: str) -> None:
    text = example_text(name)
    shown_fields = {f.path: f for g in board(text, None).fields for f in g.fields}

    def walk(value: object, path: str) -> None:
        if path in shown_fields:
            assert shown_fields[path].typed == typed_of(value)
        elif isinstance(value, dict):
            for key, inner in value.items():
                walk(inner, f"{path}.{key}" if path else key)
        elif isinstance(value, list) and all(isinstance(v, dict) for v in value):
            for number, inner in enumerate(value, 1):
                walk(inner, f"{path}.{number}")
        else:
            assert path == "format", path

    walk(tomllib.loads(text), "")


@pytest.mark.parametrize("name", sorted(examples()))
def test_what_a_field_shows_can_be_typed_into_it_again_and_is_the_same(name: str) -> None:
    data = tomllib.loads(example_text(name))
    count = 0
    for group in board(example_text(name), None).fields:
        for field in group.fields:
            if field.typed:
                source = source_of(field.path, field.typed)
                assert isinstance(source, str), source
                value = tomllib.loads(f"x = {source}")["x"]
                here: object = data
                for part in field.path.split("."):
                    here = here[int(part) - 1] if isinstance(here, list) else here[part]  # type: ignore[index]
                assert value == here, field.path
                count += 1
    assert count > 30


def test_every_group_has_its_parent_and_every_id_is_there_once() -> None:
    for name in examples():
        ids = [g.id for g in board(example_text(name), None).fields]
        assert len(ids) == len(set(ids))
        for group in board(example_text(name), None).fields:
            assert group.parent in ids
            assert ids.index(group.parent) <= ids.index(group.id)


def test_problems_and_marks_stand_at_their_fields() -> None:
    text = example_text("heron").replace("turns = 7400", "turns = 7400  # assumed")
    problems = (Problem(f"{COIL}.turns", "too many"), Problem(f"{COIL}.bobbin.plate", "too small"), Problem("", "x"))
    fields = {f.path: f for g in board(text, None, problems).fields for f in g.fields}
    found = {g.id: g.problem for g in board(text, None, problems).fields}
    assert fields[f"{COIL}.turns"].problem == "too many"
    assert found[f"{COIL}.bobbin"] == "too small"
    assert found[""] == "x"
    assert [p for p, f in fields.items() if f.assumed] == ["pickup.neck.coil.main.turns"]


@pytest.mark.parametrize(
    "text", ["", "x = [", "pickup = 3", "[pickup]\nbridge = 1", "instrument = []", "[harness]\nvolume = 1"]
)
def test_a_text_that_is_no_set_has_a_board_all_the_same(text: str) -> None:
    found = board(text, None, (Problem("", "no set"),))
    assert found.figures == ()
    assert found.fields[0].problem == "no set"


# ---- figures ----


@pytest.mark.usefixtures("shared_store")
@pytest.mark.parametrize("name", sorted(examples()))
def test_a_figure_on_the_board_is_the_formatted_fact(name: str) -> None:
    a = assessment_of(example_text(name))
    seen = set()
    for group in board(example_text(name), a).figures:
        assert not group.waiting
        for row in group.rows:
            figure = shown(a.facts[row.key])
            assert (row.value, row.unit, row.interval) == (figure.value, figure.unit, figure.interval)
            seen.add(row.key)
    assert seen == set(a.facts)


def test_quick_groups_never_run_a_magnetic_or_circuit_solve() -> None:
    a = assessment_of(example_text("plover"))
    before = a.model.store.runs.copy()
    found = list(figure_groups(a, None, (QUICK,)))
    finding_rows(a, QUICK)
    ran = {name for name, count in a.model.store.runs.items() if count > before[name]}
    assert {g.speed for g in found if g.rows} == {QUICK}
    assert {g.speed for g in found if g.waiting} == {SLOW}
    heavy = re.compile("table|sheet|system|state|string|response|ladder|capacitance|inductance", re.IGNORECASE)
    assert [name for name in ran if heavy.search(name)] == []


def test_one_group_alone_is_the_same_as_in_the_whole(heron: Assessment) -> None:
    whole = {g.id: g for g in board(example_text("heron"), heron).figures}
    assert len(whole) > 20
    for id in (COIL, f"{COIL}.fit", f"{COIL}.magnetic", "pickup.neck.string.3", "position.neck", "set"):
        assert figure_group(heron, id) == whole[id]
    assert figure_group(heron, "pickup.none") is None


def test_a_kept_state_shows_its_difference_and_none_where_nothing_changed(heron: Assessment) -> None:
    now = assessment_of(example_text("heron").replace("turns = 7800", "turns = 7020"))
    rows_by_key = {r.key: r for g in figure_groups(now, heron, (QUICK,)) for r in g.rows}
    # ten per cent fewer turns on the same rods: a little more than ten per cent less wire, since the outer turns go
    assert rows_by_key[f"{COIL}.turns"].difference == "\u2212780"
    difference = rows_by_key[f"{COIL}.dc_resistance"].difference
    ohms = heron.number(f"{COIL}.dc_resistance") - now.number(f"{COIL}.dc_resistance")
    assert float(difference.lstrip("\u2212").split()[0]) == pytest.approx(ohms, rel=0.06)
    assert rows_by_key["pickup.neck.coil.main.dc_resistance"].difference == "as kept"


@pytest.mark.parametrize(("turns", "state"), [(7800, "usual"), (8690, "usual"), (8710, "unusual"), (6990, "unusual")])
def test_a_figure_outside_the_band_of_its_kind_is_called_unusual(turns: int, state: str) -> None:
    """The band of six rods and 42 AWG in the table of coils, common practice: 7,000 to 8,700 turns."""
    a = assessment_of(example_text("heron").replace("turns = 7800", f"turns = {turns}").replace("16 mm", "20 mm"))
    row = next(r for g in figure_groups(a, None, (QUICK,)) for r in g.rows if r.key == f"{COIL}.turns")
    assert row.usual == state
    assert "7\u202f000 to 8\u202f700" in row.band


# ---- findings, reasons, curves ----


@pytest.mark.usefixtures("shared_store")
@pytest.mark.parametrize("name", sorted(examples()))
def test_quick_and_slow_findings_together_are_all_findings(name: str) -> None:
    a = assessment_of(example_text(name))
    both = [f for room in (*QUICK_ROOMS, *SLOW_ROOMS) for f in room(a.model)]
    assert sorted(f.sentence for f in both) == sorted(f.sentence for f in a.findings)
    assert [r.sentence for r in finding_rows(a)] == [f.sentence for f in a.findings]


def test_a_cure_that_comes_too_late_is_not_offered_as_possible(heron: Assessment) -> None:
    for stage, drawn in (("drawn", True), ("potted", False)):
        found = [r.possible for r in finding_rows(heron, stage=stage) if r.until == "wound"]  # type: ignore[arg-type]
        assert found
        assert set(found) == {drawn}


def test_a_reason_names_its_inputs_in_words(heron: Assessment) -> None:
    reason = why(heron, f"{COIL}.coil_depth_side")
    assert len(reason.inputs) == len(reason.why.influences) > 2
    assert reason.label.startswith("coil depth at mid-side")
    assert label_of(f"{COIL}.bobbin.window") == "window between the plates (Bobbin, bridge main)"
    assert "window between the plates (Bobbin, bridge)" in reason.inputs
    with pytest.raises(KeyError):
        why(heron, "pickup.none")


def test_read_out_points_are_the_curve_itself(heron: Assessment) -> None:
    found = read_outs(heron, COIL)
    curve = heron.curves()[f"{COIL}.coil_depth_end"]
    mine = next(r for r in found if r.id == curve.key)
    assert (mine.x, mine.y, mine.unit, mine.x_name) == (curve.x, curve.y, "m", "turn")
    assert mine.label.startswith("coil depth at the ends")


def test_records_of_the_board_are_frozen(heron: Assessment) -> None:
    found = board(example_text("heron"), heron, speed=QUICK)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.title = "x"  # type: ignore[misc]
