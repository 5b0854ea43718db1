"""Rows of the key table for each pickup, and for each string over it."""

from __future__ import annotations

from lodestring.assess import circuit_facts, magnet_facts, pickup_facts
from lodestring.assess.key import Key, at_20

PICKUP = (
    Key(
        "dc_resistance",
        "ohm",
        "pickup.dc_resistance",
        "resistance at its two leads at 20 C",
        pickup_facts.resistance,
        at=at_20,
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
        smooth=True,
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
