"""Pairs of coils: do they cancel hum, are they in phase. Both follow from polarity, winding and hot end.

w winding sense from the strings, q which end is hot, p end of the magnet that is up: hum sense w q, signal sense p w q.
Two coils together are hum-cancelling when their hum senses are opposite, and in phase when their signal senses are
alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from lodestring.assess import blocks
from lodestring.assess.findings.say import count, finding
from lodestring.assess.model import Model
from lodestring.assess.senses import hum_sense, polarity_of_coil, signal_sense
from lodestring.design.finding import Finding
from lodestring.design.pickup_set import coil_names
from lodestring.design.vocabulary import Severity

Senses = tuple[int, int | None]
"""Hum sense and signal sense; the latter None where the polarity is not one."""


def senses(model: Model, name: str) -> Senses:
    """Hum and signal sense of a coil, or of a kept pickup from its kick and the end it has up."""
    pickup, _, coil = name.partition(".")
    measured = model.inputs.design.pickup[pickup].measured
    if measured is None:
        return hum_sense(model, (pickup, coil)), signal_sense(model, (pickup, coil))
    signal = 1 if measured.kick == "plus" else -1
    return signal * (1 if measured.up == "north" else -1), signal


def find(model: Model) -> Iterator[Finding]:
    """Findings about every pair of coils in the set."""
    intent = model.inputs.design.intent
    meant = {frozenset(pair): pair for pair in intent.cancel_hum}
    apart = {frozenset(pair) for pair in intent.out_of_phase}
    names = coil_names(model.inputs.design)
    for one, other in combinations(names, 2):
        key = frozenset((one, other))
        pair = meant.get(key, (one, other))
        yield from _pair(model, pair, key in meant, key in apart)
    for pair in intent.cancel_hum if model.inputs.design.harness is None else ():
        yield from _turns(model, pair)  # with a harness, each position's own hum is worked out instead


def _pair(model: Model, pair: tuple[str, str], cancel: bool, apart: bool) -> Iterator[Finding]:
    (h1, s1), (h2, s2) = (senses(model, n) for n in pair)
    hum_adds = h1 == h2
    phase_known = s1 is not None and s2 is not None
    thin = phase_known and s1 != s2
    both = " and ".join(pair)
    about = f"intent.cancel_hum.{_index(model, pair)}" if cancel else _path(model, pair[1])
    if cancel and hum_adds:
        swap = phase_known and thin != apart
        attempt, change = _cure(model, pair, swap=swap, turn=not swap and phase_known)
        yield finding(
            "hum-adds",
            "blocker",
            about,
            f"{both} are meant to cancel hum, but {_same(model, pair)}, so hum adds up",
            attempt,
            change,
            2.0,
        )
    if thin and not apart:
        swap = cancel and hum_adds
        attempt, change = _cure(model, pair, swap=swap or not cancel, turn=cancel and not hum_adds)
        severity: Severity = "blocker" if cancel else "warning"
        yield finding(
            "out-of-phase",
            severity,
            about,
            f"{both} are out of phase: together they sound thin and weak",
            attempt,
            change,
            1.0,
        )
    if apart and phase_known and not thin:
        attempt, change = _cure(model, pair, swap=not cancel or hum_adds, turn=cancel and not hum_adds)
        yield finding("in-phase", "warning", about, f"{both} are wanted out of phase but are in phase", attempt, change)


def _same(model: Model, pair: tuple[str, str]) -> str:
    if any(model.inputs.design.pickup[n.partition(".")[0]].measured for n in pair):
        return "winding and hot end give them the same sense"
    one, other = (blocks.coil_of(model, *n.split(".")) for n in pair)
    if one.wound == other.wound:
        return f"both are wound {one.wound} with the same end hot" if one.hot == other.hot else "they do not"
    return "they are wound opposite ways with opposite ends hot"


def _cure(model: Model, pair: tuple[str, str], swap: bool, turn: bool) -> tuple[str, dict[str, str] | None]:
    """What to do to the second coil (the first where the second is kept), in words and as changes."""
    name = next((n for n in reversed(pair) if "." in n), None)
    if name is None:
        return "swap the two leads of one pickup", None
    pickup, coil = name.split(".")
    record = blocks.coil_of(model, pickup, coil)
    path = blocks.coil_path(pickup, coil)
    change: dict[str, str] = {}
    words = []
    if swap or not turn:
        other = "start" if record.hot == "finish" else "finish"
        words.append(f"make the {other} wire of {name} hot (swap its two leads)")
        change[f"{path}.hot"] = f'"{other}"'
    elif _hum_must_flip(model, pair):
        other = "start" if record.hot == "finish" else "finish"
        words.append(f"make the {other} wire of {name} hot")
        change[f"{path}.hot"] = f'"{other}"'
    if turn:
        up = polarity_of_coil(model, (pickup, coil))
        if record.poles.up is not None and up is not None:
            end = "south" if up == "north" else "north"
            words.append(f"set its magnets {end} up (turn them over, or recharge them)")
            change[f"{path}.poles.up"] = f'"{end}"'
        else:
            words.append("turn its bar magnet over")
            return " and ".join(words), None
    return " and ".join(words), change


def _hum_must_flip(model: Model, pair: tuple[str, str]) -> bool:
    return senses(model, pair[0])[0] == senses(model, pair[1])[0]


def _index(model: Model, pair: tuple[str, str]) -> int:
    return model.inputs.design.intent.cancel_hum.index(pair) + 1


def _path(model: Model, name: str) -> str:
    pickup, _, coil = name.partition(".")
    return f"{blocks.coil_path(pickup, coil)}.hot" if coil else f"pickup.{pickup}.measured"


def _turns(model: Model, pair: tuple[str, str]) -> Iterator[Finding]:
    if not all("." in n for n in pair):
        return
    one, other = (blocks.coil_of(model, *n.split(".")).turns for n in pair)
    if one == other:
        return
    more, fewer = max(one, other), min(one, other)
    name = pair[0] if one > other else pair[1]
    pickup, coil = name.split(".")
    path = f"{blocks.coil_path(pickup, coil)}.turns"
    yield finding(
        "unequal-turns",
        "note",
        path,
        f"{pair[0]} has {count(one)} turns and {pair[1]} {count(other)}: "
        f"{100 * (more - fewer) / more:.1f} per cent apart, "
        "so some hum is left when they play together",
        f"equal turns if hum matters more than level, {count(fewer)} on both",
        {path: str(fewer)},
        (more - fewer) / more,
    )
