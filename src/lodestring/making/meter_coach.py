"""The meter coach: how to measure, and what the meter should say."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks, named
from lodestring.assess.report import Assessment
from lodestring.physics.wire import at_temperature
from lodestring.quantity.figures import ZERO_CELSIUS, Figure, figure

TEMPERATURES = (15, 18, 20, 22, 25, 28)
STEPS = (
    "Check the meter first: a 1 % resistor of 6.8 k must read 6.73 to 6.87 k.",
    "Leads free of the circuit, fingers off both tips, coil cool, wait until the reading rests.",
    "Coil to each pole piece, coil to cover: must be open, not merely high.",
    "Red lead on hot: hold a screwdriver on a pole piece, pull it off, "
    "watch which way the needle or the last digit jumps.",
    "Inductance only with its frequency and in series mode: in parallel mode the same coil can read ten times as much.",
    "A bad reading? First say: is the coil fat, thin, or as drawn?",
)


@dataclass(frozen=True, slots=True)
class Expected:
    """What the meter should read on one coil."""

    pickup: str
    coil: str
    at_20: Figure
    by_temperature: tuple[tuple[int, Figure], ...]
    kick: str


@dataclass(frozen=True, slots=True)
class MeterCoach:
    """Expected readings of every coil, and how to take them."""

    expected: tuple[Expected, ...]
    steps: tuple[str, ...]


def meter_coach(assessment: Assessment) -> MeterCoach:
    """Expected readings of every coil that is to be made."""
    model = assessment.model
    alpha = named.temperature_coefficient(model)
    out = []
    for pickup, coil in blocks.every_coil(model):
        path = blocks.coil_path(pickup, coil)
        fact = assessment.facts[f"{path}.dc_resistance"]
        kick = assessment.facts.get(f"{path}.kick")
        rows = []
        for celsius in TEMPERATURES:
            value, low, high = (
                at_temperature(v or 0.0, alpha, celsius + ZERO_CELSIUS) for v in (fact.number, fact.low, fact.high)
            )
            rows.append((celsius, figure(value, "ohm", low, high)))
        out.append(
            Expected(
                pickup,
                coil,
                figure(fact.number, "ohm", fact.low, fact.high),
                tuple(rows),
                "" if kick is None else str(kick.value),
            )
        )
    return MeterCoach(tuple(out), STEPS)
