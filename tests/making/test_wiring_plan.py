"""The wiring plan is the circuit that was assessed, and its joints, made one by one, are that circuit again."""

from __future__ import annotations

from collections import Counter
from itertools import combinations

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from wired_sets import HARNESSES, changed, harnessed, several

from lodestring.assess import circuit, circuit_net
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.model import Inputs, Model
from lodestring.assess.report import Assessment
from lodestring.making.wiring_joints import STAGES, end_words
from lodestring.making.wiring_plan import wiring_plan
from lodestring.making.wiring_records import WiringPlan
from lodestring.physics.network import prepare
from lodestring.physics.network_parts import Control, Harness, Position

Pairs = list[tuple[str, str]]
COLOURS = ("black", "white", "red", "green", "blue", "yellow", "grey", "gray", "brown", "orange", "violet", "bare")


def plan_of(found: Assessment) -> WiringPlan:
    plan = wiring_plan(found.model)
    assert plan is not None
    return plan


def partition(nodes: list[str], pairs: Pairs) -> set[frozenset[str]]:
    """Groups of nodes that pairs join; scipy does it."""
    every = sorted({*nodes, *(n for pair in pairs for n in pair)})
    number = {n: i for i, n in enumerate(every)}
    rows, columns = [number[a] for a, _ in pairs], [number[b] for _, b in pairs]
    graph = coo_array((np.ones(len(pairs)), (rows, columns)), shape=(len(every), len(every)))
    labels = connected_components(graph, directed=False)[1]
    groups: dict[int, set[str]] = {}
    for node in nodes:
        groups.setdefault(int(labels[number[node]]), set()).add(node)
    return {frozenset(g) for g in groups.values()}


def closed_in(plan: WiringPlan, number: int) -> Pairs:
    return [*plan.wires, *((c.a, c.b) for c in plan.contacts if number in c.positions)]


@pytest.mark.parametrize("name", HARNESSES)
def test_in_each_position_wires_and_contacts_join_what_the_circuit_joins(name: str) -> None:
    """Of what plays there: a coil that is off may hang on its own control, which the circuit leaves out."""
    model = harnessed(name).model
    plan = plan_of(harnessed(name))
    given = {p.name: list(p.closed) for p in circuit_net.wiring(model).positions}
    assert [p.name for p in plan.positions] == list(circuit_net.position_names(model))
    for position in plan.positions:
        on = circuit.coils_on(model, position.name)
        off = {e.node for p in plan.parts if p.kind in ("coil", "kept pickup") and p.name not in on for e in p.ends}
        nodes = sorted({e.node for p in plan.parts for e in p.ends} - off)
        assert partition(nodes, closed_in(plan, position.number)) == partition(nodes, given[position.name])


@pytest.mark.parametrize("name", [n for n in HARNESSES if n != "own netlist"])
def test_wires_that_stay_joined_change_nothing_at_the_jack(name: str) -> None:
    """The circuit solved with the plan's wires and contacts gives the response of the circuit as it was assessed."""
    model = harnessed(name).model
    plan = plan_of(harnessed(name))
    base = circuit.harness(model)
    positions = tuple(Position(p.name, tuple(closed_in(plan, p.number))) for p in plan.positions)
    wired = prepare(Harness(base.parts, base.output, base.ground, base.load, positions=positions), FREQUENCIES)
    names = wired.harness.branches
    for position in plan.positions:
        on = [names.index(n) for n in circuit.coils_on(model, position.name)]
        ours = wired.solve(position.name, circuit_net.settings(model, "", 1.0)).transfer[on, 0]
        theirs = circuit.response(model, position.name).transfer[on, 0]
        # two solutions of one system of at most some 20 unknowns; an off coil of a pair may carry a little by coupling
        assert np.max(np.abs(ours - theirs)) < 1e-9 * np.max(np.abs(theirs))


@pytest.mark.parametrize("name", HARNESSES)
def test_the_joints_soldered_one_by_one_are_the_wires_and_none_is_made_twice(name: str) -> None:
    plan = plan_of(harnessed(name))
    point = {end_words(p, e.word): f"{p.name}/{i}" for p in plan.parts for i, e in enumerate(p.ends)}
    point |= {f"terminal {t.letter} of the selector": f"selector/{t.letter}" for t in plan.terminals}
    node = {f"{p.name}/{i}": e.node for p in plan.parts for i, e in enumerate(p.ends)}
    node |= {f"selector/{t.letter}": t.node for t in plan.terminals}
    made: Pairs = []
    for joint in plan.joints:
        if joint.what in point:
            made.append((point[joint.what], "ground/" if joint.to == "ground" else point[joint.to]))
    node["ground/"] = "ground"
    assert len({frozenset(pair) for pair in made}) == len(made)
    soldered = partition(list(node), made)
    # each net in one piece, made with the fewest joints: a tree has one joint less than points
    nets = plan.nets()
    wanted: dict[str, set[str]] = {}
    for end, at in node.items():
        wanted.setdefault(nets[at], set()).add(end)
    assert soldered == {frozenset(group) for group in wanted.values()}
    assert len(made) == len(node) - len(wanted)


@pytest.mark.parametrize("name", HARNESSES)
def test_joints_come_stage_by_stage_and_the_ground_wires_of_coils_before_their_hot_ones(name: str) -> None:
    joints = plan_of(harnessed(name)).joints
    order = [STAGES.index(j.stage) for j in joints]
    assert order == sorted(order)
    pickups = [j.to == "ground" for j in joints if j.stage == "Pickups"]
    assert pickups == sorted(pickups, reverse=True)


@pytest.mark.parametrize("name", HARNESSES)
def test_no_text_of_the_plan_names_a_colour(name: str) -> None:
    plan = plan_of(harnessed(name))
    words = " ".join([*(f"{j.what} {j.to}" for j in plan.joints), *(p.title for p in plan.parts), *plan.notes]).split()
    assert not set(words) & set(COLOURS)
    assert "ground" in words


@pytest.mark.parametrize(
    ("name", "contacts", "joined"),
    [
        ("two volumes, one tone", 2, [(("A", "C"),), (("A", "B", "C"),), (("B", "C"),)]),
        ("one volume, one tone", 0, [()]),
        ("blend, one tone", 0, [()]),
        # front start to rear finish; both coils to hot and ground; front alone. Front finish and rear start stay wired.
        ("pair: series, parallel, split", 3, [(("A", "B"),), (("A", "D"), ("B", "C")), (("A", "D"),)]),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_what_the_selector_must_do_reckoned_by_hand(
    name: str, contacts: int, joined: list[tuple[tuple[str, ...], ...]]
) -> None:
    plan = plan_of(harnessed(name))
    assert len(plan.contacts) == contacts
    assert [p.joined for p in plan.positions] == joined


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6])
def test_every_pair_of_coils_is_checked_once(count: int) -> None:
    found = harnessed("one volume, one tone") if count == 1 else several(count, 'circuit = "one volume"')
    plan = plan_of(found)
    coils = [p.title for p in plan.parts if p.kind == "coil"]
    assert len(coils) == count
    assert Counter(frozenset((p.one, p.other)) for p in plan.phase.pairs) == Counter(
        map(frozenset, combinations(coils, 2))
    )


@pytest.mark.parametrize(
    "changes", [(), (('up = "north"', 'up = "south"'),)], ids=["as drawn", "neck rods turned over"]
)
def test_kicks_are_alike_just_where_the_assessed_position_is_in_phase(changes: tuple[tuple[str, str], ...]) -> None:
    """The phase fact comes from the solved circuit, the kick from the signs of winding and magnet."""
    found = changed("heron", 'circuit = "two volumes, one tone"', *changes)
    (pair,) = plan_of(found).phase.pairs
    assert (pair.kicks[0] == pair.kicks[1]) == (found.facts["position.bridge-neck.phase"].value == "in")
    assert pair.kicks == tuple(found.facts[f"pickup.{p}.coil.main.kick"].value for p in ("bridge", "neck"))
    assert pair.agrees == (not changes)
    assert pair.together == ("bridge-neck",)


def test_a_position_that_swaps_two_wires_is_told_beside_the_pair() -> None:
    (pair,) = plan_of(harnessed("selector of five")).phase.pairs
    assert pair.swapped == ("thin",)
    assert pair.together == ("both", "row", "thin")


COVER = '[pickup.bridge.cover]\nmaterial = "brass"\nthickness = "0.5 mm"\ngrounded_to = "{}"\n\n[intent]'


@pytest.mark.parametrize(
    ("to", "joint"),
    [("ground", "ground"), ("main.start", "start wire of the bridge coil"), ("nothing", "")],
    ids=["ground", "a coil's end", "nothing"],
)
def test_a_cover_goes_where_the_set_says(to: str, joint: str) -> None:
    plan = plan_of(changed("heron", 'circuit = "one volume"', ("[intent]", COVER.format(to))))
    found = [j.to for j in plan.joints if j.what == "cover of the bridge pickup"]
    assert found == ([joint] if joint else [])
    assert any("cover of the bridge pickup" in n for n in plan.notes) == (to == "nothing")


@pytest.mark.parametrize(("strings", "wired"), [("grounded", True), ("not grounded", False)], ids=["grounded", "not"])
def test_the_strings_are_grounded_unless_the_set_says_not(strings: str, wired: bool) -> None:
    plan = plan_of(changed("heron", f'circuit = "one volume"\nstrings = "{strings}"'))
    assert any(j.what.startswith("string ground") for j in plan.joints) == wired
    assert any("strings are left without" in n for n in plan.notes) != wired


def test_a_set_without_a_harness_has_no_wiring_plan() -> None:
    inputs = harnessed("one volume").model.inputs
    bare = inputs.design.model_copy(update={"harness": None})
    assert wiring_plan(Model(Inputs(bare, inputs.workshop))) is None


@pytest.mark.parametrize("name", HARNESSES)
def test_a_control_stands_at_its_top_when_fully_up(name: str) -> None:
    """Fully up is travel 1; where the wiper then stands, the physics says. A ready volume is grounded at its bottom."""
    model = harnessed(name).model
    tracks = {p.name: p for p in circuit_net.wiring(model).parts if isinstance(p, Control)}
    found = {p.name: {e.word: e.node for e in p.ends} for p in plan_of(harnessed(name)).parts if p.kind == "control"}
    assert set(found) == set(tracks)
    for control, ends in found.items():
        share = float(tracks[control].taper.share(1.0))  # of the track from a; ends are clamped a little short
        assert ends["top"] == (tracks[control].b if share > 0.99 else tracks[control].a)
        if control.endswith("volume") and name != "own netlist":
            assert (ends["top"] == "ground", ends["bottom"]) == (False, "ground")
