"""Figures of each selector position, controls fully up, and of each coil by itself. Scope: ("position", name)."""

from __future__ import annotations

import math

import numpy as np

from lodestring.assess import blocks, circuit, circuit_coil, circuit_net, coil_capacitance, string_blocks
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.coil_facts import Scope, of_coil
from lodestring.assess.magnet_facts import BAND, PLUCK_HEIGHT, PLUCK_SHARE, is_heard
from lodestring.assess.magnet_facts import level_balance as flat_balance
from lodestring.assess.model import Model
from lodestring.assess.senses import polarity_of_coil, signal_sense
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array
from lodestring.physics.string_field import trapezoid
from lodestring.physics.string_motion import partial_velocities
from lodestring.physics.thermal_noise import thermal_noise

LOW = 100.0
"""A response is set against itself here [Hz]: below it nothing in a passive harness moves it."""
MAINS = 50.0
NOISE_BAND = (20.0, 20e3)
NOTHING = 1e-6
"""Hum below this share of a coil's own is told as this."""


# ---- when a fact is there ----


def _coils(model: Model, scope: Scope) -> tuple[str, ...]:
    return circuit.coils_on(model, scope[1])


def all_made(model: Model, scope: Scope) -> bool:
    """No kept pickup is on: turns are known, and with them level and hum."""
    return all("." in name for name in _coils(model, scope))


def several(model: Model, scope: Scope) -> bool:
    """Two coils or more, all to be made."""
    return all_made(model, scope) and len(_coils(model, scope)) > 1


def has_phase(model: Model, scope: Scope) -> bool:
    """Two coils or more whose polarity is known."""
    names = _coils(model, scope)
    return several(model, scope) and all(signal_sense(model, tuple(n.split("."))) is not None for n in names)


def has_level(model: Model, scope: Scope) -> bool:
    """Strings are heard in this position and in the one it is set against, and there is another position."""
    if len(circuit_net.position_names(model)) < 2:
        return False
    names = (*_coils(model, scope), *_coils(model, ("position", reference(model))))
    return all("." in n and is_heard(model, (n.partition(".")[0],)) for n in names)


def reference(model: Model) -> str:
    """The position that levels are set against: the reference pickup alone, else the first."""
    level = model.inputs.design.intent.level
    if level is not None and circuit.ready(model):
        for choice in circuit_net.choices(model):
            if choice.on == (level.reference,):
                return choice.name
    return circuit_net.position_names(model)[0]


# ---- response ----


def shape(model: Model, position: str, transfer: Numbers) -> Array:
    """(..., f) size of a response from transfers (c, ..., f): coils of one pickup add as they are, pickups by their
    power, for along a string two pickups' partials meet in all phases."""
    names = circuit.network(model).harness.branches
    on = circuit.coils_on(model, position)
    left = circuit.emf(model, "string")
    total = np.zeros(transfer.shape[1:])
    made = [n for n in names if "." in n]
    usual = sum(_turns(model, n) for n in made) / len(made) if made else 1.0
    for pickup in dict.fromkeys(n.partition(".")[0] for n in on):
        here = [i for i, n in enumerate(names) if n in on and n.partition(".")[0] == pickup]
        each = [
            (np.ones(1) if "." not in names[i] else _turns(model, names[i]) * _sign(model, names[i]) * left[i] / usual)
            * transfer[i]
            for i in here
        ]
        together, apart = np.abs(sum(each[1:], each[0])), np.sqrt(sum(np.abs(e) ** 2 for e in each))
        total += np.where(together > 0.1 * apart, together, apart) ** 2
    size: Array = np.sqrt(total)
    return size


def _turns(model: Model, name: str) -> float:
    pickup, coil = name.split(".")
    return float(blocks.coil_of(model, pickup, coil).turns)


def _sign(model: Model, name: str) -> float:
    """Sign of a coil's string EMF, finish against start."""
    pickup, coil = name.split(".")
    end = polarity_of_coil(model, (pickup, coil))
    return circuit_coil.winding_sign(model, pickup, coil) * (-1.0 if end == "south" else 1.0)


def curve(model: Model, position: str) -> Array:
    """(f,) size of the response, every control fully up."""
    size: Array = shape(model, position, circuit.response(model, position).transfer)[0]
    return size


def peak(size: Array) -> tuple[float, float]:
    """Frequency [Hz] and height [dB over 100 Hz] of the greatest response; where it only falls, the place where it is
    3 dB down."""
    low = float(circuit.at(size, LOW))
    decibels = 20.0 * np.log10(size / low)
    i = int(np.argmax(decibels))
    x = np.log(FREQUENCIES)
    if FREQUENCIES[i] > 2.0 * LOW and 0 < i < len(x) - 1 and decibels[i] > 0.0:
        # 1 / size^2 of a loaded coil is a parabola over f^2, exactly so without eddy currents
        near = (FREQUENCIES[i - 1 : i + 2] / FREQUENCIES[i]) ** 2
        second, first, none = np.polyfit(near, (size[i] / size[i - 1 : i + 2]) ** 2, 2)
        place = -first / (2.0 * second)
        least = none - first**2 / (4.0 * second)
        return float(FREQUENCIES[i] * math.sqrt(place)), float(decibels[i] - 10.0 * math.log10(least))
    down = 20.0 * math.log10(math.sqrt(0.5))
    after = int(np.argmax((decibels < down) & (FREQUENCIES > LOW)))
    if after == 0:
        return float(FREQUENCIES[-1]), float(decibels[-1])
    share = (down - decibels[after - 1]) / (decibels[after] - decibels[after - 1])
    return float(np.exp(x[after - 1] + share * (x[after] - x[after - 1]))), down


def _peak(model: Model, scope: Scope) -> tuple[float, float]:
    return model.block(("peak", scope[1]), lambda: peak(curve(model, scope[1])))


def peak_frequency(model: Model, scope: Scope) -> float:
    """Frequency of the greatest response at the jack [Hz]."""
    return _peak(model, scope)[0]


def peak_gain(model: Model, scope: Scope) -> float:
    """Height of the peak over the response at 100 Hz [dB]."""
    return _peak(model, scope)[1]


# ---- level ----


def string_emf(model: Model, number: int) -> tuple[Array, Numbers]:
    """Partials (n,) [Hz] of a plucked string in the band, and (c, n) the EMF [V] each makes in each coil; number from
    0."""

    def make() -> tuple[Array, Numbers]:
        instrument = model.inputs.design.instrument
        scale = instrument.scale.value
        f1 = instrument.strings[number].note.frequency
        count = max(1, int(BAND[1] / f1))
        partials: Array = f1 * np.arange(1.0, count + 1.0)
        names = circuit_net.used(model)
        left = circuit.at(circuit.emf(model, "string"), partials)
        out: Numbers = np.zeros((len(names), count), complex)
        for i, name in enumerate(names):
            pickup, _, coil = name.partition(".")
            if not coil or number not in string_blocks.served(model, pickup) or not is_heard(model, (pickup,)):
                continue
            found = string_blocks.result(model, pickup, number)
            place = sum(blocks.place_of(model.nominal(), pickup)) / 2
            velocity = partial_velocities(PLUCK_HEIGHT, PLUCK_SHARE * scale, scale, f1, place + found.nodes, count)
            mine = found.sensitivity[blocks.sides(model.inputs.design.pickup[pickup]).index(coil)]
            signed = _turns(model, name) * circuit_coil.winding_sign(model, pickup, coil)
            out[i] = signed * left[i] * (velocity @ (mine * trapezoid(found.nodes)))
        return partials, out

    return model.block(("string emf", number), make)


def every_emf(model: Model) -> tuple[Array, Numbers, Array]:
    """All strings in one: partials (n,) [Hz], EMF (c, n) [V], and which string (n,) each belongs to; the band alone."""

    def make() -> tuple[Array, Numbers, Array]:
        each = [string_emf(model, i) for i in range(len(model.inputs.design.instrument.strings))]
        partials = np.concatenate([p for p, _ in each])
        of = np.concatenate([np.full(len(p), i) for i, (p, _) in enumerate(each)])
        inside = partials >= BAND[0]
        return partials[inside], np.concatenate([e for _, e in each], axis=1)[:, inside], of[inside]

    return model.block(("every emf",), make)


def level_volts(model: Model, position: str) -> float:
    """RMS volts at the jack of the stated pluck in the band, mean power of all strings [V]."""

    def make() -> float:
        transfer = circuit.response(model, position).transfer[:, 0]
        alone = position.removeprefix(circuit.ALONE)
        playing = (alone,) if alone != position else circuit.coils_on(model, position)
        on = {n.partition(".")[0] for n in playing}
        strings = sorted({s for p in on for s in string_blocks.served(model, p)})
        partials, emf, of = every_emf(model)
        volts = np.sum(circuit.at(transfer, partials) * emf, axis=0)
        heard = np.isin(of, strings)
        return math.sqrt(float(np.sum(np.abs(volts[heard]) ** 2)) / 2.0 / len(strings))

    return model.block(("level volts", position), make)


def level(model: Model, scope: Scope) -> float:
    """Level of the stated pluck through the loaded circuit, against the reference position [dB]."""
    return 20.0 * math.log10(level_volts(model, scope[1]) / level_volts(model, reference(model)))


def level_balance(model: Model, scope: Scope) -> float:
    """Level of the stated pluck, all strings, against the reference pickup, each alone [dB]: through the loaded circuit
    where there is a ready one, else with a flat response."""
    level = model.inputs.design.intent.level
    against = scope[0] if level is None else level.reference
    names = tuple(_alone(model, pickup) for pickup in (scope[0], against)) if circuit.ready(model) else ()
    if not names or "" in names:
        return flat_balance(model, scope)
    return 20.0 * math.log10(level_volts(model, names[0]) / level_volts(model, names[1]))


def _alone(model: Model, pickup: str) -> str:
    """The hidden position in which a pickup plays alone; "" where a coil of it is not in the circuit."""
    coils = blocks.sides(model.inputs.design.pickup[pickup])
    if not circuit_net.whole(model, pickup):
        return ""
    return f"{circuit.ALONE}{pickup}" if len(coils) > 1 else f"{circuit.ALONE}{pickup}.{coils[0]}"


# ---- hum and noise ----


def hum_at(model: Model, position: str, frequency: float = MAINS) -> float:
    """Volts at the jack per tesla and radian per second of a uniform field along the pole pieces [V s/T]; of a field in
    another direction only its part along them counts, as every coil's moment lies that way."""
    driven = circuit.response(model, position).driven(circuit.emf(model, "hum"))[0]
    return float(abs(circuit.at(driven, frequency)))


def hum(model: Model, scope: Scope) -> float:
    """Hum of the position [V s/T]."""
    return hum_at(model, scope[1])


def hum_left(model: Model, scope: Scope) -> float:
    """What is left of hum, against the loudest of its coils alone with the same load [dB]."""
    names = _coils(model, scope)
    if circuit.ready(model):
        alone = max(hum_at(model, f"{circuit.ALONE}{n}") for n in names)
    else:
        order = circuit.network(model).harness.branches
        every = circuit.emf(model, "hum")
        alone = max(float(abs(circuit.at(every[order.index(n)], MAINS))) for n in names)
    return 20.0 * math.log10(max(hum(model, scope), NOTHING * alone) / alone)


def phase(model: Model, scope: Scope) -> str:
    """ "in" where the strings' shares of all coils add up at the jack, "out" where one takes from another."""
    names = circuit.network(model).harness.branches
    transfer = circuit.response(model, scope[1]).transfer[:, 0]
    shares = [
        float(np.real(circuit.at(transfer[names.index(n)], LOW))) * _sign(model, n) * _turns(model, n)
        for n in _coils(model, scope)
    ]
    heard = [s for s in shares if abs(s) > 1e-3 * max(map(abs, shares))]
    return "in" if all(s > 0.0 for s in heard) or all(s < 0.0 for s in heard) else "out"


def noise(model: Model, scope: Scope) -> float:
    """Thermal noise at the jack, 20 Hz to 20 kHz, at 300 K [V rms]."""
    return float(thermal_noise(FREQUENCIES, circuit.response(model, scope[1]).z_out, NOISE_BAND)[0])


def resistance(model: Model, scope: Scope) -> float:
    """What a meter reads at the jack, nothing plugged in, at 20 C [ohm]."""
    return float(circuit.network(model).dc_resistance(scope[1], circuit_net.settings(model, "", 1.0))[0])


# ---- coils by themselves ----


def capacitance(model: Model, scope: Scope) -> float:
    """Capacitance at a coil's two ends, its other end grounded [F]."""
    return coil_capacitance.at_ends(model, *of_coil(scope))


def _resonance(model: Model, scope: Scope) -> tuple[float, float]:
    """Frequency [Hz] at which a coil and its capacitance are in step, and the Q there."""

    def make() -> tuple[float, float]:
        pickup, coil = of_coil(scope)
        found = circuit_coil.branches(model, pickup)
        k = found.names.index(coil)
        z = found.impedance[k, k]
        reactance = z.imag - 1.0 / (2.0 * np.pi * FREQUENCIES * capacitance(model, scope))
        i = int(np.argmax(reactance > 0.0))
        if i == 0:  # none below the last frequency: currents in metal round the coil have taken its inductance
            return float(FREQUENCIES[-1]), max(float(z.imag[-1] / z.real[-1]), 0.01)
        share = -reactance[i - 1] / (reactance[i] - reactance[i - 1])
        x = np.log(FREQUENCIES)
        f = float(np.exp(x[i - 1] + share * (x[i] - x[i - 1])))
        there = circuit.at(z, f)
        return f, float(there.imag / there.real)

    return model.block(("resonance", *of_coil(scope)), make)


def self_resonance(model: Model, scope: Scope) -> float:
    """Resonance of a coil with its own capacitance, nothing connected [Hz]."""
    return _resonance(model, scope)[0]


def q_unloaded(model: Model, scope: Scope) -> float:
    """Q of that resonance: reactance over resistance, eddy currents counted."""
    return _resonance(model, scope)[1]
