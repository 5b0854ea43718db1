"""What cannot be built at all: parts in the same place, a coil inside out, names the catalogue does not know.

These are errors of the set file, not findings: nothing sensible can be computed from them. All are collected, each with
the key path it belongs to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lodestring.assess import blocks, string_blocks
from lodestring.assess.bodies_apart import bodies_apart
from lodestring.assess.circuit_check import circuit_obstacles
from lodestring.assess.findings.say import coil_name, mm
from lodestring.assess.model import Model
from lodestring.assess.sheets_apart import sheets_apart
from lodestring.design.cross_problem import Disagreement
from lodestring.design.fields import at
from lodestring.errors import CatalogueError, LodestringError
from lodestring.layout.pole_row import nearest_pair
from lodestring.layout.string_lines import Spread, spread_positions
from lodestring.quantity import Quantity
from lodestring.reference import enamel, magnet, metal, plastic, string_material, wire

Path = tuple[str | int, ...]
Each = Quantity | tuple[Quantity, ...]
CLEAR = 0.4e-3
"""Nearest a string's middle may come to a pole top [m]: nearer, the field along it cannot be followed."""
DEEPEST = 0.05
"""A coil deeper than this [m] from core to last turn is a slip of the pen."""


def obstacles(model: Model) -> list[Disagreement]:
    """Everything that keeps the set from being computed. Geometry is looked at only once every name is known."""
    names = list(_names(model))
    if names:
        return names
    return [*_geometry(model), *circuit_obstacles(model)]


def _known(path: Path, look_up: Callable[[], object]) -> Iterator[Disagreement]:
    try:
        look_up()
    except CatalogueError as error:
        yield Disagreement(path, error.must, error.came, error.attempt)


def _names(model: Model) -> Iterator[Disagreement]:
    design = model.inputs.design
    for number, string in enumerate(design.instrument.strings, 1):
        wrap = string.wrap
        if wrap is not None:
            yield from _known(("instrument", "strings", number, "wrap"), lambda wrap=wrap: string_material(wrap))  # type: ignore[misc]
    for pickup, record in design.pickup.items():
        for name, bar in (record.bar or {}).items():
            yield from _known(("pickup", pickup, "bar", name, "grade"), lambda bar=bar: magnet(bar.grade))  # type: ignore[misc]
        for part in ("cover", "baseplate"):
            sheet = getattr(record, part)
            if sheet is not None:
                yield from _known(("pickup", pickup, part, "material"), lambda s=sheet: _metal_or_plastic(s.material))  # type: ignore[misc]
        for coil, each in (record.coil or {}).items():
            path: Path = ("pickup", pickup, "coil", coil)
            yield from _known((*path, "wire", "size"), lambda w=each.wire: wire(w.size, w.film))  # type: ignore[misc]
            yield from _known((*path, "wire", "enamel"), lambda w=each.wire: enamel(w.enamel))  # type: ignore[misc]
            material = each.bobbin.plate.material
            yield from _known((*path, "bobbin", "plate", "material"), lambda m=material: plastic(m))  # type: ignore[misc]
            if each.foil is not None:
                yield from _known((*path, "foil", "material"), lambda f=each.foil: metal(f.material))  # type: ignore[misc]
            body = each.poles.body
            if body is not None:
                look = magnet if body.kind == "magnet" else metal
                yield from _known((*path, "poles", "body", "grade"), lambda look=look, b=body: look(b.grade))  # type: ignore[misc]
    workshop = model.inputs.workshop
    for spool in (workshop.spool if workshop else {}).values():
        wire(spool.wire.size, spool.wire.film)


def _metal_or_plastic(name: str) -> object:
    try:
        return metal(name)
    except CatalogueError as no_metal:
        try:
            return plastic(name)
        except CatalogueError as error:
            must = "a cover or a baseplate is of a metal or a plastic from the catalogue"
            raise CatalogueError(must, error.came, f"{no_metal.attempt}; or {error.attempt}") from None


def _geometry(model: Model) -> Iterator[Disagreement]:
    given = blocks.strings_in(model)
    for end, spread in (("nut", given.nut), ("bridge", given.bridge)):
        yield from _strings(("instrument", end), spread, given.diameters)
    yield from _radius(model, max(_half_span(s, given.diameters) for s in (given.nut, given.bridge)))
    yield from _places(model)
    coils = [d for pickup, coil in blocks.every_coil(model) for d in _coil(model, pickup, coil)]
    yield from coils
    if coils:  # bodies are set against one another once each is one
        return
    for pickup, record in model.inputs.design.pickup.items():
        if len(record.coil or {}) == 2:
            yield from _plates_apart(model, pickup)
        apart = list(bodies_apart(model, pickup))
        yield from apart
        if not apart and string_blocks.heard(model, pickup):
            yield from _clear_of_poles(model, pickup)
        if not apart:
            yield from sheets_apart(model, pickup)


def _clear_of_poles(model: Model, pickup: str) -> Iterator[Disagreement]:
    """Every string at rest passes clear over the pole piece nearest to it."""
    for number, (line, top) in enumerate(string_blocks.over_poles(model, pickup), 1):
        if line.z - top < CLEAR:
            yield Disagreement(
                ("pickup", pickup, "gap"),
                f"a string's middle must pass its pole piece at {CLEAR * 1e3:.1f} mm or more",
                f"string {number} at {(line.z - top) * 1e3:.2f} mm",
                "a greater gap, or lower pole pieces",
            )
            return


def _plates_apart(model: Model, pickup: str) -> Iterator[Disagreement]:
    """The plates of a pickup's two coils lie beside each other, along y or along x."""
    one, other = blocks.sides(model.inputs.design.pickup[pickup])
    rows = [blocks.row(model, pickup, c).inner for c in (one, other)]
    plates = [blocks.coil_of(model, pickup, c).bobbin.plate for c in (one, other)]
    along = abs(rows[0].cx - rows[1].cx) - sum(p.length.value for p in plates) / 2
    across = abs(rows[0].cy - rows[1].cy) - sum(p.width.value for p in plates) / 2
    if max(along, across) < -1e-6:
        yield Disagreement(
            ("pickup", pickup, "coil", other, "place"),
            f"the plates of coils {one} and {other} must lie beside each other",
            f"plates that overlap by {mm(max(along, across))}",
            "set the coils further apart, or narrower plates",
        )


def _half_span(spread: Spread, diameters: tuple[float, ...]) -> float:
    try:
        return abs(spread_positions(spread, diameters)[0])
    except LodestringError:
        return 0.0


def _radius(model: Model, half_span: float) -> Iterator[Disagreement]:
    radius = model.inputs.design.instrument.radius
    if radius != "flat" and radius.value <= 2.0 * half_span:
        yield Disagreement(
            ("instrument", "radius"),
            "the radius of the strings' curve is greater than their whole spread",
            f"{radius.text} over a spread of {2e3 * half_span:.1f} mm",
            '"12 in", or "flat"',
        )


def _strings(path: Path, spread: Spread, diameters: tuple[float, ...]) -> Iterator[Disagreement]:
    try:
        positions = spread_positions(spread, diameters)
    except LodestringError as error:
        yield Disagreement(path, error.must, error.came, error.attempt)
        return
    for i in range(len(positions) - 1):
        air = positions[i] - positions[i + 1] - (diameters[i] + diameters[i + 1]) / 2
        if air <= 0.0:
            yield Disagreement(
                path,
                "neighbouring strings must not touch",
                f"strings {i + 1} and {i + 2} {mm(air)} inside each other",
                "a wider spread",
            )
            return


def _places(model: Model) -> Iterator[Disagreement]:
    """Two pickups at one place: closer than half their widths together."""
    made = [
        (name, sum(blocks.place_of(model, name)) / 2, _half_width(model, name)) for name in model.inputs.design.pickup
    ]
    for i, (one, at_one, half_one) in enumerate(made):
        for other, at_other, half_other in made[i + 1 :]:
            if abs(at_one - at_other) < max(half_one + half_other, 1e-3):
                yield Disagreement(
                    ("pickup", other, "place"),
                    f"two pickups cannot be at one place: {one} and {other} need "
                    f"{mm(max(half_one + half_other, 1e-3))} "
                    "between their middles",
                    mm(at_one - at_other) if at_one != at_other else "the same place",
                    "measure both places from the bridge line",
                )


def _half_width(model: Model, pickup: str) -> float:
    record = model.inputs.design.pickup[pickup]
    halves = [
        abs(0.0 if c.place is None else c.place.value) + c.bobbin.plate.width.value / 2
        for c in (record.coil or {}).values()
    ]
    return max(halves, default=0.0)


def _coil(model: Model, pickup: str, coil: str) -> Iterator[Disagreement]:
    record = blocks.coil_of(model, pickup, coil)
    path: Path = ("pickup", pickup, "coil", coil)
    name = coil_name(model, pickup, coil)
    layout = record.poles.layout
    if layout.kind == "none" and (record.bobbin.core.length is None or record.bobbin.core.width is None):
        yield Disagreement(
            (*path, "bobbin", "core"),
            f"{name} has no pole pieces, so its core needs its own size",
            "none",
            '{ kind = "walled", length = "60 mm", width = "8 mm" }',
        )
        return
    if layout.length is not None and layout.thickness is not None and layout.length.value <= layout.thickness.value:
        yield Disagreement(
            (*path, "poles", "layout"),
            "a blade is longer than it is thick",
            f"in {name} {layout.length.text} long, {layout.thickness.text} thick",
            'length = "60 mm", thickness = "3 mm"',
        )
        return
    try:
        row = blocks.row(model, pickup, coil)
    except LodestringError as error:
        yield Disagreement((*path, "poles", "layout"), error.must, error.came, error.attempt)
        return
    body = record.poles.body
    pair = nearest_pair(row.centres)
    if pair is not None and body is not None and body.diameter is not None and pair[2] < body.diameter.value:
        yield Disagreement(
            (*path, "poles"),
            f"pole pieces must not overlap: in {name} numbers {pair[0] + 1} and {pair[1] + 1} are "
            f"{body.diameter.value * 1e3:.2f} mm thick",
            f"{pair[2] * 1e3:.2f} mm from centre to centre",
            "thinner pole pieces, or set them further apart",
        )
        return
    plate = record.bobbin.plate
    inner = row.inner
    if inner.width >= plate.width.value or inner.length >= plate.length.value:
        across = inner.width >= plate.width.value
        yield Disagreement(
            (*path, "bobbin", "plate"),
            f"the plates must stand out over the first turn: in {name} it is "
            f"{(inner.width if across else inner.length) * 1e3:.1f} mm {'wide' if across else 'long'}",
            f"plates {(plate.width if across else plate.length).text} {'wide' if across else 'long'}",
            "bigger plates or a thinner core",
        )
        return
    depth = blocks.copper(model, pickup, coil).depth_end
    if depth > DEEPEST:
        yield Disagreement(
            (*path, "turns"),
            f"a coil is at most {DEEPEST * 1e3:.0f} mm deep: {record.turns} "
            f"turns of {record.wire.size.label} in a window "
            f"of {record.bobbin.window.text}",
            f"{depth * 1e3:.0f} mm",
            "fewer turns or a higher window",
        )
    yield from _pole_depth(model, pickup, coil, name)


def _tops_and_lengths(height: Each, length: Each) -> list[tuple[Quantity, Quantity]]:
    """Height and length of each pole piece; one pair where both are single values."""
    count = max(len(v) if isinstance(v, tuple) else 1 for v in (height, length))
    return [(at(height, i), at(length, i)) for i in range(count)]


def _pole_depth(model: Model, pickup: str, coil: str, name: str) -> Iterator[Disagreement]:
    """A pole piece whose top lies below the coil, or whose foot lies above the top plate, is a slip of the pen."""
    record = blocks.coil_of(model, pickup, coil)
    body, height = record.poles.body, record.poles.height
    if body is None or height is None:
        return
    whole = 2 * record.bobbin.plate.thickness.value + record.bobbin.window.value
    for top, length in _tops_and_lengths(height, body.length):
        if top.value < -whole or top.value - length.value > 0.0:
            yield Disagreement(
                ("pickup", pickup, "coil", coil, "poles", "height"),
                f"a pole piece passes through the coil: in {name} it is {length.text} long",
                f"a top {top.text} above the plate",
                "check height and length",
            )
            return
