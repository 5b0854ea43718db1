"""Wire: tension, stretch, and whether the spool holds enough."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import blocks, named
from lodestring.assess.findings.say import coil_name, finding, long, mass
from lodestring.assess.findings.say import pull as said
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.physics import wire


def find(model: Model) -> Iterator[Finding]:
    """Findings about tension coil by coil, then about each spool."""
    for pickup, coil in blocks.every_coil(model):
        yield from _tension(model, pickup, coil)
    yield from _spools(model)


def _tension(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    record = blocks.coil_of(model, pickup, coil)
    if record.tension is None:
        return
    pull = record.tension.value
    limits = named.tension_of(record.wire)
    bare = named.bare_diameter(model, record.wire)
    proof, _, _ = named.stretch_law(model, bare)
    path = f"{blocks.coil_path(pickup, coil)}.tension"
    name = coil_name(model, pickup, coil)
    usual = said(model, limits.usual_low, limits.usual_high)
    gentle = min((limits.usual_low + limits.usual_high) / 2, proof * wire.section(bare))
    change = {path: f'"{int(wire.grams_force(gentle))} gf"'}
    label = record.wire.size.label
    if pull >= limits.breaks_low:
        yield finding(
            "tension-breaks",
            "blocker",
            path,
            f"{name} is to be wound at {said(model, pull)}; {label} parts at "
            f"{said(model, limits.breaks_low, limits.breaks_high)}",
            f"{usual} is usual",
            change,
        )
    elif pull > limits.warn:
        yield finding(
            "tension-high",
            "warning",
            path,
            f"{name} is to be wound at {said(model, pull)}, above {said(model, limits.warn)} for {label}; "
            "a jerk parts it",
            f"{usual} is usual",
            change,
        )
    elif pull > proof * wire.section(bare):
        stretch = model.fact(f"{blocks.coil_path(pickup, coil)}.stretch")
        low, high = stretch.low or 0.0, stretch.high or 0.0
        yield finding(
            "tension-stretches",
            "note",
            path,
            f"at {said(model, pull)} the wire of {name} stretches for good by about {100 * stretch.number:.2f} "
            f"per cent ({100 * low:.2f} to {100 * high:.2f}), and its resistance goes up as much",
            f"{usual} is usual; the lower half does not stretch it",
            change,
            stretch.number,
        )


def _spools(model: Model) -> Iterator[Finding]:
    """Each coil alone must fit on the best spool of its wire; one finding for each coil that may not."""
    workshop = model.inputs.workshop
    if workshop is None:
        return
    for pickup, coil in blocks.every_coil(model):
        record = blocks.coil_of(model, pickup, coil)
        spools = {n: s for n, s in workshop.spool.items() if s.wire == record.wire}
        if not spools:
            continue
        name, spool = max(spools.items(), key=lambda item: item[1].mass.value - item[1].empty.value)
        need = model.fact(f"{blocks.coil_path(pickup, coil)}.wire_for_spool").number
        per_metre = named.mass_per_metre(model, record.wire)
        left = (spool.mass.value - spool.empty.value) / per_metre
        if left < need:
            yield finding(
                "spool-too-short",
                "warning",
                f"{blocks.coil_path(pickup, coil)}.turns",
                f"spool {name} holds about {long(model, left)} "
                f"({mass(model, spool.mass.value - spool.empty.value)}), and "
                f"{coil_name(model, pickup, coil)} takes {long(model, need)} "
                f"({mass(model, need * per_metre)}) with 10 per cent and {long(model, 20.0)} in reserve",
                "a fuller spool, or be ready to splice",
                None,
                (need - left) / need,
            )
