"""The lines of a netlist, and the guard before them: a netlist is a program, and a set file may come from anybody.

Names of a set file become letters, digits and underscores behind a letter and a number of ours; numbers are printed by
us; comments are the sentences below with numbers put in. Every line is compared with the form it must have before it
is kept, so that no slip elsewhere lets a line break or a dot command through.
"""

from __future__ import annotations

import math
import re
from collections import Counter

from lodestring.errors import DomainError
from lodestring.physics.network_mesh import Groups

OUTPUT = "out"
LONGEST = 40
"""Letters of a name that are carried over; the number before them tells two alike apart."""
TITLE = "* Lodestring: pickups and harness in one position of the selector"
NUMBER = r"-?[0-9]+(?:\.[0-9]+)?(?:e[+-][0-9]+)?"
NAME = r"[A-Za-z0-9_]+"
SHARE = r"share_[0-9]+"
FORMS = (
    rf"[RLC][0-9]+_{NAME} {NAME} {NAME} {NUMBER}",
    rf"R[0-9]+_{NAME} {NAME} {NAME} \{{{NUMBER}\*(?:{SHARE}|\(1-{SHARE}\))\}}",
    rf"V[0-9]+_{NAME} {NAME} {NAME} DC 0 AC {NUMBER} {NUMBER}",
    rf"K[0-9]+_{NAME} L[0-9]+_{NAME} L[0-9]+_{NAME} {NUMBER}",
    rf"\.param {SHARE}={NUMBER}",
)
FORM = re.compile("|".join(FORMS))
SENTENCES = {
    "position": "* Position {} of {} on the selector. SI units throughout; node 0 is ground, node out the jack.",
    "share": "* share_{}: of the track, from its first end to the wiper. At travels of 0 to 1 in tenths:",
    "tenths": "* {} {} {} {} {} {} {} {} {} {} {}",
    "loops": "* A loop, a coil and a resistor to ground, stands for eddy currents; it is coupled to both coils.",
    "tie": "* A tie gives what a position leaves open a way to ground; its current is too small to matter.",
    "fit": "* Coils are fitted from {} Hz to {} Hz: inductances to {} of their size, EMFs to {} of the greatest.",
    "within": "* Outside these frequencies the fit means nothing.",
    "strings": "* V sources have the strings' pattern: 1 V is the EMF of a coil with the set's mean number of turns.",
    "phases": "* Pickups are apart by equal parts of half a turn: along a string their partials meet in all phases.",
    "eddy": "* V sources in sections and loops take from the coils' EMF what eddy currents in the pole pieces take.",
    "hum": "* V{} for hum, a uniform field of 1 tesla at 1 radian per second: AC {} {}",
    "instead": "* For hum put these in place of the strings' values, and AC 0 0 in sections and loops.",
}
COMMANDS = (".ac dec 100 20 20k", ".print ac vm(out) vp(out)", ".end")


def number(value: float) -> str:
    """A number as every circuit program reads it, true to 1e-14. Raises DomainError for one that is not finite."""
    if not math.isfinite(value):
        raise DomainError("a netlist holds finite numbers", f"{value}", "a check of the set file's values")
    return f"{float(value):.15g}"


def safe(name: str) -> str:
    """The letters and digits of a name, an underscore for each other character; never empty."""
    return re.sub(r"[^A-Za-z0-9_]", "_", name)[:LONGEST] or "_"


class Deck:
    """Lines of one netlist. Nodes are named by the group of nodes that contacts and wires make one."""

    def __init__(self, groups: Groups, ground: str, output: str) -> None:
        self._groups = groups
        self._nodes = {groups(ground): "0", groups(output): OUTPUT}
        self._count: Counter[str] = Counter()
        self.lines: list[str] = [TITLE]
        self.coils: list[int] = []
        """The numbers of the sources that stand in coils."""

    def node(self, name: str) -> str:
        """The netlist's name of a node of the circuit."""
        group = self._groups(name)
        if group not in self._nodes:
            self._nodes[group] = f"n{len(self._nodes) - 1}_{safe(group)}"
        return self._nodes[group]

    def inner(self) -> str:
        """A fresh node inside a part."""
        self._count["m"] += 1
        return f"m{self._count['m']}"

    def part(self, letter: str, name: str, a: str, b: str, value: float | str) -> str:
        """A resistor, coil or capacitor between netlist nodes; its name. Where both are one nothing is written: ""."""
        if a == b:
            return ""
        called = self._called(letter, name)
        self._keep(f"{called} {a} {b} {value if isinstance(value, str) else number(value)}")
        return called

    def source(self, name: str, a: str, b: str, volts: float, angle: float) -> None:
        """A source that lifts a over b by `volts` at `angle` [degrees]."""
        turned = (angle + 180.0 if volts < 0.0 else angle) + 0.0  # no -0
        self._keep(f"{self._called('V', name)} {a} {b} DC 0 AC {number(abs(volts))} {number(turned)}")

    def coil(self, name: str, a: str, b: str, volts: float, angle: float) -> None:
        """The source of a coil."""
        self.source(name, a, b, volts, angle)
        self.coils.append(self._count["V"])

    def coupling(self, name: str, one: str, other: str, share: float) -> None:
        """Couple two coils of the netlist."""
        self._keep(f"{self._called('K', name)} {one} {other} {number(share)}")

    def share(self, value: float) -> str:
        """A parameter for a control's share; its name."""
        self._count["share"] += 1
        name = f"share_{self._count['share']}"
        self._keep(f".param {name}={number(value)}")
        return name

    def say(self, which: str, *numbers: float) -> None:
        """One of our own sentences, with numbers put in."""
        self.lines.append(SENTENCES[which].format(*(f"{float(n):.6g}" for n in numbers)))

    def text(self) -> str:
        """The whole netlist."""
        return "\n".join([*self.lines, *COMMANDS]) + "\n"

    def _called(self, letter: str, name: str) -> str:
        self._count[letter] += 1
        return f"{letter}{self._count[letter]}_{safe(name)}"

    def _keep(self, line: str) -> None:
        if not FORM.fullmatch(line):
            raise DomainError("a line of a netlist has the form of its part", repr(line), "telling us: a fault of ours")
        self.lines.append(line)
