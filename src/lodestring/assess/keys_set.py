"""Rows of the key table for each position of the selector, and for the whole set."""

from __future__ import annotations

from lodestring.assess import circuit_facts, pickup_facts
from lodestring.assess.key import Key, at_20

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
        smooth=True,
        wide=True,
    ),
    Key(
        "level",
        "dB",
        "position.level",
        "level of the stated pluck on all strings through the loaded circuit, against the reference position",
        circuit_facts.level,
        positive=False,
        smooth=True,
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
        at=at_20,
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
