"""What is refused, and in which words: what must hold, what came, the part or node, and a way out if there is one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from lodestring.errors import DomainError
from lodestring.physics.network import prepare
from lodestring.physics.network_parts import (
    Branches,
    Capacitor,
    Contact,
    Control,
    Harness,
    Inductor,
    OnePort,
    Part,
    Position,
    Resistor,
)
from lodestring.physics.thermal_noise import noise_density, thermal_noise

F = np.array([100.0, 1000.0])
Z = np.array([[6e3 + 2j * np.pi * F * 2.4]])


def coil(name: str, a: str, b: str) -> Branches:
    return Branches((name,), ((a, b),), Z, np.array([6e3]))


BASE = Harness(
    (
        coil("bridge", "b", "ground"),
        coil("neck", "n", "ground"),
        Control("volume", "ground", "jack", "common", 500e3),
    ),
    "jack",
    load=(Resistor("amplifier", "jack", "ground", 1e6),),
    positions=(Position("one", (("b", "common"),)), Position("two", (("n", "common"),))),
)


def plus(*parts: Part) -> Callable[[], object]:
    return lambda: prepare(replace(BASE, parts=(*BASE.parts, *parts)), F)


def also(*closed: Contact) -> Callable[[], object]:
    return lambda: prepare(replace(BASE, positions=(*BASE.positions, Position("three", closed))), F)


def solved(**settings: float | list[float]) -> Callable[[], object]:
    return lambda: prepare(BASE, F).solve("one", settings)


def pairs(z: list[list[complex]]) -> Callable[[], object]:
    z_f = np.repeat(np.array(z, complex)[..., None], 2, axis=2)
    return lambda: prepare(
        Harness((Branches(("front", "rear"), (("jack", "m"), ("m", "ground")), z_f, np.array([1.0, 1.0])),), "jack"), F
    )


# id: what is done, what the sentence says
REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "resistor of 0": (
        lambda: Resistor("r", "a", "b", 0.0),
        r"resistor r has a resistance above 0 ohm; came 0 ohm; try",
    ),
    "resistor below 0": (lambda: Resistor("r", "a", "b", -5.0), r"resistor r .* came -5 ohm"),
    "capacitor of 0": (
        lambda: Capacitor("tone", "a", "b", 0.0),
        r"capacitor tone has a capacitance above 0 F; came 0 F",
    ),
    "capacitor without value": (lambda: Capacitor("tone", "a", "b", math.nan), r"capacitor tone .* came nan F"),
    "inductor below 0": (lambda: Inductor("l", "a", "b", -1.0), r"inductor l has an inductance above 0 H"),
    "inductor with gain": (lambda: Inductor("l", "a", "b", 1.0, -1.0), r"inductor l has a series resistance of 0"),
    "control of 0": (
        lambda: Control("volume", "a", "w", "b", 0.0),
        r"control volume has a track above 0 ohm; came 0 ohm; try a wire",
    ),
    "control without end": (lambda: Control("v", "a", "w", "b", math.inf), r"control v .* came inf ohm"),
    "both ends on one node": (lambda: Resistor("r", "a", "a", 1.0), r"ends of r lie on two nodes; came a twice"),
    "no name": (lambda: Resistor("", "a", "b", 1.0), r"a part and its nodes have names"),
    "one-port of 0": (
        lambda: OnePort("z", "a", "b", np.array([0j, 1]), 1.0),
        r"z has one impedance for each .* none .* 0",
    ),
    "one-port with gain": (lambda: OnePort("z", "a", "b", np.array([-1 + 0j, 1]), 1.0), r"came .* resistance -1 ohm"),
    "one-port without rest": (
        lambda: OnePort("z", "a", "b", np.array([1 + 0j]), math.nan),
        r"z .*; try infinity where",
    ),
    "coil of another shape": (lambda: Branches(("x",), (("a", "b"),), Z[0], np.array([1.0])), r"1 coils have 1 pairs"),
    "coil below 0 ohm": (lambda: Branches(("x",), (("a", "b"),), -Z, np.array([1.0])), r"coils give off no power .*x"),
    "coil not finite": (lambda: Branches(("x",), (("a", "b"),), Z * np.nan, np.array([1.0])), r"of x are finite"),
    "coil's meter below 0": (lambda: Branches(("x",), (("a", "b"),), Z, np.array([-1.0])), r"0 ohm or more \(x\)"),
    "coupling of one way": (pairs([[9, 1j], [0, 9]]), r"one coil induces in another .*\(front, rear\)"),
    "coupling that gains": (pairs([[1, 2], [2, 1]]), r"coils give off no power .*front, rear.*-1 ohm"),
    "coupling without leakage": (pairs([[9j, 9j], [9j, 9j]]), r"not coupled without any leakage; came front, rear"),
    "coil without impedance": (pairs([[0, 0], [0, 0]]), r"coils have an impedance, .* came front, rear"),
    "part twice": (plus(coil("neck", "n", "ground")), r"each part has a name of its own; came neck twice"),
    "node of one part": (
        plus(Capacitor("bleed", "b", "nowhere", 1e-9)),
        r"every node joins .* came nowhere, which only a part \(bleed\) touches; try",
    ),
    "wiper of nothing": (
        plus(Control("tone", "b", "loose", "ground", 1e5)),
        r"came loose, which only a part \(tone\) touches",
    ),
    "no way to ground": (
        plus(Resistor("r", "p", "q", 1.0), Resistor("s", "p", "q", 1.0)),
        r"every part has a way to ground .* came r, s between p, q, with none; try joining",
    ),
    "contact to an unknown node": (
        also(("b", "comon")),
        r"\(position three\); came comon, which no part touches; try one",
    ),
    "contact to itself": (also(("b", "b")), r"a contact joins two nodes \(position three\); came b twice"),
    "output on ground": (
        also(("b", "jack"), ("b", "ground")),
        r"no position ties the output \(jack\) to ground \(ground\); came position three",
    ),
    "output on nothing": (
        lambda: prepare(
            Harness(
                (
                    coil("bridge", "b", "ground"),
                    coil("neck", "b", "ground"),
                    Resistor("r", "o", "p", 1.0),
                    Resistor("s", "o", "p", 1.0),
                ),
                "o",
                positions=(Position("on", (("b", "o"),)), Position("off")),
            ),
            F,
        ),
        r"the output \(o\) has a way to ground in every position; came position off, in which it has none; try a load",
    ),
    "output unknown": (lambda: prepare(replace(BASE, output="jak"), F), r"a part touches the output; came jak"),
    "ground unknown": (lambda: prepare(replace(BASE, ground="0"), F), r"a part touches the ground; came 0"),
    "wire to nowhere": (
        lambda: prepare(replace(BASE, wires=(("b", "x"),)), F),
        r"came x, which only a wire touches",
    ),
    "position twice": (lambda: prepare(replace(BASE, positions=BASE.positions * 2), F), r"each position .* one twice"),
    "no position": (lambda: prepare(replace(BASE, positions=()), F), r"at least one position"),
    "impedance of another grid": (
        lambda: prepare(BASE, np.array([1.0, 2.0, 3.0])),
        r"impedance of bridge is given at the circuit's 3 frequencies; came 2 values",
    ),
    "frequency below 0": (lambda: prepare(BASE, np.array([-1.0, 2.0])), r"frequencies of 0 Hz or more"),
    "no frequency": (lambda: prepare(BASE, np.array([])), r"one or more frequencies"),
    "position unknown": (lambda: prepare(BASE, F).solve("three"), r"a position .* came three; try one of one, two"),
    "control unknown": (solved(tone=0.5), r"a control of the circuit; came tone; try one of volume"),
    "travel beyond": (solved(volume=1.5), r"between 0 and 1 \(control volume\); came 1.5; try 1 for fully up"),
    "travel not a number": (solved(volume=[0.5, math.nan]), r"\(control volume\); came nan"),
    "no setting": (solved(volume=[]), r"all controls are given for the same settings; came 0 of them"),
    "rest behind a capacitor": (
        lambda: prepare(
            Harness(
                (
                    Inductor("l", "x", "ground", 1.0),
                    Capacitor("c", "x", "jack", 1e-9),
                    Capacitor("d", "x", "jack", 1e-9),
                ),
                "jack",
            ),
            np.zeros(1),
        ).solve("only"),
        r"a way from the output \(jack\) to ground at 0 Hz; came position only",
    ),
    "rest of a coil without resistance": (
        lambda: prepare(
            Harness((Branches(("x",), (("jack", "ground"),), Z[..., :1], np.zeros(1)),), "jack"), np.zeros(1)
        ).solve("only"),
        r"a coil has a resistance at 0 Hz; came 0 ohm for x",
    ),
    "another number of EMFs": (
        lambda: prepare(BASE, F).solve("one").driven([1.0]),
        r"one EMF for each of bridge, neck",
    ),
    "noise outside the grid": (lambda: thermal_noise(F, np.ones(2), (20.0, 500.0)), r"cover the band .* 20 to 500 Hz"),
    "noise of one point": (lambda: thermal_noise(F[:1], np.ones(1), (100.0, 100.0)), r"two or more rising"),
    "noise of a source": (lambda: noise_density(-1.0), r"a resistance of 0 or more; came -1 ohm"),
    "noise at no temperature": (lambda: noise_density(1.0, 0.0), r"above 0 K; came 0 K"),
}


@pytest.mark.parametrize("case", REFUSED.values(), ids=REFUSED.keys())
def test_a_circuit_that_makes_no_sense_gets_a_sentence(case: tuple[Callable[[], object], str]) -> None:
    act, words = case
    with pytest.raises(DomainError, match=words):
        act()


def test_a_resonance_without_any_loss_gets_a_sentence_and_no_infinity() -> None:
    # Two lossless parts between the output and ground at the very frequency where they cancel: 1 H and 1 F at 1/(2 pi).
    f = np.array([0.5 / np.pi, 1.0])
    parts = (Inductor("l", "jack", "ground", 1.0), Capacitor("c", "jack", "ground", 1.0))
    with pytest.raises(DomainError, match=r"damps every resonance; came none at 0\.159155 Hz in position only; try"):
        prepare(Harness(parts, "jack"), f).solve("only")


def test_what_only_one_position_leaves_hanging_is_no_mistake() -> None:
    network = prepare(BASE, F)
    assert np.all(np.isfinite(network.solve("one", {"volume": [0.0, 0.5, 1.0]}).transfer))
    assert np.all(network.solve("one").transfer[1] == 0.0)
