"""`read`: a text, told which quantity it is, or a sentence that says what is wrong and what to type instead."""

from __future__ import annotations

import re

from lodestring.errors import QuantityError
from lodestring.quantity.kinds import Kind, Quantity
from lodestring.quantity.note import read_note
from lodestring.quantity.numerals import Unread
from lodestring.quantity.showing import show, show_value
from lodestring.quantity.spelling import units
from lodestring.quantity.understanding import understand
from lodestring.quantity.wording import alternatives, quote

# Offered when nothing better can be made of what came.
EXAMPLES: dict[Kind, tuple[str, ...]] = {
    Kind.LENGTH: ("5 mm", "1/4 in"),
    Kind.MASS: ("120 g", "1.5 kg"),
    Kind.MASS_PER_LENGTH: ("15.8 g/m",),
    Kind.RESISTANCE: ("7.5 kOhm", "250k"),
    Kind.RESISTANCE_PER_LENGTH: ("5.4 ohm/m",),
    Kind.INDUCTANCE: ("2.5 H", "850 mH"),
    Kind.CAPACITANCE: ("4.7 nF", "22p"),
    Kind.CAPACITANCE_PER_LENGTH: ("100 pF/m", "30 pF/ft"),
    Kind.FREQUENCY: ("440 Hz", "3.5 kHz"),
    Kind.TEMPERATURE: ("62 C", "144 F"),
    Kind.FORCE: ("18 gf", "0.2 N"),
    Kind.FLUX_DENSITY: ("95 mT", "950 G"),
    Kind.TIME: ("20 min", "1.5 h"),
    Kind.ANGLE: ("10 deg",),
    Kind.TURN_RATE: ("200 turns/min",),
    Kind.PERCENT: ("80 %",),
    Kind.RATIO: ("0.65", "1/3"),
    Kind.DENSITY: ("8.9 g/cm3", "7850 kg/m3"),
    Kind.RESISTIVITY: ("17.2 nOhm m", "1.72 uOhm cm"),
}

# Which kind a foreign unit is taken to be of, where several have it: F is a temperature before it is a capacitance.
_LIKELY_FIRST = (Kind.LENGTH, Kind.MASS, Kind.TEMPERATURE, Kind.FLUX_DENSITY)
_GUESSES = (*_LIKELY_FIRST, *(k for k in Kind if k not in _LIKELY_FIRST and k is not Kind.RATIO))

_WIRE_SIZE = re.compile(r"(?:AWG ?[0-9]+|[0-9]+ ?AWG)", re.IGNORECASE)


def read(text: str | float, kind: Kind) -> Quantity:
    """The quantity in `text`, told that it is of `kind`; value and half-width in SI, each rounded once.

    A half-width may follow after ± (or +- or +/-), with its own unit, in the value's unit, or in per cent of the value.
    A ratio may also come as an int or a float. Raises QuantityError for everything else.
    """
    if not isinstance(text, str):
        return _not_text(text, kind)
    try:
        return understand(text, kind)[0]
    except Unread as unread:
        raise _refusal(unread, text, kind) from None


def _not_text(given: object, kind: Kind) -> Quantity:
    """A number where a text is wanted: taken for a ratio, refused with the likely text for everything else."""
    if isinstance(given, bool):
        came = f"the truth value {str(given).lower()}"
    elif isinstance(given, int | float):
        huge = isinstance(given, int) and given.bit_length() > 256
        if kind is Kind.RATIO:
            return Quantity(kind, given, None, "" if huge else repr(given))
        came = "a number too large to compute with" if huge else f"the bare number {given!r}"
        if not huge:
            likely = _readable(tuple(f"{given!r} {u}" for u in units(kind)[:2]), kind)
            if likely:
                raise QuantityError(f"{kind.phrase} must be a text with its unit", came, alternatives(likely))
    else:
        came = f"a value of type {type(given).__name__}"
    wanted = "a bare number" if kind is Kind.RATIO else "a text with its unit"
    raise QuantityError(f"{kind.phrase} must be {wanted}", came, alternatives(EXAMPLES[kind]))


def _refusal(unread: Unread, text: str, kind: Kind) -> QuantityError:
    must, tries = unread.must, _readable(unread.tries, kind)
    came = unread.came or quote(text)
    if unread.foreign or not unread.tries:
        other, meant = _other_reading(text, kind)
        if other:
            came += f", which reads as {other}"
            tries = tries or _readable(meant, kind)
        elif unread.foreign and units(kind):
            must += f", in {_listed(units(kind))}"
    return QuantityError(must, came, alternatives(tries or EXAMPLES[kind]))


def _readable(texts: tuple[str, ...], kind: Kind) -> tuple[str, ...]:
    """Those of `texts` that would be read, each once: what a sentence proposes must not be refused in turn."""
    kept: list[str] = []
    for text in texts:
        try:
            understand(text, kind)
        except Unread:
            continue
        if text not in kept:
            kept.append(text)
    return tuple(kept)


def _other_reading(text: str, kind: Kind) -> tuple[str, tuple[str, ...]]:
    """("a mass of 18 g", texts of the wanted kind that may be meant), or ("", ()) when `text` is no quantity at all."""
    if _WIRE_SIZE.fullmatch(text.strip()):
        return "a wire size", ()
    try:
        note = read_note(text)
    except QuantityError:
        pass
    else:
        return f"the note {note.name}", (show_value(note.frequency, Kind.FREQUENCY, "Hz", 6),)
    for other in _GUESSES:
        if other is kind:
            continue
        try:
            quantity, unit = understand(text, other)
        except Unread:
            continue
        return f"{other.phrase} of {show(quantity, unit.name, 12)}", ()
    return "", ()


def _listed(names: tuple[str, ...], most: int = 9) -> str:
    shown = names[:most]
    if len(names) > most:
        return f"{', '.join(shown)} ..."
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"
