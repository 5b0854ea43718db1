"""Potting is a gate: only after the cold readings pass, and only in a bath that the bobbin survives."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks
from lodestring.assess.findings.process import bath_limit
from lodestring.assess.report import Assessment
from lodestring.quantity.figures import ZERO_CELSIUS
from lodestring.reference import band


@dataclass(frozen=True, slots=True)
class PottingPlan:
    """One pickup: what it is fixed with, what must hold first, the steps, and what stands in the way (if anything)."""

    pickup: str
    kind: str
    gate: tuple[str, ...]
    steps: tuple[str, ...]
    obstacle: str


GATE = (
    "resistance is what the sheet says, coil cool",
    "coil to every pole piece, and coil to the cover: open",
    "the meter kicks the right way",
    "no doubt is left about any reading: wax hides a fault and keeps it",
)


def potting_plans(assessment: Assessment) -> tuple[PottingPlan, ...]:
    """A plan for each pickup that is to be made."""
    design = assessment.model.inputs.design
    return tuple(_plan(assessment, name) for name, record in design.pickup.items() if record.coil)


def _plan(assessment: Assessment, pickup: str) -> PottingPlan:
    record = assessment.model.inputs.design.pickup[pickup]
    potting = record.potting
    blocked = next(
        (
            f.sentence
            for f in assessment.findings
            if f.severity == "blocker" and f.code in ("plastic-softens-in-wax", "wax-hot") and f".{pickup}." in f.about
        ),
        "",
    )
    if potting is None or potting.kind == "none":
        return PottingPlan(
            pickup, "none", (), ("Not potted. Tap the cover and listen on the amplifier: it should not ring.",), ""
        )
    if potting.kind == "lacquer":
        brush = (
            "Brush thin lacquer round the coil, outdoors or with a fan; let it creep in, three thin coats.",
            "Let it dry a day between coats where there is air, and measure again.",
        )
        return PottingPlan(pickup, "lacquer", GATE, brush, "")
    temperature = potting.temperature
    bath = 0.0 if temperature is None else temperature.value - ZERO_CELSIUS
    limits = [
        bath_limit(blocks.coil_of(assessment.model, pickup, c).bobbin.plate.material) for c in blocks.sides(record)
    ]
    known = [band("wax.warn").spread().nominal, *(v for v in limits if v is not None)]
    hot = band("wax.hot-resistance").spread().nominal
    low, high = (band("wax.time").spread().low / 60, band("wax.time").spread().high / 60)
    cool = (band("wax.cooling").spread().low / 3600, band("wax.cooling").spread().high / 3600)
    steps = (
        f"Wax: {potting.paraffin or 0:g} parts paraffin, "
        f"{potting.beeswax or 0:g} parts beeswax, melted in a double boiler, "
        f"thermometer in the wax: {bath:.0f} C"
        f", never above {min(known) - ZERO_CELSIUS:.0f} C.",
        "Warm the coil first, so that wax does not set on its outside.",
        f"Hang it in the bath {low:.0f} to {high:.0f} min, or until no more bubbles come.",
        "Lift, drain, wipe eyelets and pole tops.",
        f"Let it cool {cool[0]:.0f} to {cool[1]:.0f} h, then measure: hot "
        f"from the bath it reads {100 * hot:.0f} per cent high.",
    )
    return PottingPlan(pickup, "wax", GATE, steps, blocked)
