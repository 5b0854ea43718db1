"""The coil card of a finished coil: what was wound and measured, from the book, beside what was drawn."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import named
from lodestring.assess.model import Model
from lodestring.assess.shown import shown, size_said
from lodestring.book.fold import CoilState
from lodestring.book.store import Book
from lodestring.errors import LodestringError
from lodestring.folder.winding_learned import wound
from lodestring.folder.winding_measured import Measured, measured, sizes
from lodestring.folder.winding_set import WoundSet
from lodestring.folder.winding_stages import stage_of
from lodestring.making.coil_as_it_is import with_turns
from lodestring.making.winding_plan import grouped
from lodestring.paper.coil_card import CardRow, CoilCard, coil_card_pdf
from lodestring.physics import wire
from lodestring.quantity import USUAL
from lodestring.quantity.figures import figure
from lodestring.version import __version__

ROWS = 7
"""More than a card has room for; the ones that come first tell most."""
EVENTS = 6
KEYS = {
    "resistance": "dc_resistance",
    "inductance": "inductance_1khz",
    "resonance": "self_resonance",
    "end": "outer_length",
    "side": "outer_width",
    "outer_length": "outer_length",
    "outer_width": "outer_width",
    "wire_mass": "wire_mass",
    "kick": "kick",
}
FIRST = ("resistance", "inductance", "resonance", "end", "side", "outer_length", "outer_width", "kick", "field")


def coil_card(book: Book, serial: str, paper: str = "a4") -> bytes:
    """The card as a PDF on "a4" or "letter". Raises BookProblem, LodestringError for a paper there is not."""
    return coil_card_pdf([card_record(book, serial)], paper).pdf


def card_record(book: Book, serial: str) -> CoilCard:
    """The card as a record, for a page."""
    state, here = wound(book, serial)
    return CoilCard(
        serial,
        here.title or "an old coil",
        f"{here.pickup} pickup, {here.coil} coil" if here.pickup else "unwound",
        ("about " if _estimated(state) else "") + grouped(max(0, state.turns)),
        _wire(here),
        tuple(_facts(state, here)),
        tuple(_rows(state, here))[:ROWS],
        tuple(_events(state))[:EVENTS],
        tuple(_dates(state)),
        f"lodestring {__version__}",
    )


def _estimated(state: CoilState) -> bool:
    return (state.base or {}).get("why") == "estimate"


def _wire(here: WoundSet) -> str:
    record = here.record
    if record is None or here.model is None:
        return ""
    said = size_said(record.wire.size, here.model.inputs.units)
    return f"{said}, {record.wire.film} {record.wire.enamel}"


def _facts(state: CoilState, here: WoundSet) -> Iterator[tuple[str, str]]:
    record = here.record
    if record is not None:
        yield "wound", f"{record.wound}, seen from the strings, start to finish"
        yield "hot", f"{record.hot} wire"
        if state.turns != record.turns:
            yield "drawn with", f"{grouped(record.turns)} turns"
    if here.spool:
        yield "spool", here.spool


def _rows(state: CoilState, here: WoundSet) -> Iterator[CardRow]:
    """Measured values, those that tell most first, with what was drawn for the turns that are really on it."""
    model = _model(state, here)
    units = USUAL if model is None else model.inputs.units
    found = [*measured(state, units), *sizes(state, units)]
    found.sort(key=lambda m: FIRST.index(m.quantity) if m.quantity in FIRST else len(FIRST))
    for m in found:
        yield CardRow(m.label.replace(", last check", ""), m.text, _drawn(m, model, here))


def _model(state: CoilState, here: WoundSet) -> Model | None:
    if here.model is None or state.turns < 1 or here.unwind:
        return None
    record = here.record
    if record is not None and record.turns == state.turns:
        return here.model
    return with_turns(here.model, here.pickup, here.coil, state.turns)


def _drawn(found: Measured, model: Model | None, here: WoundSet) -> str:
    key = f"{here.path}.{KEYS.get(found.quantity, '')}"
    if model is None or key not in model.specs():
        return ""
    try:
        fact = model.fact(key)
        if found.quantity == "resistance" and found.temperature is not None:
            return _warmed(model, fact.number, fact.low or fact.number, fact.high or fact.number, found.temperature)
        return shown(fact, model.inputs.units).whole
    except LodestringError:
        return ""


def _warmed(model: Model, value: float, low: float, high: float, temperature: float) -> str:
    """Resistance as drawn, at the temperature at which the coil was read: copper gains 0.39 % a kelvin."""
    coefficient = named.temperature_coefficient(model)
    ends = (wire.at_temperature(v, coefficient, temperature) for v in (value, low, high))
    at, down, up = ends
    return figure(at, "ohm", down, up, model.inputs.units).whole


def _events(state: CoilState) -> Iterator[str]:
    for n in state.snaps:
        turn = grouped(max(0, n.turns))
        cause = f" ({n.body['cause']})" if n.body.get("cause") else ""
        what = {"spliced": "spliced", "kept": "kept short", "scrapped": "scrapped"}[str(n.body["then"])]
        yield f"wire snapped at turn {turn}{cause}, {what}"
    if state.snags:
        yield "snag at turn " + ", ".join(grouped(max(0, n.turns)) for n in state.snags[:4])
    for n in state.waxes[-1:]:
        warm = float(n.body["temperature"]) - 273.15
        yield f"wax potting {warm:.0f} C, {figure(60.0 * float(n.body['minutes']), 's').text}"
    if _estimated(state):
        base = state.base or {}
        if base.get("low") is not None and base.get("high") is not None:
            yield f"count estimated, {grouped(int(base['low']))} to {grouped(int(base['high']))} turns"


def _dates(state: CoilState) -> Iterator[tuple[str, str]]:
    begun = next((n.at[:10] for n in state.history if n.kind == "coil.begin"), "")
    if begun:
        yield "begun", begun
    end = next((n.at[:10] for n in reversed(state.history) if n.kind == "coil.end"), "")
    if end:
        yield stage_of(state) if stage_of(state) != "winding" else "left", end
