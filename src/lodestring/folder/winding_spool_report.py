"""The report of a spool: metres left and what they rest on, its sample, the coils drawn from it, what still fits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lodestring.assess import blocks
from lodestring.assess.model import Model
from lodestring.book.store import Book
from lodestring.design.coil import Wire
from lodestring.errors import LodestringError
from lodestring.folder.open_set import open_set
from lodestring.folder.places import set_path
from lodestring.folder.shelf import shelf
from lodestring.folder.winding_spool import SpoolKnown, known, left, sample_of
from lodestring.making.spool_left import Holds, fits, same_wire
from lodestring.quantity.figures import Figure, figure

WORDS = {
    "yes": "The next coil fits in one piece, reserve counted.",
    "perhaps": "The next coil fits in one piece only without its reserve: weigh the spool before you begin.",
    "no": "The next coil does not fit in one piece: it would have to be spliced, or wound from another spool.",
    "unknown": "Weigh the spool, full and empty, to learn whether the next coil fits.",
}


@dataclass(frozen=True, slots=True)
class SpoolCoil:
    """A coil drawn from this spool: wire on it and wire that went to waste at snaps."""

    serial: str
    turns: int
    metres: Figure
    wasted: Figure | None
    state: str


@dataclass(frozen=True, slots=True)
class NextFit:
    """A coil that could be wound next, the wire it needs with its reserve, and whether it fits in one piece."""

    set_name: str
    pickup: str
    coil: str
    needed: Figure
    fits: str
    sentence: str


@dataclass(frozen=True, slots=True)
class SampleReport:
    """The last sample: what it read for 10 m at 20 C, what was expected, and which wire it probably is."""

    ohm_per_10_m: Figure
    expected: Figure
    agrees: bool
    likely: str
    others: tuple[tuple[str, Figure], ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class SpoolReport:
    """Everything that is known of a spool. Figures are None where nothing says them; `words`: what to know or do."""

    name: str
    wire: str
    mass_now: Figure | None
    wire_mass: Figure | None
    metres: Figure | None
    booked: Figure | None
    source: str
    sample: SampleReport | None
    coils: tuple[SpoolCoil, ...]
    next: tuple[NextFit, ...]
    words: tuple[str, ...]


def spool_report(folder: Path, book: Book, name: str) -> SpoolReport:
    """Everything that is known of a spool. Raises BookProblem."""
    spool = known(folder, book, name)
    coils = list(_next_coils(folder, spool.wire))
    model = coils[0][3] if coils else _any_model(folder)
    units = None if model is None else model.inputs.units
    there = None if model is None else left(spool, model)
    words = list(_words(spool))
    next_ = tuple(_fit(set_name, p, c, m, there) for set_name, p, c, m in coils)
    if any(f.fits in ("no", "perhaps") for f in next_):
        words.insert(0, next(f.sentence for f in next_ if f.fits in ("no", "perhaps")))
    say: Mapping[str, Any] = {} if units is None else {"units": units}
    mass = spool.wire_mass
    now = None if spool.mass is None else spool.mass - spool.drawn
    half = spool.wire_half
    return SpoolReport(
        name,
        f"{spool.wire.size.label}, {spool.wire.film} {spool.wire.enamel}",
        None if now is None else figure(now, "kg", now - half, now + half, **say),
        None if mass is None else figure(mass, "kg", max(0.0, mass - half), mass + half, **say),
        None if there is None else figure(there.metres, "m", there.low, there.high, **say),
        figure(spool.booked, "m", **say) if spool.mass is not None and spool.booked > 0.0 else None,
        spool.source,
        None if model is None else _sample_report(spool, model),
        tuple(
            SpoolCoil(
                state.serial,
                state.turns,
                figure(metres, "m", **say),
                figure(wasted, "m", **say) if wasted > 0.0 else None,
                state.ended or "winding",
            )
            for state, metres, wasted in spool.coils
        ),
        next_,
        tuple(words),
    )


def _words(spool: SpoolKnown) -> Iterator[str]:
    if spool.empty is None:
        yield "Weigh an empty spool like this one: only then do metres follow from grams."
    if spool.mass is None:
        yield "Weigh the spool before the first turn, standing, the wire not pulled."
    if spool.sample is None:
        yield "Read the ohms of 10 m, five loops round two nails 1 m apart: it catches a wrong spool."


def _sample_report(spool: SpoolKnown, model: Model) -> SampleReport | None:
    found = sample_of(spool.wire, spool.sample)
    if found is None:
        return None
    ten, half = 10.0 * found.ohm_per_metre, 10.0 * found.half_width
    return SampleReport(
        figure(ten, "ohm", ten - half, ten + half),
        figure(found.expected.value, "ohm", found.expected.low, found.expected.high),
        found.agrees,
        found.likely,
        tuple((n, figure(s.value, "ohm", s.low, s.high)) for n, s in found.others),
        found.sentence,
    )


def _fit(set_name: str, pickup: str, coil: str, model: Model, there: Holds | None) -> NextFit:
    need = model.fact(f"{blocks.coil_path(pickup, coil)}.wire_for_spool")
    bare = model.fact(f"{blocks.coil_path(pickup, coil)}.wire_length").number
    answer = fits(bare, need.number, there)
    units = model.inputs.units
    return NextFit(set_name, pickup, coil, figure(need.number, "m", need.low, need.high, units), answer, WORDS[answer])


# ---- inside ----


def _next_coils(folder: Path, wire: Wire) -> Iterator[tuple[str, str, str, Model]]:
    """Every coil of the folder's sets that is to be wound with this wire."""
    for entry in shelf(folder):
        if entry.problem or not entry.usable:
            continue
        try:
            model = open_set(set_path(folder, entry.name)).model
        except LodestringError:
            continue
        for pickup, coil in blocks.every_coil(model):
            if same_wire(blocks.coil_of(model, pickup, coil).wire, wire):
                yield entry.name, pickup, coil, model


def _any_model(folder: Path) -> Model | None:
    """A model of any set: what copper weighs does not hang on the set."""
    for entry in shelf(folder):
        try:
            return open_set(set_path(folder, entry.name)).model
        except LodestringError:
            continue
    return None
