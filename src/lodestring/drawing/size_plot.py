"""Expected width of a coil at mid-side against turns: what the calipers should say at any pause."""

from __future__ import annotations

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.drawing.plot import Axes, Axis, Band, Mark, Plot, Series
from lodestring.quantity.figures import figure

POINTS = 9
AS_READ = 0.4e-4
"""Half-width [m] for which a figure is said to a tenth of a millimetre, as calipers are read in a hurry."""


def size_plot(assessment: Assessment, pickup: str, coil: str) -> Plot:
    """Width at mid-side [m] against turns, without tape, with its 90 % interval; and the width of the plates."""
    model = assessment.model
    turns = blocks.coil_of(model, pickup, coil).turns
    inner, plate = blocks.row(model, pickup, coil).inner, blocks.plate(model, pickup, coil)
    steps = sorted({max(1, round(turns * i / (POINTS - 1))) for i in range(1, POINTS)})
    found = [
        model.estimate(
            ("width at", pickup, coil, n),
            lambda m, n=n: float(blocks.copper(m, pickup, coil, n).outer_width),  # type: ignore[misc]
            "coil.outline",
        )
        for n in steps
    ]
    start = inner.width
    x = (0.0, *map(float, steps))
    name, units = f"{pickup} {coil}", assessment.units
    said = [figure(v, "m", v - AS_READ, v + AS_READ, units).text for v in (start, found[-1].value)]
    return Plot(
        Axes(Axis("turns", "1", low=0.0, high=float(turns)), Axis("width at mid-side, no tape", "m", units=units)),
        (Series("width", "expected", x, (start, *(f.value for f in found))),),
        (Mark("plate", "edge of the plates", y=plate.width),),
        (Band("width-interval", x, (start, *(f.low for f in found)), (start, *(f.high for f in found)), "width"),),
        title=f"Expected width of the {name} coil",
        desc=f"Width at mid-side from {said[0]} to {said[1]} at {turns} turns.",
        height_mm=52.0,
    )
