"""Spool check, polarity map, potting gate, meter coach, shopping list."""

from __future__ import annotations

import pytest

from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.design.read import read_set
from lodestring.design.toml_write import apply_changes
from lodestring.folder.examples import example_text
from lodestring.making.cards import cards
from lodestring.making.fitting_plan import heard_strings
from lodestring.making.meter_coach import meter_coach
from lodestring.making.polarity_map import polarity_map
from lodestring.making.potting_plan import potting_plans
from lodestring.making.shopping_list import shopping_list, spares
from lodestring.making.spool_check import spool_checks


def test_ten_metres_of_neighbouring_gauges_read_as_the_bench_knows() -> None:
    # common practice, reckoned from the resistance tables: 40/41/42/43/44 AWG read about 35/43/54/70/85 ohms
    heron = Assessment(Model(Inputs(read_set(example_text("heron").encode()).record)))
    (check,) = spool_checks(heron)
    assert [round(float(f.value)) for _, f in check.others] == [35, 43, 54, 70, 85]
    low, _, high = check.sample.interval.partition(" to ")
    assert float(low) < 54.4 < float(high)


def test_a_tenth_of_a_gram_is_about_three_and_a_half_metres(heron: Assessment) -> None:
    # common practice, reckoned: 42 AWG, 0.1 g is about 3.4 m
    (check,) = spool_checks(heron)
    assert 10.0 / float(check.grams_per_10_m.value) * 0.1 == pytest.approx(3.4, rel=0.03)


def test_the_polarity_map_tells_each_rods_end_and_the_meters_kick(heron: Assessment, plover: Assessment) -> None:
    bridge, neck = polarity_map(heron).coils
    assert (bridge.up, neck.up) == ("south", "north")
    assert bridge.kick == neck.kick  # in phase
    assert [e.number for e in bridge.ends] == [1, 2, 3, 4, 5, 6]
    assert bridge.ends[0].x > 0 > bridge.ends[-1].x  # string 1 at the right, the nut up
    front, rear = polarity_map(plover).coils
    assert (front.up, rear.up) == ("north", "south")
    assert front.fed_by == "a bar magnet under the row"


def test_potting_is_a_gate_and_names_the_hottest_bath(heron: Assessment) -> None:
    plan = potting_plans(heron)[0]
    assert len(plan.gate) >= 3
    assert "62 C" in plan.steps[0]
    assert "75 C" in plan.steps[0]


@pytest.mark.parametrize(
    ("potting", "kind"), [('{ kind = "lacquer" }', "lacquer"), ('{ kind = "none" }', "none")], ids=["lacquer", "none"]
)
def test_other_ways_of_fixing_have_no_bath(potting: str, kind: str) -> None:
    text = apply_changes(example_text("wren"), {"pickup.main.potting": None})
    text = apply_changes(text, {"pickup.main.potting": potting})
    (plan,) = potting_plans(Assessment(Model(Inputs(read_set(text.encode()).record))))
    assert plan.kind == kind
    assert not any("bath" in step for step in plan.steps)


def test_a_plastic_that_softens_stands_in_the_way_on_the_plan() -> None:
    text = apply_changes(example_text("wren"), {"pickup.main.coil.main.bobbin.plate.material": '"PLA"'})
    (plan,) = potting_plans(Assessment(Model(Inputs(read_set(text.encode()).record))))
    assert "PLA" in plan.obstacle


def test_the_coach_knows_what_a_warm_coil_reads(heron: Assessment) -> None:
    # IEC 60028: 0.393 per cent a kelvin at 20 C
    expected = meter_coach(heron).expected[0]
    by = {celsius: float(f.value) for celsius, f in expected.by_temperature}
    assert by[28] / by[20] == pytest.approx(1.0 + 8 * 0.00393, abs=2e-3)
    assert expected.kick == "plus"


def test_the_shopping_list_counts_rods_plates_and_bars_with_spares(heron: Assessment, plover: Assessment) -> None:
    needed = {item.what: (item.needed, item.spare) for item in shopping_list(heron)}
    rods = next(v for k, v in needed.items() if k.startswith("rod alnico 5"))
    assert rods == ("12", "2")
    assert next(v for k, v in needed.items() if k.startswith("plate"))[0] == "4"
    assert needed["eyelets"] == ("4", "2")
    bars = [item for item in shopping_list(plover) if item.what.startswith("bar magnet")]
    assert len(bars) == 2
    assert [spares(n) for n in (1, 6, 7, 16)] == [1, 1, 2, 3]


def test_every_card_has_a_title_and_steps() -> None:
    assert {"start", "finish", "snag", "snap", "splice", "marking", "fitting"} <= set(cards())
    assert all(card.title and card.steps for card in cards().values())


def test_string_against_string_adds_up_to_the_mean(heron: Assessment) -> None:
    # levels are against the mean power of the pickup's strings, so their mean power is 0 dB
    for heard in heard_strings(heron):
        levels = [float(s.balance.value.replace("\u2212", "-")) for s in heard.strings]
        assert sum(10 ** (v / 10) for v in levels) / len(levels) == pytest.approx(1.0, abs=0.05)
