"""A netlist is a program: nothing a set file says may become a line, a command or a comment of it."""

from __future__ import annotations

import re
import string
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodestring.assess.model import Inputs, Model
from lodestring.design.read import read_set
from lodestring.errors import DomainError
from lodestring.folder.examples import example_text
from lodestring.making.spice_coils import Drive
from lodestring.making.spice_deck import number, safe
from lodestring.making.spice_netlist import netlist, spice_netlist
from lodestring.physics.network_parts import (
    Branches,
    Capacitor,
    Control,
    Harness,
    Inductor,
    OnePort,
    Position,
    Resistor,
)

F = np.geomspace(20.0, 50e3, 30)
EVIL = "x\n.control\nshell echo taken > taken\nquit\n.endc\n"
ALLOWED = set(string.ascii_letters + string.digits + "_ .,:;*+-={}()'\n")

# Written anew from the netlist languages' common core, not from the code under test.
WORD, SIGNED = r"[A-Za-z0-9_]+", r"-?\d+(\.\d+)?(e[+-]\d+)?"
LINE = re.compile(
    rf"[RCL]{WORD} {WORD} {WORD} {SIGNED}"
    rf"|R{WORD} {WORD} {WORD} \{{{SIGNED}\*(share_\d+|\(1-share_\d+\))\}}"
    rf"|K{WORD} L{WORD} L{WORD} {SIGNED}"
    rf"|V{WORD} {WORD} {WORD} DC 0 AC {SIGNED} {SIGNED}"
    rf"|\.param share_\d+={SIGNED}"
    r"|\.ac dec 100 20 20k|\.print ac vm\(out\) vp\(out\)|\.end",
    re.ASCII,
)


@cache
def comments() -> set[str]:
    """Every comment of a netlist with harmless names, its numbers taken out."""
    text = spice_netlist(Model(Inputs(read_set(example_text("plover").encode()).record)), "split")
    return {re.sub(SIGNED, "#", line) for line in text.splitlines() if line.startswith("*")}


def coil(names: tuple[str, ...], ends: tuple[tuple[str, str], ...]) -> Branches:
    """Coils of 2 H, half of which is gone at high frequency, coupled by a third."""
    share = 1.0 + np.eye(len(names)) * 2.0
    henry = (1.0 + 1.0 / (1.0 + 2j * np.pi * F * 1e-5)) / 3.0
    resistance = np.full(len(names), 5e3)
    z = 2j * np.pi * F * henry * share[:, :, None] + np.diag(resistance)[:, :, None]
    return Branches(names, ends, z, resistance)


def written(called: list[str], at: list[str], position: str = "p", pair: bool = False) -> str:
    """The netlist of a circuit with every kind of part, under these names for nine parts and six nodes."""
    hot, low, other, wiper, tone, ground = at
    coils = coil(tuple(called[:2]), ((hot, low), (other, ground))) if pair else coil(
        (called[0],), ((hot, low),))  # fmt: skip
    parts = (
        coils,
        Capacitor(called[2], hot, low, 1e-10),
        Resistor(called[3], low, ground, 10.0),
        Inductor(called[4], other, ground, 0.1, 3.0),
        Control(called[5], ground, wiper, hot, 250e3),
        Control(called[6], wiper, tone, tone, 250e3),
        Capacitor(called[7], tone, ground, 22e-9),
        Resistor(called[8], wiper, other, 1e6),
    )
    circuit = Harness(parts, wiper, ground, positions=(Position(position, ((hot, other),)),))
    k = len(coils.names)
    drive = Drive(np.ones(k), np.full((k, len(F)), 1.0 - 0.1j), np.zeros(k), np.ones(k))
    return netlist(circuit, F, position, {called[5]: 0.5}, drive)


def check_form(text: str) -> None:
    assert set(text) <= ALLOWED, sorted(set(text) - ALLOWED)
    assert text.endswith("\n.end\n")
    for line in text.splitlines():
        if line.startswith("*"):
            assert re.sub(SIGNED, "#", line) in comments()
        else:
            assert LINE.fullmatch(line), line
    elements = [line.split()[0].lower() for line in text.splitlines() if line[0] not in "*."]
    assert len(elements) == len(set(elements))  # circuit programs do not tell capitals from small letters


def evil(k: int) -> str:
    return f"{EVIL}{k}"


@pytest.mark.parametrize("pair", [False, True], ids=["one coil", "two coils"])
def test_a_line_break_and_a_command_in_every_name_stay_a_name(pair: bool) -> None:
    text = written([evil(k) for k in range(9)], [evil(k) for k in range(10, 16)], EVIL, pair)
    check_form(text)
    assert ".control" not in text
    assert "shell " not in text


@pytest.mark.needs("ngspice")
def test_ngspice_runs_no_command_out_of_a_name(tmp_path: Path) -> None:
    (tmp_path / "bare.cir").write_text(f"* {EVIL}R1 a 0 1\n.end\n", encoding="ascii")  # it would, from a bare line
    (tmp_path / "ours.cir").write_text(
        written([evil(k) for k in range(9)], [evil(k) for k in range(10, 16)], EVIL), encoding="ascii"
    )
    for name, taken in (("ours", False), ("bare", True)):
        command = ["ngspice", "-b", f"{name}.cir"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, timeout=60, check=False)
        assert (tmp_path / "taken").exists() is taken, done.stderr


def test_a_title_and_names_of_pickups_give_no_line_of_their_own() -> None:
    text = example_text("heron").replace('title = "Heron"', f'title = """{EVIL}"""')
    record = read_set(text.encode()).record
    assert record.title == EVIL
    plain = spice_netlist(Model(Inputs(read_set(example_text("heron").encode()).record)), "bridge-neck")
    assert spice_netlist(Model(Inputs(record)), "bridge-neck") == plain
    # The reader refuses such names of pickups; past it they are harmless too. A dot, which parts pickup and coil, has
    # its turn in the circuits above.
    bad = record.model_copy(update={"pickup": {"bridge\nshell echo": record.pickup["bridge"],
                                               "neck\n+ quit": record.pickup["neck"]}})  # fmt: skip
    harness = bad.harness
    assert harness is not None
    model = Model(Inputs(bad.model_copy(update={"harness": harness.model_copy(update={"positions": None})})))
    found = spice_netlist(model, "bridge\nshell echo")
    check_form(found)
    assert "bridge_shell_echo" in found  # the name is there, cut down


NAMES = st.text(min_size=1, max_size=60)


@given(st.lists(NAMES, min_size=15, max_size=15, unique=True), NAMES, st.booleans())
def test_any_names_give_lines_of_the_one_form(names: list[str], position: str, pair: bool) -> None:
    text = written(names[:9], names[9:], position, pair)
    check_form(text)
    plain = written([f"a{k}" for k in range(9)], [f"b{k}" for k in range(6)], "p", pair)
    # as many nodes and lines as with plain names: no two names fall together
    assert [line[0] for line in text.splitlines()] == [line[0] for line in plain.splitlines()]
    assert nodes(text) == nodes(plain)


def nodes(text: str) -> list[list[int]]:
    """The nodes of each line by the order in which they first come up."""
    order: dict[str, int] = {"0": 0, "out": 1}
    rows = [line.split()[1:3] for line in text.splitlines() if line[0] in "RLCV"]
    return [[order.setdefault(node.lower(), len(order)) for node in row] for row in rows]


@pytest.mark.parametrize(
    ("one", "other"), [("a.b", "a-b"), ("a_b", "a.b"), ("Gnd", "GND"), ("0", "out"), ("é", "ü"), ("x" * 50, "x" * 51)]
)
def test_two_nodes_whose_letters_are_alike_stay_two(one: str, other: str) -> None:
    text = written([f"a{k}" for k in range(9)], [one, other, "third", "wiper", "tone", "ground"])
    plain = written([f"a{k}" for k in range(9)], ["hot", "low", "third", "wiper", "tone", "ground"])
    assert nodes(text) == nodes(plain)


@given(st.floats(min_value=-1e300, max_value=1e300))
def test_a_number_comes_back_to_fourteen_digits_in_plain_letters(value: float) -> None:
    assert re.fullmatch(SIGNED, number(value), re.ASCII)
    assert float(number(value)) == pytest.approx(value, rel=1e-14, abs=0.0)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_no_number_is_not_written(value: float) -> None:
    with pytest.raises(DomainError, match="finite"):
        number(value)


@given(st.text())
def test_a_safe_name_is_letters_digits_and_underscores(name: str) -> None:
    assert re.fullmatch("[A-Za-z0-9_]{1,40}", safe(name), re.ASCII)


def test_a_free_impedance_is_refused_in_words() -> None:
    port = OnePort("port", "out", "ground", np.full(len(F), 5.0 + 0j), 5.0)
    circuit = Harness((coil(("c",), (("out", "ground"),)), port), "out")
    drive = Drive(np.ones(1), np.ones((1, len(F)), complex), np.zeros(1), np.ones(1))
    with pytest.raises(DomainError, match="resistors, coils and capacitors"):
        netlist(circuit, F, "only", {}, drive)
    with pytest.raises(DomainError, match="one of only"):
        netlist(replace(circuit, parts=circuit.parts[:1]), F, "other", {}, drive)


def test_every_node_has_a_way_to_ground_for_direct_current() -> None:
    circuit = Harness(
        (
            coil(("on", "off"), (("out", "ground"), ("loose", "end"))),
            Capacitor("stray", "loose", "end", 1e-10),
            Capacitor("lead", "loose", "ground", 1e-10),
            Resistor("input", "out", "ground", 1e6),
        ),
        "out",
        positions=(Position("one"), Position("other", (("loose", "out"), ("end", "ground")))),
    )
    drive = Drive(np.ones(2), np.ones((2, len(F)), complex), np.zeros(2), np.ones(2))
    for position, ties in (("one", 1), ("other", 0)):
        text = netlist(circuit, F, position, {}, drive)
        assert text.count("_tie ") == ties
        ways = [line.split()[1:3] for line in text.splitlines() if line[0] in "RLV"]
        reached = {"0"}
        for _ in ways:
            reached |= {n for way in ways if reached & set(way) for n in way}
        every = {n for line in text.splitlines() if line[0] in "RLCV" for n in line.split()[1:3]}
        assert every == reached
