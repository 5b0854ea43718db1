"""Response of each position over frequency: controls fully up, and over the travel of each control by itself."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from lodestring.assess import circuit, circuit_facts, circuit_net
from lodestring.assess.curve import Axis, Curve, Kind, Points
from lodestring.assess.model import Model

FREQUENCIES: Points = tuple(float(f) for f in np.geomspace(20.0, 20e3, 400))
MAINS: Points = tuple(float(f) for base in (50, 60) for f in range(base, 20 * base + 1, base))
"""50 and 60 Hz and their harmonics up to the twentieth, in order."""
MAINS = tuple(sorted(set(MAINS)))
SETTINGS = 11
"""Settings of a control, from fully down (0) to fully up (10 tenths of its travel)."""
RESPONSE = Kind("dB", "response at the jack, every control fully up, against 100 Hz")
HUM = Kind(
    "V.s/T",
    "volts at the jack per tesla and radian per second of a uniform field along the pole pieces, mains and harmonics",
)
BY_TRAVEL = Kind("dB", "the same with CONTROL at T tenths of its travel, against every control fully up at 100 Hz")


def position_curves(model: Model) -> list[Curve]:
    """Curves of every position: `position.NAME.response`, `position.NAME.response.CONTROL.T`, `position.NAME.hum`."""
    out: list[Curve] = []
    for position in circuit_net.position_names(model):
        key = f"position.{position}.response"
        out.append(_curve(key, _fully_up(model, position)))
        if circuit_facts.all_made(model, ("position", position)):
            out.append(
                Curve(f"position.{position}.hum", Axis("Hz", "frequency"), Axis("V.s/T"), MAINS, _hum(model, position))
            )
        for control in circuit_net.travels(model):
            name = control.replace(".", "-")
            out += [_curve(f"{key}.{name}.{t}", _turned(model, position, control, t)) for t in range(SETTINGS)]
    return out


def _curve(key: str, make: Callable[[], Points]) -> Curve:
    return Curve(key, Axis("Hz", "frequency"), Axis("dB"), FREQUENCIES, make)


def _decibels(model: Model, position: str, size: np.ndarray) -> Points:
    low = float(circuit.at(circuit_facts.curve(model, position), circuit_facts.LOW))
    values = 20.0 * np.log10(np.maximum(circuit.at(size, np.array(FREQUENCIES)), 1e-9 * low) / low)
    return tuple(float(v) for v in values)


def _fully_up(model: Model, position: str) -> Callable[[], Points]:
    return lambda: _decibels(model, position, circuit_facts.curve(model, position))


def _hum(model: Model, position: str) -> Callable[[], Points]:
    return lambda: tuple(circuit_facts.hum_at(model, position, f) for f in MAINS)


def _turned(model: Model, position: str, control: str, tenths: int) -> Callable[[], Points]:
    def make() -> Points:
        def family() -> np.ndarray:
            travels = tuple(t / (SETTINGS - 1) for t in range(SETTINGS))
            return circuit_facts.shape(model, position, circuit.family(model, position, control, travels).transfer)

        return _decibels(model, position, model.block(("family", position, control), family)[tenths])

    return make
