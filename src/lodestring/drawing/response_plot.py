"""Response at the jack against frequency: all positions of the selector, or one position over a control's travel.

Decibels are against the response at 100 Hz: below it nothing in a passive harness moves it.
"""

from __future__ import annotations

import numpy as np

from lodestring.assess import circuit, circuit_facts, circuit_net
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.model import Model
from lodestring.drawing.figures import engineering
from lodestring.drawing.look import SeriesLook
from lodestring.drawing.plot import Axes, Axis, Plot, Scale, Series
from lodestring.errors import DomainError
from lodestring.physics.ring import Array

LOW, HIGH = 20.0, 20e3
"""Ends of the frequency axis, Hz."""
TOGETHER = 5
"""Curves in one plot at most: there are as many looks."""
DEEPEST = -24.0
"""Nothing below this is drawn, dB; a control turned down takes the whole response below any floor."""
RESPONSE_HEIGHT, FAMILY_HEIGHT = 64.0, 56.0
"""Of the two kinds of plot on paper, mm."""
SETTINGS = tuple(i / 10 for i in range(11))
"""Travel of a control, from fully down to fully up."""


def response_plots(model: Model) -> tuple[Plot, ...]:
    """All positions, every control fully up, five to a plot; none without a harness."""
    names = circuit_net.position_names(model)
    parts = [names[i : i + TOGETHER] for i in range(0, len(names), TOGETHER)]
    return tuple(_positions(model, part, len(parts) > 1) for part in parts)


def _positions(model: Model, names: tuple[str, ...], several: bool) -> Plot:
    series, told = [], []
    for name in names:
        size = circuit_facts.curve(model, name)
        frequency, height = circuit_facts.peak(size)
        at = engineering(frequency, "Hz")
        told.append(f"{name} {at} {height:+.1f} dB" if height > 0 else f"{name} falls from {at} on")
        series.append(_series(name, name, size, float(circuit.at(size, circuit_facts.LOW))))
    some = f", {names[0]} to {names[-1]}" if several else ""
    return Plot(
        _axes(), tuple(series),
        title=f"Response of each position{some}",
        desc=f"Controls fully up, with cable and input. Peaks: {', '.join(told)}.",
        height_mm=RESPONSE_HEIGHT,
    )  # fmt: skip


def travel_plot(model: Model, position: str, control: str) -> Plot:
    """One position over the travel of one control in 11 settings, the others fully up; 10 is fully up.

    Decibels are against 100 Hz with the control fully up, so that what it takes from everything shows as well.
    Raises DomainError for a position or control there is not.
    """
    for what, name, known in (
        ("position", position, circuit_net.position_names(model)),
        ("control", control, circuit_net.travels(model)),
    ):
        if name not in known:
            raise DomainError(f"a response is drawn for a {what} there is", f'"{name}"', f"one of {', '.join(known)}")
    sizes = circuit_facts.shape(model, position, circuit.family(model, position, control, SETTINGS).transfer)
    middle = 5 if control == "blend" else 10
    reference = float(circuit.at(sizes[middle], circuit_facts.LOW))
    series = []
    for i, size in enumerate(sizes):
        look = {0: SeriesLook.THIRD, 5: SeriesLook.SECOND, 10: SeriesLook.FIRST}.get(i, SeriesLook.BETWEEN)
        if _decibels(size, reference)[1].max() >= DEEPEST:
            label = "" if look is SeriesLook.BETWEEN else f"{i}"
            series.append(_series(f"travel-{i}", label, size, reference, look))
    shown = "10 is fully up" if control != "blend" else "5 is the middle"
    return Plot(
        _axes(), tuple(series),
        title=f"{position}: {control.replace('.', ' ')} control over its travel",
        desc=f"Eleven settings of the {control} control, 0 to 10, {shown}; the others fully up.",
        height_mm=FAMILY_HEIGHT,
    )  # fmt: skip


def _axes() -> Axes:
    return Axes(Axis("frequency", "Hz", Scale.LOG, LOW, HIGH), Axis("against 100 Hz", "dB", low=DEEPEST))


def _decibels(size: Array, reference: float) -> tuple[Array, Array]:
    inside = FREQUENCIES[(FREQUENCIES > LOW) & (FREQUENCIES < HIGH)]
    f = np.array([LOW, *inside, HIGH])
    values = np.maximum(np.real(circuit.at(size.astype(complex), f)), 1e-12 * reference)
    decibels: Array = 20.0 * np.log10(values / reference)
    return f, decibels


def _series(id: str, label: str, size: Array, reference: float, look: SeriesLook | None = None) -> Series:
    f, decibels = _decibels(size, reference)
    return Series(id, label, tuple(map(float, f)), tuple(map(float, decibels)), look)


__all__ = ["FAMILY_HEIGHT", "RESPONSE_HEIGHT", "SETTINGS", "TOGETHER", "response_plots", "travel_plot"]
