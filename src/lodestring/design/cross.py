"""What fields must agree on: counts, names and references that one field alone cannot check."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from lodestring.design.coil import Coil
from lodestring.design.cross_harness import harness_problems
from lodestring.design.cross_problem import Disagreement
from lodestring.design.pickup import Pickup, Slant
from lodestring.design.pickup_set import PickupSet

MAX_STRINGS = 24


def problems_of(design: PickupSet) -> Iterator[Disagreement]:
    """Every disagreement between fields, in the order of the set file."""
    count = len(design.instrument.strings)
    if not 1 <= count <= MAX_STRINGS:
        yield Disagreement(("instrument", "strings"), f"an instrument has 1 to {MAX_STRINGS} strings", str(count))
        return
    for end in ("nut", "bridge"):
        centres = getattr(design.instrument, end).centres
        if centres is not None:
            yield from _centres(("instrument", end, "centres"), centres, count)
    for name, pickup in design.pickup.items():
        yield from _pickup(("pickup", name), pickup, design)
    yield from harness_problems(design)


def _centres(path: tuple[str | int, ...], centres: tuple, count: int) -> Iterator[Disagreement]:  # type: ignore[type-arg]
    if len(centres) != count:
        yield Disagreement(path, f"needs one centre for each of the {count} strings", str(len(centres)))
        return
    values = [c.value for c in centres]
    steps = [b - a for a, b in pairwise(values)]
    if not (all(s > 0 for s in steps) or all(s < 0 for s in steps)):
        yield Disagreement(
            path,
            "must run one way from string 1 to the last, all counted from one zero",
            str(steps and "they turn back"),
        )


def _pickup(path: tuple[str | int, ...], pickup: Pickup, design: PickupSet) -> Iterator[Disagreement]:
    instrument = design.instrument
    count = len(instrument.strings)
    places = [pickup.place.first, pickup.place.last] if isinstance(pickup.place, Slant) else [pickup.place]
    for place in places:
        if place.value >= instrument.scale.value:
            yield Disagreement(
                (*path, "place"),
                "a pickup sits between bridge and nut",
                f"{place.text} on a scale of {instrument.scale.text}",
            )
    if pickup.gap is not None and instrument.frets == 0 and pickup.gap.when != "at rest":
        yield Disagreement(
            (*path, "gap", "when"), "without frets the gap is measured at rest", f'"{pickup.gap.when}"', '"at rest"'
        )
    if pickup.string_centres is not None:
        yield from _centres((*path, "string_centres"), pickup.string_centres, count)
    ends = {f"{coil}.{end}" for coil in pickup.coil or {} for end in ("start", "finish")}
    metal: list[tuple[tuple[str, ...], str]] = []
    for part in ("cover", "baseplate"):
        record = getattr(pickup, part)
        if record is not None:
            metal.append(((part,), record.grounded_to))
    for name, coil in (pickup.coil or {}).items():
        metal.append((("coil", name, "poles"), coil.poles.grounded_to))
        if coil.foil is not None:
            metal.append((("coil", name, "foil"), coil.foil.grounded_to))
    for where, to in metal:
        if to not in {"ground", "nothing"} | ends:
            yield Disagreement(
                (*path, *where, "grounded_to"),
                f'must be "ground", "nothing" or a coil\'s end ({", ".join(sorted(ends)) or "there is none"})',
                f'"{to}"',
            )
    for name, coil in (pickup.coil or {}).items():
        yield from _coil((*path, "coil", name), coil, count)


def _coil(path: tuple[str | int, ...], coil: Coil, count: int) -> Iterator[Disagreement]:
    if coil.strings is not None:
        bad = [s for s in coil.strings if s > count]
        if bad:
            yield Disagreement((*path, "strings"), f"strings are numbered 1 to {count}", str(bad[0]))
        if len(set(coil.strings)) != len(coil.strings) or not coil.strings:
            yield Disagreement((*path, "strings"), "names each string once", str(list(coil.strings)))
    served = count if coil.strings is None else len(coil.strings)
    layout = coil.poles.layout
    pieces = {
        "one per string": served,
        "two per string": 2 * served,
        "blade": 1,
        "listed": len(layout.at or ()),
        "none": 0,
    }[layout.kind]
    if layout.kind == "listed" and pieces == 0:
        yield Disagreement(
            (*path, "poles", "layout", "at"), "lists at least one pole piece", "an empty list", 'kind = "none"'
        )
    if pieces == 1 and served > 1 and layout.kind != "blade":
        yield Disagreement(
            (*path, "poles", "layout"),
            f"one pole piece cannot serve {served} strings",
            "one pole piece",
            "strings = [3] for the string it serves, or a blade",
        )
    fields = {"up": coil.poles.up, "height": coil.poles.height, "state": coil.poles.state}
    if coil.poles.body is not None:
        fields["body.length"] = coil.poles.body.length
    for key, value in fields.items():
        if isinstance(value, tuple) and len(value) != pieces:
            yield Disagreement(
                (*path, "poles", *key.split(".")),
                f"a list here has one value for each of the {pieces} pole pieces, or is a single value",
                f"{len(value)} values",
            )
