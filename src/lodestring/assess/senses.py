"""Polarity, winding and hot end of a coil as signs: hum sense and signal sense, and the meter's kick.

w winding sense seen from the strings (anticlockwise +1), q hot end (finish +1), p end of the magnet that is up (north
+1):
hum sense w q, signal sense p w q. Two coils cancel hum when their hum senses are opposite, and are in phase when their
signal senses are alike.
"""

from __future__ import annotations

from lodestring.assess import blocks
from lodestring.assess.coil_facts import Scope, of_coil
from lodestring.assess.model import Model


def polarity_of_coil(model: Model, scope: Scope) -> str | None:
    """The end toward the strings of every pole piece of a coil, or None where they differ or there is none.

    Steel pole pieces take theirs from the bar whose middle lies nearest under them: a bar magnetised +z has its north
    end up; one magnetised +y has it toward the nut, and gives it to the row on that side.
    """
    pickup, coil = of_coil(scope)
    poles = blocks.coil_of(model, pickup, coil).poles
    if poles.up is not None:
        ends = set(poles.up) if isinstance(poles.up, tuple) else {poles.up}
        return ends.pop() if len(ends) == 1 else None
    bars = model.inputs.design.pickup[pickup].bar or {}
    if poles.body is None or not bars:
        return None
    y = blocks.coil_offset(model, pickup, coil)
    bar = min(bars.values(), key=lambda b: abs(b.centre[1].value - y))
    toward = 1.0 if bar.magnetised.endswith("z") else y - bar.centre[1].value
    if toward == 0.0:
        return None
    return "north" if (toward > 0.0) == bar.magnetised.startswith("+") else "south"


def hum_sense(model: Model, scope: Scope) -> int:
    """+1 or -1: winding sense times hot end."""
    coil = blocks.coil_of(model, *of_coil(scope))
    return (1 if coil.wound == "anticlockwise" else -1) * (1 if coil.hot == "finish" else -1)


def signal_sense(model: Model, scope: Scope) -> int | None:
    """+1 or -1: polarity times hum sense; None where the polarity is not one.

    Derivation: anticlockwise from start to finish, flux out of the body counts positive, and V(finish) - V(start) is
    -d(flux)/dt. Steel pulled off a north-up pole piece lowers that flux, so the finish goes plus.
    """
    end = polarity_of_coil(model, scope)
    return None if end is None else (1 if end == "north" else -1) * hum_sense(model, scope)


def kick(model: Model, scope: Scope) -> str:
    """Sign on a meter, red lead on hot, when steel is pulled off a pole piece: that of the signal sense."""
    return "plus" if signal_sense(model, scope) == 1 else "minus"


def has_kick(model: Model, scope: Scope) -> bool:
    """Whether the coil has one polarity, so that its kick is known."""
    return signal_sense(model, scope) is not None
