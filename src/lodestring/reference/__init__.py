"""The catalogue: cited tables of wire, enamels, metals, magnets, plastics, waxes, strings, bands and cautions.

Facts stand in `data/*.toml`, each with its unit, spread, conditions, source, place in the source and how it is known; a
row that lacks one does not load. A table is read when it is first asked for. All figures come out in SI.

The modules behind this face are loaded on first use too (PEP 562): making the records costs more than the start-up of a
command that prints its help can spare.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lodestring.reference.bands import CoilKind, Criteria, band, band_row, coil_kinds
    from lodestring.reference.caution import CAUTION_STAGES, cautions
    from lodestring.reference.copper_wire import (
        Elongation,
        TensionBand,
        Wire,
        WireSize,
        elongation,
        gauge_diameter,
        gauge_number,
        tension_band,
        wire,
        wire_sizes,
    )
    from lodestring.reference.describing import describe
    from lodestring.reference.materials import (
        Coin,
        Enamel,
        Magnet,
        Metal,
        Plastic,
        Screw,
        StringMaterial,
        Wax,
        coins,
        enamel,
        magnet,
        metal,
        names,
        plastic,
        screw,
        string_material,
        wax,
    )
    from lodestring.reference.records import HOW_KNOWN, Row, Source, Spread, Value
    from lodestring.reference.store import Catalogue, catalogue

# module -> the names it gives; a test compares this with the imports above and with __all__
_FACE = {
    "bands": ("CoilKind", "Criteria", "band", "band_row", "coil_kinds"),
    "caution": ("CAUTION_STAGES", "cautions"),
    "copper_wire": (
        "Elongation",
        "TensionBand",
        "Wire",
        "WireSize",
        "elongation",
        "gauge_diameter",
        "gauge_number",
        "tension_band",
        "wire",
        "wire_sizes",
    ),
    "describing": ("describe",),
    "materials": (
        "Coin",
        "Enamel",
        "Magnet",
        "Metal",
        "Plastic",
        "Screw",
        "StringMaterial",
        "Wax",
        "coins",
        "enamel",
        "magnet",
        "metal",
        "names",
        "plastic",
        "screw",
        "string_material",
        "wax",
    ),
    "records": ("HOW_KNOWN", "Row", "Source", "Spread", "Value"),
    "store": ("Catalogue", "catalogue"),
}
_HOME = {name: module for module, given in _FACE.items() for name in given}

__all__ = [
    "CAUTION_STAGES",
    "HOW_KNOWN",
    "Catalogue",
    "CoilKind",
    "Coin",
    "Criteria",
    "Elongation",
    "Enamel",
    "Magnet",
    "Metal",
    "Plastic",
    "Row",
    "Screw",
    "Source",
    "Spread",
    "StringMaterial",
    "TensionBand",
    "Value",
    "Wax",
    "Wire",
    "WireSize",
    "band",
    "band_row",
    "catalogue",
    "cautions",
    "coil_kinds",
    "coins",
    "describe",
    "elongation",
    "enamel",
    "gauge_diameter",
    "gauge_number",
    "magnet",
    "metal",
    "names",
    "plastic",
    "screw",
    "string_material",
    "tension_band",
    "wax",
    "wire",
    "wire_sizes",
]


if not TYPE_CHECKING:  # else a type checker would take any name whatever for one of ours

    def __getattr__(name: str) -> Any:
        from importlib import import_module

        if name not in _HOME:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
        globals()[name] = found  # the next use does not come here
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
