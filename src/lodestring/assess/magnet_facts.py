"""How each magnetic fact follows from the blocks. Scopes: (pickup, coil), (pickup,), (pickup, string number from 1)."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from lodestring.assess import blocks, circuit_coil, eddy_blocks, magnet_blocks, pole_blocks, string_blocks
from lodestring.assess.coil_facts import Scope, of_coil
from lodestring.assess.model import Model
from lodestring.assess.senses import hum_sense
from lodestring.physics.string_field import length_heard as width_of
from lodestring.physics.string_field import trapezoid
from lodestring.physics.string_motion import band_level, pitch_shift
from lodestring.physics.string_run import StringResult

TEST_FREQUENCY = 1000.0
SWING = 0.5e-3
"""Swing at which the second harmonic is told [m]."""
PLUCK_HEIGHT, PLUCK_SHARE = 1e-3, 0.175
"""The stated pluck: 1 mm high at 0.175 of the scale from the bridge."""
BAND = (80.0, 5000.0)


# ---- when a fact is there ----


def covered(model: Model, scope: Scope) -> bool:
    """The pickup has coils, whose magnetics are worked out; a kept one is measured."""
    return bool(model.inputs.design.pickup[scope[0]].coil)


def has_poles(model: Model, scope: Scope) -> bool:
    """The coil has rods or a blade."""
    return blocks.coil_of(model, *of_coil(scope)).poles.body is not None


def has_magnets(model: Model, scope: Scope) -> bool:
    """The coil's rods, or its blade, are magnets."""
    body = blocks.coil_of(model, *of_coil(scope)).poles.body
    return body is not None and body.kind == "magnet"


def is_heard(model: Model, scope: Scope) -> bool:
    """Strings over the pickup can be computed, and its magnets are charged."""
    return string_blocks.heard(model, scope[0]) and magnet_blocks.charged(model, scope[0])


def has_reference(model: Model, scope: Scope) -> bool:
    """The pickup can be set against the reference of the intent."""
    level = model.inputs.design.intent.level
    return level is not None and is_heard(model, scope) and is_heard(model, (level.reference,))


# ---- coils ----


def _squared(model: Model, scope: Scope) -> float:
    return float(blocks.coil_of(model, *of_coil(scope)).turns) ** 2


def inductance_air(model: Model, scope: Scope) -> float:
    """Inductance without pole pieces [H]."""
    return _squared(model, scope) * pole_blocks.air(model, *of_coil(scope))


def inductance(model: Model, scope: Scope) -> float:
    """Inductance with the pole pieces that are in it, at low frequency [H]."""
    pickup, coil = of_coil(scope)
    return inductance_air(model, scope) + _squared(model, scope) * pole_blocks.pole_part(model, pickup, coil, coil).real


def inductance_1khz(model: Model, scope: Scope) -> float:
    """Inductance at 1 kHz, eddy currents in the pole pieces counted [H]."""
    pickup, coil = of_coil(scope)
    part = pole_blocks.pole_part(model, pickup, coil, coil, TEST_FREQUENCY)
    sheets = eddy_blocks.sheet_part(model, pickup, coil, TEST_FREQUENCY)
    return inductance_air(model, scope) + _squared(model, scope) * (part.real + sheets)


def hum_sensitivity(model: Model, scope: Scope) -> float:
    """Volts per tesla and radian per second of a uniform field along the pole pieces [V s/T]."""
    return float(blocks.coil_of(model, *of_coil(scope)).turns) * pole_blocks.dipole(model, *of_coil(scope))


def pole_permeability(model: Model, scope: Scope) -> float:
    """Relative permeability of the pole pieces."""
    return pole_blocks.mean_permeability(model, *of_coil(scope))


def pole_remanence(model: Model, scope: Scope) -> float:
    """Mean size of the effective remanence of the coil's magnets [T]."""
    pickup, coil = of_coil(scope)
    values = magnet_blocks.remanences(model, pickup)[coil]
    return math.fsum(abs(v) for v in values) / len(values)


# ---- pickups ----


def pickup_inductance(model: Model, scope: Scope) -> float:
    """Inductance at the pickup's leads at low frequency [H], mutual inductance of its coils counted."""
    pickup = scope[0]
    record = model.inputs.design.pickup[pickup]
    names = blocks.sides(record)
    own = [inductance(model, (pickup, c)) for c in names]
    if len(names) == 1:
        return own[0]
    mutual = _mutual(model, pickup)
    if record.connect == "parallel":
        return (own[0] * own[1] - mutual**2) / (own[0] + own[1] - 2.0 * mutual)
    return own[0] + own[1] + 2.0 * mutual


def _mutual(model: Model, pickup: str) -> float:
    """Mutual inductance of two coils, signed by how they are wound and joined [H]."""
    one, other = blocks.sides(model.inputs.design.pickup[pickup])
    air = circuit_coil.mutual_air(model, pickup)
    turns = blocks.coil_of(model, pickup, one).turns * blocks.coil_of(model, pickup, other).turns
    sign = hum_sense(model, (pickup, one)) * hum_sense(model, (pickup, other))
    return sign * turns * (air + pole_blocks.pole_part(model, pickup, one, other).real)


def level_balance(model: Model, scope: Scope) -> float:
    """Level of the stated pluck, all strings, against the reference pickup [dB]."""
    level = model.inputs.design.intent.level
    reference = scope[0] if level is None else level.reference
    return 20.0 * math.log10(_mean_level(model, scope[0]) / _mean_level(model, reference))


# ---- strings ----


def _result(model: Model, scope: Scope) -> StringResult:
    return string_blocks.result(model, scope[0], int(scope[1]) - 1)


def _weights(model: Model, pickup: str) -> np.ndarray:
    """How much each coil's linkage counts at the pickup's leads: turns, sense, connection."""
    record = model.inputs.design.pickup[pickup]
    names = blocks.sides(record)
    share = 1.0 / len(names) if record.connect == "parallel" else 1.0
    return np.array([share * hum_sense(model, (pickup, c)) * blocks.coil_of(model, pickup, c).turns for c in names])


def field_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Greatest field of the magnets along the string's axis [T]."""
    return found.field


def output_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Volts per metre per second of the whole string moving up and down [V s/m]."""
    return abs(float(_weights(model, scope[0]) @ found.output))


def pull_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Static pull toward the pickup [N]."""
    return found.pull


def pull_gradient_of(model: Model, scope: Scope, found: StringResult) -> float:
    """How fast the pull grows as the string comes nearer [N/m]."""
    return -found.stiffness_up


def second_harmonic_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Second harmonic against the fundamental at a swing of 0.5 mm up and down [dB]."""
    weights = _weights(model, scope[0])
    bend = float(weights @ (found.second * found.output)) / float(weights @ found.output)
    return 20.0 * math.log10(abs(bend) * SWING / 4.0 * 2.0)


def length_heard_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Length of string heard: full width at half height of the sensitivity along the string [m]."""
    return width_of(found.nodes, _weights(model, scope[0]) @ found.sensitivity)


def detune_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Change of the magnets' pull on the pitch between the open string and fret 12 [cent]; what is constant is
    tuned away.
    """
    stiffness = found.stiffness_up
    return abs(_shift(model, scope, stiffness, 12) - _shift(model, scope, stiffness))


def beat_of(model: Model, scope: Scope, found: StringResult) -> float:
    """Beating of an open string that swings up and down with itself sideways [Hz]."""
    split = _shift(model, scope, found.stiffness_side) - _shift(model, scope, found.stiffness_up)
    note = model.inputs.design.instrument.strings[int(scope[1]) - 1].note.frequency
    return abs(note * math.expm1(split / 1200.0 * math.log(2.0)))


def _shift(model: Model, scope: Scope, stiffness: float, fret: int = 0) -> float:
    string = model.inputs.design.instrument.strings[int(scope[1]) - 1]
    rise = 2.0 ** (fret / 12.0)
    length = model.inputs.design.instrument.scale.value / rise
    place = sum(blocks.place_of(model.nominal(), scope[0])) / 2
    return pitch_shift(stiffness, place, length, string_blocks.mass_per_length(string), string.note.frequency * rise)


OfString = Callable[[Model, Scope, StringResult], float]


def _at_rest(of: OfString) -> Callable[[Model, Scope], float]:
    """The figure of a string at its height at rest."""
    return lambda model, scope: of(model, scope, _result(model, scope))


field, output, pull, pull_gradient = map(_at_rest, (field_of, output_of, pull_of, pull_gradient_of))
second_harmonic, length_heard = map(_at_rest, (second_harmonic_of, length_heard_of))
detune, beat = map(_at_rest, (detune_of, beat_of))


def output_at(model: Model, pickup: str, number: int, x: float) -> float:
    """Output of string `number` (from 1) were it to run over x in the pickup's frame [V s/m]."""
    return output_of(model, (pickup, str(number)), string_blocks.result_at(model, pickup, number - 1, x))


def level(model: Model, scope: Scope) -> float:
    """RMS volts of the stated pluck in the band, flat response [V]."""
    found = _result(model, scope)
    string = model.inputs.design.instrument.strings[int(scope[1]) - 1]
    scale = model.inputs.design.instrument.scale.value
    place = sum(blocks.place_of(model.nominal(), scope[0])) / 2
    return band_level(
        _weights(model, scope[0]) @ found.sensitivity,
        trapezoid(found.nodes),
        place + found.nodes,
        (PLUCK_HEIGHT, PLUCK_SHARE * scale),
        scale,
        string.note.frequency,
        BAND,
    )


def _levels(model: Model, pickup: str) -> list[float]:
    return [level(model, (pickup, str(i + 1))) for i in string_blocks.served(model, pickup)]


def _mean_level(model: Model, pickup: str) -> float:
    levels = model.block(("levels", pickup), lambda: _levels(model, pickup))
    return math.sqrt(math.fsum(v * v for v in levels) / len(levels))


def balance(model: Model, scope: Scope) -> float:
    """Level of the stated pluck on this string against the mean of the pickup's strings [dB]."""
    return 20.0 * math.log10(level(model, scope) / _mean_level(model, scope[0]))
