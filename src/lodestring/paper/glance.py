"""Page 1: the set at a glance."""

from __future__ import annotations

from collections import Counter
from typing import Any

from lodestring.assess import blocks
from lodestring.assess.report import Assessment
from lodestring.design.fields import typed
from lodestring.design.finding import Finding
from lodestring.design.pickup import Pickup, Slant
from lodestring.drawing.coil_views import check_bar, place_view, polarity_view
from lodestring.making.polarity_map import polarity_map
from lodestring.paper.press import picture
from lodestring.paper.wording import coil_name, fact, fig, wire_name

SHOWN = 3
FED = {
    "the magnets themselves": "The rods are magnets",
    "a bar magnet under the row": "Fed by a bar magnet under the row",
    "no pole pieces": "No pole pieces",
}
STAGES: tuple[tuple[str, str, str], ...] = (
    ("drawn", "Draw", "places, spacing, plates, rods, housing: everything is free"),
    ("parts made", "Make the parts", "wire, turns, direction, tension, potting; plates and rods are fixed from here"),
    ("wound", "Wind", "fewer turns, splice, tape; after the last turn the coil's size is fixed"),
    ("potted", "Measure, then pot", "nothing inside a potted coil can be reached any more"),
    ("fitted", "Fit", "height, tilt, harness, recharging, swapping start and finish"),
)


def glance(assessment: Assessment, width: float) -> dict[str, Any]:
    """Everything page 1 shows; `width`: mm between its margins."""
    design = assessment.model.inputs.design
    instrument = design.instrument
    findings = assessment.findings
    places, scale = place_view(assessment, width)
    rest = Counter(f.severity for f in findings[SHOWN:])
    return {
        "strings": [
            {"number": str(i + 1), "note": s.note.text, "diameter": typed(s.diameter)}
            for i, s in enumerate(instrument.strings)
        ],
        "scale": typed(instrument.scale),
        "handed": instrument.handed,
        "frets": "none" if instrument.frets == 0 else str(instrument.frets),
        "radius": typed(instrument.radius) if instrument.radius != "flat" else "flat",
        "check": picture(check_bar(), "check"),
        "places": picture(places, "places"),
        "places_scale": f"1:{scale}",
        "pickups": [_pickup(assessment, name, record) for name, record in design.pickup.items()],
        "findings": [finding(f) for f in findings[:SHOWN]],
        "more": ""
        if not rest
        else "and " + ", ".join(f"{n} {counted(k, n)}" for k, n in rest.items()) + " at the end of this sheet",
        "polarity": _polarity(assessment),
        "intent": _intent(assessment),
        "stages": [
            {"title": title, "open": still, "findings": _ending(findings, stage), "stage": stage}
            for stage, title, still in STAGES
        ],
        "total": {
            k: fig(fact(assessment, f"set.{k}"))
            for k in ("wire_length", "wire_mass", "winding_time")
            if f"set.{k}" in assessment.facts
        },
        "circuit": "" if design.harness is None else str(design.harness.circuit),
    }


def counted(severity: str, count: int) -> str:
    """`note` or `notes`."""
    return severity if count == 1 else f"{severity}s"


def finding(found: Finding) -> dict[str, Any]:
    """A blocker, warning or note in words."""
    changes = [f"{path} = {value}" for path, value in (found.change or {}).items()]
    return {
        "severity": found.severity,
        "sentence": found.sentence,
        "try": found.attempt,
        "until": found.until,
        "about": found.about,
        "change": "; ".join(changes),
    }


def _ending(findings: tuple[Finding, ...], stage: str) -> str:
    count = Counter(f.severity for f in findings if f.until == stage)
    return ", ".join(f"{n} {counted(k, n)}" for k, n in count.items())


def _pickup(assessment: Assessment, name: str, record: Pickup) -> dict[str, Any]:
    place = record.place
    where = (
        f"{typed(place.first)} under string 1, {typed(place.last)} under the last"
        if isinstance(place, Slant)
        else typed(place)
    )
    gap = record.gap
    out: dict[str, Any] = {
        "name": name,
        "place": where,
        "gap": ""
        if gap is None
        else f"{typed(gap.first)} at string 1, {typed(gap.last)} at the last string, {gap.when}",
        "connect": "" if record.connect is None else f"Two coils in {record.connect}",
        "resistance": fig(fact(assessment, f"pickup.{name}.dc_resistance")),
        "coils": [_coil(assessment, name, coil) for coil in blocks.sides(record)],
        "kept": [],
    }
    if record.measured is not None:
        out["kept"] = _kept(assessment, name, record)
    return out


def _kept(assessment: Assessment, name: str, record: Pickup) -> list[dict[str, str]]:
    measured = record.measured
    assert measured is not None  # noqa: S101 - asked only for a kept pickup
    warm = "" if measured.temperature is None else f" at {typed(measured.temperature)}"
    rows = [
        ("Read", f"{typed(measured.resistance)}{warm}"),
        ("at 20 C", fact(assessment, f"pickup.{name}.dc_resistance").whole),
    ]
    if measured.inductance is not None:
        found = measured.inductance
        rows.append(("inductance", f"{typed(found.value)} at {typed(found.frequency)}, {found.mode} mode"))
    rows += [("end toward the strings", measured.up), ("meter kicks", measured.kick)]
    return [{"label": label, "text": text} for label, text in rows]


def _coil(assessment: Assessment, pickup: str, coil: str) -> dict[str, Any]:
    record, path = blocks.coil_of(assessment.model, pickup, coil), blocks.coil_path(pickup, coil)
    keys = ("dc_resistance", "outer_length", "outer_width", "wire_length", "wire_mass", "winding_time")
    return {
        "name": coil_name(assessment, pickup, coil),
        "turns": fact(assessment, f"{path}.turns").text,
        "wire": wire_name(assessment, pickup, coil),
        "wound": record.wound,
        "hot": record.hot,
        "figures": {k: fig(fact(assessment, f"{path}.{k}")) for k in keys},
    }


def _polarity(assessment: Assessment) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for i, coil in enumerate(polarity_map(assessment).coils):
        name = coil_name(assessment, coil.pickup, coil.coil)
        out.append(
            {
                "name": name,
                "picture": picture(polarity_view(coil.ends, f"Polarity of the {name} row"), f"pol{i}")
                if coil.ends
                else None,
                "up": coil.up,
                "fed_by": FED[coil.fed_by],
                "wound": coil.wound,
                "hot": coil.hot,
                "kick": coil.kick or "not one way",
            }
        )
    for name, record in assessment.model.inputs.design.pickup.items():
        if record.measured is not None:
            out.append(
                {"name": f"{name}, kept", "picture": None, "up": str(record.measured.up), "fed_by": "As measured",
                 "wound": "", "hot": "", "kick": str(record.measured.kick)}
            )  # fmt: skip
    return out


def _intent(assessment: Assessment) -> list[str]:
    intent = assessment.model.inputs.design.intent
    out = [f"{' and '.join(pair)} are meant to cancel hum together" for pair in intent.cancel_hum]
    out += [f"{' and '.join(pair)} are meant to be out of phase" for pair in intent.out_of_phase]
    return out
