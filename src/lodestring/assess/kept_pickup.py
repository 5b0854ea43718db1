"""A pickup that is kept, as the circuit sees it: what its readings say, and the usual where they are silent."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from lodestring.assess import circuit_net, named, pickup_facts
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.model import Model
from lodestring.design.cross_problem import Disagreement
from lodestring.design.pickup import Measured
from lodestring.physics.network_parts import Branches, Capacitor, Part
from lodestring.physics.poles import Numbers
from lodestring.quantity import show
from lodestring.reference import band


def measured(model: Model, pickup: str) -> Measured:
    """The readings of a kept pickup. Raises ValueError for one that is to be made."""
    found = model.inputs.design.pickup[pickup].measured
    if found is None:
        raise ValueError("asked only of kept pickups")
    return found


def inductance(model: Model, pickup: str) -> float:
    """Inductance of a kept pickup [H]: as read in series mode, worked back from parallel mode, or guessed."""
    reading = measured(model, pickup).inductance
    ohm = pickup_facts.resistance(model, (pickup,))
    if reading is None:
        name = f"pickup.{pickup}.measured.inductance"
        narrow = 'read it in series mode: inductance = { value = "3 H", frequency = "1 kHz", mode = "series" }'
        why = "inductance not read: guessed from the resistance"
        share = model.read(name, lambda: named.from_band(name, "kept.inductance", why, narrow))
        return share * ohm
    value = model.given(f"pickup.{pickup}.measured.inductance.value", reading.value)
    if reading.mode == "series":
        return value
    # parallel mode shows L + R^2 / (w^2 L): of the two inductances that read so, the one usual for its resistance
    reactance = ohm / (2.0 * math.pi * reading.frequency.value)
    usual = band("kept.inductance").spread().nominal
    inside = math.sqrt(max(value**2 - 4.0 * reactance**2, 0.0))
    return min(
        ((value + inside) / 2.0, (value - inside) / 2.0), key=lambda h: abs(math.log(max(h, 1e-9) / (usual * ohm)))
    )


PARALLEL_SLACK = 0.95
"""A reading in parallel mode may lie so far under the least possible one: the meter's own error."""


def reading_obstacles(model: Model) -> Iterator[Disagreement]:
    """Readings in parallel mode that no coil of the pickup's resistance gives."""
    for pickup, record in model.inputs.design.pickup.items():
        reading = record.measured.inductance if record.measured is not None else None
        if record.measured is None or reading is None or reading.mode == "series":
            continue
        least = record.measured.resistance.value / (math.pi * reading.frequency.value)  # where w L = R
        if reading.value.value < PARALLEL_SLACK * least:
            yield Disagreement(
                ("pickup", pickup, "measured", "inductance", "mode"),
                f"a coil of {show(record.measured.resistance)} reads {least:.4g} H or more in parallel mode at "
                f"{show(reading.frequency)}",
                show(reading.value),
                'mode = "series", or another reading',
            )


def parts(model: Model, pickup: str) -> tuple[Part, ...]:
    """Coil and capacitance of a kept pickup, hot against ground lead."""
    hot, ground = circuit_net.coil_nodes(pickup, "")
    ohm = pickup_facts.resistance(model, (pickup,))
    impedance: Numbers = (ohm + 2j * np.pi * FREQUENCIES * inductance(model, pickup))[None, None]
    farad = model.read(
        f"pickup.{pickup}.capacitance",
        lambda: named.from_band(
            f"pickup.{pickup}.capacitance", "kept.capacitance", "capacitance of a kept pickup: the usual", ""
        ),
    )
    return (
        Branches((pickup,), ((hot, ground),), impedance, np.array([ohm])),
        Capacitor(f"{pickup}.capacitance", hot, ground, farad),
    )
