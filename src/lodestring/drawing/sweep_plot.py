"""A recorded sweep: impedance as it was measured, the fitted coil, and below it how far they lie apart."""

from __future__ import annotations

import numpy as np

from lodestring.drawing.look import SeriesLook
from lodestring.drawing.plot import Axes, Axis, Mark, Plot, Scale, Series, Span
from lodestring.proving.sweep_fit import FAR, SweepFit

CURVE_HEIGHT, REST_HEIGHT = 64.0, 40.0
"""Of the two plots on paper, mm."""


def sweep_plots(fit: SweepFit) -> tuple[Plot, Plot]:
    """The curve, and the residuals in standard deviations."""
    f = tuple(map(float, fit.frequency))
    low, high = f[0], f[-1]
    curve = Plot(
        Axes(Axis("frequency", "Hz", Scale.LOG, low, high), Axis("impedance", "ohm", Scale.LOG)),
        (
            Series("measured", "measured", f, tuple(map(float, np.abs(fit.measured))), SeriesLook.SECOND),
            Series("fitted", "fitted coil", f, tuple(map(float, np.abs(fit.model))), SeriesLook.FIRST),
        ),
        (Mark("resonance", "resonance", x=fit.resonance.value),) if low < fit.resonance.value < high else (),
        title="Impedance of the coil, measured and fitted",
        desc=f"Resistance, inductance, eddy losses and capacitance fitted to {len(f)} points of the sweep.",
        height_mm=CURVE_HEIGHT,
    )
    most = float(max(FAR, np.max(fit.residual)))
    rest = Plot(
        Axes(
            Axis("frequency", "Hz", Scale.LOG, low, high),
            Axis("apart, standard deviations", "1", low=0.0, high=1.1 * most),
        ),
        (Series("residual", "", f, tuple(map(float, fit.residual)), SeriesLook.FIRST),),
        bands=(Span("usual", "noise and model", 0.0, 3.0),),
        title="What the fit leaves over",
        desc="How far each point lies from the fitted coil; points far above the band were not counted in full.",
        height_mm=REST_HEIGHT,
    )
    return curve, rest
