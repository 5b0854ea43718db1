"""The last pages: every blocker, warning and note, and where the numbers come from."""

from __future__ import annotations

import re
from typing import Any

from lodestring.assess.report import Assessment
from lodestring.assess.uncertainty import methods
from lodestring.paper.glance import finding
from lodestring.reference import catalogue
from lodestring.version import __version__

OF_A_COIL = re.compile(r"^pickup\.[^.]+\.(coil\.[^.]+\.)?")
"""What all coils have in common is said once, without the names of pickup and coil."""


def findings_page(assessment: Assessment) -> list[dict[str, Any]]:
    """Every finding, the weightiest first."""
    return [finding(f) for f in assessment.findings]


def origins(assessment: Assessment) -> dict[str, Any]:
    """Methods and sources behind the figures of this set, each once, and what was assumed."""
    model = assessment.model
    used = [m for m in dict.fromkeys(spec.method for spec in model.specs().values()) if m in methods()]
    inputs = {i.name: i for key in model.specs() for i in model.inputs_of(key)}
    rows = sorted({row for i in inputs.values() for row in i.rows})
    reasons: dict[str, list[str]] = {}
    for name in sorted(inputs):
        if inputs[name].basis == "assumed":
            reasons.setdefault(inputs[name].why, []).append(OF_A_COIL.sub("", name))
    return {
        "methods": [{"name": m, "sentence": methods()[m].sentence} for m in used],
        "sources": _sources(rows),
        "assumed": [{"why": why, "names": ", ".join(dict.fromkeys(names))} for why, names in sorted(reasons.items())],
        "stamp": stamp(assessment),
    }


def _sources(rows: list[str]) -> list[dict[str, str]]:
    """Each source once, with the rows of the catalogue that come from it and how each is known."""
    known = catalogue()
    out: dict[str, list[str]] = {}
    for name in rows:
        row = known.row(name)
        out.setdefault(row.source, []).append(f"{row.title} ({row.known})")
    return [
        {"source": known.source(source).title, "rows": "; ".join(dict.fromkeys(titles))}
        for source, titles in sorted(out.items())
    ]


def stamp(assessment: Assessment) -> str:
    """Which program, catalogue, set and workshop made these figures."""
    hashes = assessment.model.inputs.hashes
    parts = [f"lodestring {__version__}", f"catalogue {short(catalogue().digest)}"]
    parts += [f"{name} {short(value)}" for name in ("set", "workshop") if (value := hashes.get(name))]
    return " · ".join(parts)


def short(digest: str) -> str:
    """The first eight signs of a hash."""
    return digest.removeprefix("sha256:")[:8]
