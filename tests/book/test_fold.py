"""The fold: any order, any duplication, the same state; each rule of contract 5 by itself, and against a second, slower
reading of the contract that shares nothing with the first."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest
from book_events import BEGIN, event, turns
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.book.event import Event
from lodestring.book.fold import CoilState, fold_coil, fold_spool

DEVICES = ["phone", "tablet", "here"]


SOME = st.dictionaries(st.sampled_from(DEVICES), st.integers(0, 12), max_size=3)
BODIES: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "coil.turns": st.fixed_dictionaries({"turns": st.integers(-50, 200), "by": st.just("tap")}),
    "coil.count": st.fixed_dictionaries({"turns": st.integers(0, 9000), "covers": SOME}),
    "counter.take": st.fixed_dictionaries({"device": st.sampled_from(DEVICES), "covers": SOME}),
    "counter.admit": st.fixed_dictionaries({"device": st.sampled_from(DEVICES), "to": st.integers(0, 12)}),
    "coil.aim": st.fixed_dictionaries({"target": st.integers(1, 9000)}),
    "void": st.fixed_dictionaries({"event": st.integers(0, 100)}),
    "odd.kind": st.just({"x": 1}),
}


@st.composite
def books(draw: st.DrawFn) -> list[Event]:
    """A few dozen events of one coil by three devices, each with its own numbers; some numbers are lost."""
    made: list[Event] = []
    numbers = dict.fromkeys(DEVICES, 0)
    for number in range(1, draw(st.integers(2, 40)) + 1):
        device = draw(st.sampled_from(DEVICES))
        numbers[device] += draw(st.sampled_from([1, 1, 1, 2]))
        kind = draw(st.sampled_from(sorted(BODIES)))
        body = draw(BODIES[kind])
        if kind == "void":
            body = {"event": f"{body['event'] % number + 1:032x}"}
        lamport = draw(st.integers(1, 30))  # ties happen: the id decides
        made.append(event(number, kind, body, device=device, n=numbers[device], lamport=lamport))
    return made


def slowly(events: list[Event]) -> int:
    """The total by the words of contract 5, one sentence after the other."""
    every = {e.id: e for e in events}
    voids = [e for e in every.values() if e.kind == "void"]
    gone = {v.body["event"] for v in voids} - {v.id for v in voids}
    left = [e for i, e in every.items() if i not in gone]
    counts = sorted((e.lamport, e.id, e) for e in left if e.kind == "coil.count")
    base, covers = (counts[-1][2].body["turns"], counts[-1][2].body["covers"]) if counts else (0, {})
    takes = sorted((e.lamport, e.id, e) for e in left if e.kind == "counter.take")
    firsts = sorted((e.lamport, e.id, e) for e in left if e.kind == "coil.turns")
    holder = takes[-1][2].body["device"] if takes else (firsts[0][2].device if firsts else None)
    total = base
    for e in left:
        if e.kind != "coil.turns" or not e.n > covers.get(e.device, 0):
            continue
        limit = takes[-1][2].body["covers"].get(e.device, 0) if takes else 0
        for a in left:
            if a.kind == "counter.admit" and a.body["device"] == e.device and a.body["to"] > limit:
                limit = a.body["to"]
        if e.device == holder or e.n <= limit:
            total += e.body["turns"]
    return int(total)


@settings(max_examples=300, deadline=None)
@given(books(), st.randoms(use_true_random=False))
def test_any_order_and_any_duplication_give_the_same_state(events: list[Event], chance: random.Random) -> None:
    mixed = events + [chance.choice(events) for _ in range(len(events))]
    chance.shuffle(mixed)
    assert fold_coil(mixed) == fold_coil(events)


@settings(max_examples=300, deadline=None)
@given(books())
def test_the_total_is_what_the_contracts_words_say(events: list[Event]) -> None:
    assert fold_coil(events).turns == slowly(events)


@settings(max_examples=100, deadline=None)
@given(books(), st.integers(0, 40))
def test_events_that_come_in_two_halves_give_what_they_give_together(events: list[Event], cut: int) -> None:
    assert fold_coil([*events[cut:], *events[:cut]]) == fold_coil(events)


def state(*events: Event) -> CoilState:
    return fold_coil(events)


def test_a_count_is_the_total_with_what_it_covers_and_later_turns_are_added() -> None:
    count = event(4, "coil.count", {"turns": 1000, "covers": {"phone": 3}}, device="here", n=1)
    assert state(turns(1, 5), turns(2, 5), turns(3, 5), count).turns == 1000
    assert state(turns(1, 5), turns(2, 5), turns(3, 5), count, turns(5, 7, n=4)).turns == 1007


def test_a_press_that_was_on_its_way_when_the_count_was_made_is_added_when_it_comes() -> None:
    count = event(9, "coil.count", {"turns": 1000, "covers": {"phone": 2}}, device="here", n=1)
    late = turns(3, 1, lamport=3)
    assert state(turns(1), turns(2), count).turns == 1000
    assert state(turns(1), turns(2), count, late).turns == 1001, "older by lamport, but not covered"


def test_a_voided_event_does_not_count_and_a_void_cannot_be_voided() -> None:
    void = event(3, "void", {"event": f"{2:032x}"})
    again = event(4, "void", {"event": void.id})
    assert state(turns(1), turns(2, 40), void).turns == 1
    assert state(turns(1), turns(2, 40), void, again).turns == 1
    assert state(void, turns(1)).turns == 1, "the void came before what it voids"


def test_the_first_device_to_count_holds_the_counter_and_anothers_turns_stand_apart() -> None:
    got = state(turns(1, 10), turns(2, 3, device="tablet", n=1))
    assert (got.holder, got.turns, got.apart) == ("phone", 10, 3)


def test_turns_of_another_device_count_when_a_person_admits_them() -> None:
    admit = event(4, "counter.admit", {"device": "tablet", "to": 1}, device="here", n=1)
    got = state(turns(1, 10), turns(2, 3, device="tablet", n=1), turns(3, 4, device="tablet", n=2), admit)
    assert (got.turns, got.apart) == (13, 4)


def test_who_takes_the_counter_over_keeps_what_was_counted() -> None:
    take = event(3, "counter.take", {"device": "tablet", "covers": {"phone": 2}}, device="tablet", n=1)
    got = state(turns(1, 10), turns(2, 10), take, turns(4, 5, device="tablet", n=2), turns(5, 99, n=3))
    assert (got.holder, got.turns, got.apart) == ("tablet", 25, 99)


def test_gaps_are_told_device_by_device() -> None:
    got = state(turns(1), turns(4), turns(7, device="tablet", n=2))
    assert {d.device: d.waiting for d in got.devices} == {"phone": (2, 3), "tablet": (1,)}


def test_a_voided_press_leaves_no_gap() -> None:
    got = state(turns(1), turns(2), turns(3), event(4, "void", {"event": f"{2:032x}"}))
    assert got.devices[0].waiting == ()


def test_a_negative_total_is_kept_and_asked_about() -> None:
    got = state(turns(1, 3), turns(2, -5))
    assert got.turns == -2
    assert got.negative


def test_what_is_noted_carries_the_total_as_it_stood_then() -> None:
    snag = event(3, "coil.snag", {})
    got = state(turns(1, 100), turns(2, 50), snag, turns(4, 500))
    assert got.snags[0].turns == 150
    assert got.turns == 650


def test_in_all_else_the_last_word_counts() -> None:
    begin = event(1, "coil.begin", dict(BEGIN))
    aims = [event(2, "coil.aim", {"target": 7000}, lamport=9), event(3, "coil.aim", {"target": 6000}, lamport=5)]
    end = event(4, "coil.end", {"state": "wound"}, lamport=10)
    got = state(begin, *aims, end)
    assert (got.target, got.ended, got.begun) == (7000, "wound", BEGIN)


def test_unknown_kinds_are_kept_and_shown() -> None:
    got = state(turns(1), event(2, "odd.kind", {"x": [1, 2]}))
    assert [(n.kind, dict(n.body)) for n in got.unknown] == [("odd.kind", {"x": [1, 2]})]
    assert got.turns == 1


def test_other_coils_are_passed_over() -> None:
    assert fold_coil([turns(1, 5), turns(2, 9, coil="other")], "c").turns == 5


def test_a_spool_folds_as_a_coil_does() -> None:
    begun = event(1, "spool.begin", {"wire": "42 AWG", "mass": 0.5}, coil="", spool="s")
    weighed = event(2, "spool.weigh", {"mass": 0.45}, coil="", spool="s")
    sample = event(3, "spool.sample", {"metres": 10.0, "ohm": 54.0}, coil="", spool="s")
    got = fold_spool([sample, weighed, begun, weighed])
    assert got.begun == {"wire": "42 AWG", "mass": 0.5}
    assert [dict(w.body) for w in got.weighings] == [{"mass": 0.45}]
    assert [dict(w.body) for w in got.samples] == [{"metres": 10.0, "ohm": 54.0}]
    assert (
        fold_spool([begun, weighed, sample, event(4, "void", {"event": weighed.id}, coil="", spool="s")]).weighings
        == ()
    )


def test_received_times_play_no_part() -> None:
    early, late = turns(1), replace(turns(2), at="1999-01-01T00:00:00Z")
    assert state(early, late).turns == state(late, early).turns == 2


@pytest.mark.parametrize("many", [3000])
def test_thousands_of_presses_are_folded_with_all_that_was_noted(many: int) -> None:
    events: list[Any] = [turns(i) for i in range(1, many + 1)]
    events += [event(many + i, "coil.check", {"end": 0.01}, lamport=200 * i, n=many + i) for i in range(1, 13)]
    got = fold_coil(events)
    assert got.turns == many
    assert [c.turns for c in got.checks] == [200 * i for i in range(1, 13)]
