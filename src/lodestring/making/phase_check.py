"""The phase check with a meter: for every pair of coils, what each must show before it is soldered, and what to swap.

Common practice, no source; the sign of a kick comes from the assessment (senses.py gives its derivation).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from lodestring.assess import circuit, circuit_net, senses
from lodestring.assess.model import Model
from lodestring.making.wiring_parts import source_title
from lodestring.making.wiring_records import PhaseCheck, PhasePair, WiringPart

STEPS = (
    "Before the hot wire is soldered: meter on its lowest volts, red lead on the coil's hot wire, the other on its "
    "ground wire.",
    "Hold steel on a pole piece, wait until the reading rests, pull it off quickly, and note which way the reading "
    "jumps first.",
    "Do the same at every coil, then compare by pairs.",
)
CURE = (
    "One kicks the wrong way? Look at its pole pieces with the marked rod. Ends as drawn: swap its two wires. "
    "Ends reversed: recharge them; swapping wires would bring the hum back."
)
CURE_ALONE = "One kicks the wrong way? Swap its two wires."
NO_KICK = "Its pole pieces do not all have the same end up: compare pole by pole with the polarity map."
APART = "As drawn the two work against each other: see the blockers and warnings before soldering."


def phase_check(model: Model, parts: tuple[WiringPart, ...]) -> PhaseCheck:
    """Every pair of coils (kept pickups too) that are wired."""
    names = [p.name for p in parts if p.kind in ("coil", "kept pickup")]
    pairs = tuple(_pair(model, a, b) for a, b in combinations(names, 2))
    return PhaseCheck(STEPS if pairs else (), pairs)


def _pair(model: Model, one: str, other: str) -> PhasePair:
    kicks = (_kick(model, one), _kick(model, other))
    intent = model.inputs.design.intent
    apart = any(_covers(pair, one, other) for pair in intent.out_of_phase)
    same = one.partition(".")[0] == other.partition(".")[0]
    cancels = same or any(_covers(pair, one, other) for pair in intent.cancel_hum)
    positions = [p for p in circuit_net.position_names(model) if {one, other} <= set(circuit.coils_on(model, p))]
    swapped = tuple(p for p in positions if sum(_turned(model, p, n) for n in (one, other)) == 1)
    wanted = "opposite" if apart and not swapped else "alike"
    alike = kicks[0] == kicks[1]
    agrees = "" in kicks or alike == (wanted == "alike")
    cure = NO_KICK if "" in kicks else APART if not agrees else CURE if cancels else CURE_ALONE
    return PhasePair(
        source_title(model, one), source_title(model, other), kicks, tuple(positions), swapped, wanted, agrees, cure
    )


def _kick(model: Model, name: str) -> str:
    pickup, _, coil = name.partition(".")
    measured = model.inputs.design.pickup[pickup].measured
    if measured is not None:
        return str(measured.kick)
    return senses.kick(model, (pickup, coil)) if senses.has_kick(model, (pickup, coil)) else ""


def _covers(pair: tuple[str, ...], one: str, other: str) -> bool:
    """Whether an intent (coils, or pickups by name) speaks of both."""
    return all(any(name in (n, n.partition(".")[0]) for name in pair) for n in (one, other)) and one != other


def _turned(model: Model, position: str, name: str) -> bool:
    return any(name in (r, *_coils(model, r)) for r in _reversed(model, position))


def _reversed(model: Model, position: str) -> tuple[str, ...]:
    if not circuit.ready(model):
        return ()
    return next(c.reversed for c in circuit_net.choices(model) if c.name == position)


def _coils(model: Model, pickup: str) -> Iterator[str]:
    record = model.inputs.design.pickup.get(pickup)
    return (f"{pickup}.{c}" for c in ((record.coil if record else None) or {}))
