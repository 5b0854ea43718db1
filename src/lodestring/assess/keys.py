"""The one key table: every fact's key, unit, method and meaning, and how it is computed.

docs/assessment.md is generated from it. Keys stand in the order of the set file; a key that a set does not have (no
housing, no tap) is absent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from lodestring.assess import (
    blocks,
    circuit_facts,
    circuit_net,
    coil_facts,
    magnet_facts,
    named,
    pickup_facts,
    senses,
    string_blocks,
)
from lodestring.assess.coil_facts import Scope, wound_part
from lodestring.assess.model import Model, Value

Compute = Callable[[Model, Scope], Value]
At = tuple[tuple[str, float], ...]
T20 = 293.15


def _always(model: Model, scope: Scope) -> bool:
    return True


def _nowhere(model: Model) -> At:
    return ()


def _at_20(model: Model) -> At:
    return (("temperature", T20),)


def _at_room(model: Model) -> At:
    return (("temperature", named.room(model)),)


@dataclass(frozen=True)
class Key:
    """One row of the key table.

    `positive` facts are propagated on a log scale, `smooth` ones at one end of narrow inputs, a `remnant` in amplitude;
    `least` bounds an interval below; `wide` ones look beyond their own pickup; `present` says when the key exists.
    """

    name: str
    unit: str | None
    method: str
    help: str
    compute: Compute
    positive: bool = True
    smooth: bool = False
    remnant: bool = False
    least: float = -math.inf
    wide: bool = False
    present: Callable[[Model, Scope], bool] = _always
    at: Callable[[Model], At] = _nowhere
    basis: str = "computed"
    scope: Scope = ()


COIL = (
    Key(
        "straight_length",
        "m",
        "layout.obround",
        "straight part of the coil's long sides",
        coil_facts.straight_length,
        positive=False,
    ),
    Key(
        "inner_half_width",
        "m",
        "layout.obround",
        "half-width of the innermost turn, also the radius of its round ends",
        coil_facts.inner_half_width,
    ),
    Key("window_height", "m", "as given", "clear height between the plates", coil_facts.window_height),
    Key("turns", "1", "as given", "number of turns", coil_facts.turns),
    Key(
        "passes", "1", "coil.passes", "passes over the window if each laid its turns side by side", wound_part("passes")
    ),
    Key("mean_turn_length", "m", "coil.mean_turn", "mean length of a turn", wound_part("mean_turn")),
    Key("wire_length", "m", "coil.wire_length", "length of the wire on the coil", wound_part("length")),
    Key("wire_mass", "kg", "coil.mass", "mass of the wire on the coil, enamel included", coil_facts.wire_mass),
    Key("copper_mass", "kg", "coil.mass", "mass of its copper alone", wound_part("copper_mass")),
    Key("dc_resistance", "ohm", "coil.dc_resistance", "resistance at 20 C", wound_part("resistance"), at=_at_20),
    Key(
        "dc_resistance_room",
        "ohm",
        "coil.dc_resistance",
        "resistance at the temperature of the room",
        coil_facts.room_resistance,
        at=_at_room,
    ),
    Key("stretch", "1", "wire.stretch", "lasting stretch of the wire from winding", coil_facts.stretch),
    Key(
        "coil_depth_end",
        "m",
        "coil.depth",
        "from the first turn to the last at the round ends",
        wound_part("depth_end"),
    ),
    Key(
        "coil_depth_side",
        "m",
        "coil.depth_side",
        "from the first turn to the last at mid-side",
        wound_part("depth_side"),
    ),
    Key(
        "outer_length",
        "m",
        "coil.outline",
        "length of the coil over its round ends, without tape",
        wound_part("outer_length"),
    ),
    Key("outer_width", "m", "coil.outline", "width of the coil at mid-side, without tape", wound_part("outer_width")),
    Key(
        "window_fill",
        "1",
        "coil.window_fill",
        "how much of the depth to the plate's edge the coil takes at mid-side",
        coil_facts.window_fill,
    ),
    Key(
        "clearance_plate_end",
        "m",
        "fit.clearance",
        "last turn to the plate's edge, least over the whole round ends",
        coil_facts.plate_room(0),
        positive=False,
    ),
    Key(
        "clearance_plate_side",
        "m",
        "fit.clearance",
        "last turn to the plate's edge at mid-side",
        coil_facts.plate_room(1),
        positive=False,
    ),
    Key(
        "clearance_housing_end",
        "m",
        "fit.clearance",
        "tape to the housing's wall, least over the whole round ends",
        coil_facts.housing_room(0),
        positive=False,
        present=pickup_facts.has_housing,
    ),
    Key(
        "clearance_housing_side",
        "m",
        "fit.clearance",
        "tape to the housing's wall at mid-side",
        coil_facts.housing_room(1),
        positive=False,
        present=pickup_facts.has_housing,
    ),
    Key(
        "wire_for_spool",
        "m",
        "coil.spool",
        "wire to have on the spool for one unbroken coil, reserve included",
        coil_facts.wire_for_spool,
    ),
    Key("winding_time", "s", "coil.winding_time", "time at the winder, pauses included", coil_facts.winding_time),
    Key(
        "inductance_air",
        "H",
        "coil.inductance_air",
        "inductance without its pole pieces",
        magnet_facts.inductance_air,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "inductance",
        "H",
        "coil.inductance",
        "inductance with the pole pieces that are in it, at low frequency",
        magnet_facts.inductance,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "inductance_1khz",
        "H",
        "coil.inductance_1khz",
        "inductance at 1 kHz in series mode, eddy currents in the pole pieces counted",
        magnet_facts.inductance_1khz,
        smooth=True,
        present=magnet_facts.covered,
        at=lambda m: (("frequency", magnet_facts.TEST_FREQUENCY),),
    ),
    Key(
        "hum_sensitivity",
        "V.s/T",
        "coil.hum_sensitivity",
        "volts per tesla and radian per second of a uniform field along the pole pieces",
        magnet_facts.hum_sensitivity,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "pole_permeability",
        "1",
        "catalogue",
        "relative permeability of the pole pieces (recoil permeability of magnets)",
        magnet_facts.pole_permeability,
        present=magnet_facts.has_poles,
    ),
    Key(
        "pole_remanence",
        "T",
        "poles.remanence",
        "effective remanence of the magnets among their neighbours, mean of the coil",
        magnet_facts.pole_remanence,
        present=magnet_facts.has_magnets,
    ),
    Key(
        "capacitance",
        "F",
        "coil.capacitance",
        "capacitance at the coil's two ends, its ground end grounded: of the winding, and to grounded metal beside it",
        circuit_facts.capacitance,
        present=magnet_facts.covered,
    ),
    Key(
        "self_resonance",
        "Hz",
        "coil.self_resonance",
        "resonance of the coil with its own capacitance, nothing connected",
        circuit_facts.self_resonance,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "q_unloaded",
        "1",
        "coil.q_unloaded",
        "Q of that resonance, eddy currents counted",
        circuit_facts.q_unloaded,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "kick",
        None,
        "coil.kick",
        "sign on a meter, red lead on hot, when steel is pulled off a pole piece",
        senses.kick,
        present=senses.has_kick,
    ),
)

TAP = (
    Key(
        "dc_resistance",
        "ohm",
        "coil.dc_resistance",
        "resistance from the start to this tap at 20 C",
        coil_facts.tap_resistance,
        at=_at_20,
    ),
)

PICKUP = (
    Key(
        "dc_resistance",
        "ohm",
        "pickup.dc_resistance",
        "resistance at its two leads at 20 C",
        pickup_facts.resistance,
        at=_at_20,
    ),
    Key(
        "clearance_plates",
        "m",
        "fit.clearance",
        "plates to the housing's wall, the least",
        pickup_facts.plates_room,
        positive=False,
        present=pickup_facts.made_with_housing,
    ),
    Key(
        "clearance_depth",
        "m",
        "fit.clearance",
        "lowest part to the housing's floor",
        pickup_facts.depth_room,
        positive=False,
        present=pickup_facts.made_with_housing,
    ),
    Key(
        "inductance",
        "H",
        "coil.inductance",
        "inductance at its two leads at low frequency",
        magnet_facts.pickup_inductance,
        smooth=True,
        present=magnet_facts.covered,
    ),
    Key(
        "level_balance",
        "dB",
        "pickup.level_balance",
        "level of the stated pluck on all strings against the reference pickup",
        circuit_facts.level_balance,
        positive=False,
        wide=True,
        present=magnet_facts.has_reference,
    ),
)

STRING = (
    Key("field", "T", "string.field", "greatest field of the magnets along the string, at rest", magnet_facts.field),
    Key(
        "output",
        "V.s/m",
        "string.output",
        "volts per metre per second of the whole string moving up and down, at rest height",
        magnet_facts.output,
    ),
    Key("pull", "N", "string.pull", "static pull of the magnets toward the pickup, at rest height", magnet_facts.pull),
    Key(
        "pull_gradient",
        "N/m",
        "string.pull",
        "how fast the pull grows as the string comes nearer",
        magnet_facts.pull_gradient,
    ),
    Key(
        "detune",
        "cent",
        "string.pitch",
        "change of the magnets' effect on the pitch between the open string and fret 12",
        magnet_facts.detune,
    ),
    Key(
        "beat",
        "Hz",
        "string.pitch",
        "beating of the open string between its up-and-down and its sideways motion",
        magnet_facts.beat,
    ),
    Key(
        "second_harmonic",
        "dB",
        "string.second_harmonic",
        "second harmonic against the fundamental at a swing of 0.5 mm up and down",
        magnet_facts.second_harmonic,
        positive=False,
    ),
    Key(
        "length_heard",
        "m",
        "string.length_heard",
        "length of string heard: width at half height of the sensitivity along the string",
        magnet_facts.length_heard,
    ),
    Key(
        "balance",
        "dB",
        "string.balance",
        "level of the stated pluck on this string against the mean of the pickup's strings",
        magnet_facts.balance,
        positive=False,
    ),
)

POSITION = (
    Key(
        "peak_frequency",
        "Hz",
        "position.response",
        "frequency of the greatest response at the jack; where it only falls, the place where it is 3 dB down",
        circuit_facts.peak_frequency,
        smooth=True,
        wide=True,
    ),
    Key(
        "peak_gain",
        "dB",
        "position.response",
        "height of that peak over the response at 100 Hz",
        circuit_facts.peak_gain,
        positive=False,
        wide=True,
    ),
    Key(
        "level",
        "dB",
        "position.level",
        "level of the stated pluck on all strings through the loaded circuit, against the reference position",
        circuit_facts.level,
        positive=False,
        wide=True,
        present=circuit_facts.has_level,
    ),
    Key(
        "hum",
        "V.s/T",
        "position.hum",
        "volts at the jack per tesla and radian per second of a uniform mains field along the pole pieces",
        circuit_facts.hum,
        positive=False,
        least=0.0,
        wide=True,
        present=circuit_facts.all_made,
        at=lambda m: (("frequency", circuit_facts.MAINS),),
    ),
    Key(
        "hum_left",
        "dB",
        "position.hum",
        "what is left of hum, against the loudest of its coils alone with the same load",
        circuit_facts.hum_left,
        positive=False,
        remnant=True,
        wide=True,
        present=circuit_facts.several,
        at=lambda m: (("frequency", circuit_facts.MAINS),),
    ),
    Key(
        "noise",
        "V",
        "position.noise",
        "thermal noise at the jack, 20 Hz to 20 kHz",
        circuit_facts.noise,
        smooth=True,
        wide=True,
        at=lambda m: (("temperature", 300.0),),
    ),
    Key(
        "phase",
        None,
        "position.phase",
        '"in" where the strings\' shares of its coils add up, "out" where one takes from another',
        circuit_facts.phase,
        wide=True,
        present=circuit_facts.has_phase,
    ),
    Key(
        "dc_resistance_at_jack",
        "ohm",
        "position.dc_resistance",
        "what a meter reads at the jack with nothing plugged in, at 20 C",
        circuit_facts.resistance,
        wide=True,
        at=_at_20,
    ),
)

SET = (
    Key(
        "wire_length",
        "m",
        "coil.wire_length",
        "wire on all coils together",
        pickup_facts.sum_over_coils("wire_length"),
    ),
    Key(
        "wire_mass",
        "kg",
        "coil.mass",
        "mass of that wire, enamel included",
        pickup_facts.sum_over_coils("wire_mass"),
    ),
    Key(
        "winding_time",
        "s",
        "coil.winding_time",
        "time at the winder for all coils",
        pickup_facts.sum_over_coils("winding_time"),
    ),
)

TABLE: Mapping[str, tuple[Key, ...]] = {
    "pickup.P.coil.C": COIL,
    "pickup.P.coil.C.tap.N": TAP,
    "pickup.P": PICKUP,
    "pickup.P.string.N": STRING,
    "position.NAME": POSITION,
    "set": SET,
}


def instances(model: Model) -> dict[str, Key]:
    """Every key of this set, in the order of the set file: each pickup's coils, then the pickup, then the
    selector's positions, then the set."""
    out: dict[str, Key] = {}
    for pickup, record in model.inputs.design.pickup.items():
        for coil in blocks.sides(record):
            path = blocks.coil_path(pickup, coil)
            _add(out, model, path, COIL, (pickup, coil))
            for number in range(1, len(record.coil[coil].tap or ()) + 1 if record.coil else 1):
                _add(out, model, f"{path}.tap.{number}", TAP, (pickup, coil, str(number)))
        rows: tuple[Key, ...] = PICKUP
        if record.measured is not None:
            rows = tuple(replace(k, basis="measured", method="pickup.measured") for k in PICKUP)
        _add(out, model, f"pickup.{pickup}", rows, (pickup,))
        if magnet_facts.is_heard(model, (pickup,)):
            for index in string_blocks.served(model, pickup):
                _add(out, model, f"pickup.{pickup}.string.{index + 1}", STRING, (pickup, str(index + 1)))
    for position in circuit_net.position_names(model):
        _add(out, model, f"position.{position}", POSITION, ("position", position))
    if blocks.every_coil(model):
        _add(out, model, "set", SET, ())
    return out


def _add(out: dict[str, Key], model: Model, prefix: str, keys: tuple[Key, ...], scope: Scope) -> None:
    for key in keys:
        if key.present(model, scope):
            out[f"{prefix}.{key.name}"] = replace(key, scope=scope)
