"""Note names: `F#3` -> MIDI number and frequency.

Scientific pitch notation (C4 is middle C, the octave number changes at C), equal temperament, A4 = 440 Hz
(ISO 16:1975).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from lodestring.errors import QuantityError
from lodestring.quantity.wording import alternatives, quote

A4_FREQUENCY = 440.0
A4_MIDI = 69
LOWEST_MIDI = 12  # C0
HIGHEST_MIDI = 120  # C9
_TEXT_LIMIT = 20

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NOTE = re.compile(r"([A-Ga-g])([#b\u266f\u266d]?)(-?[0-9]{1,2})")
_ACCIDENTALS = {"": "", "#": "#", "\u266f": "#", "b": "b", "\u266d": "b"}
_SHIFTS = {"": 0, "#": 1, "b": -1}


@dataclass(frozen=True, slots=True)
class Note:
    """name: letter, # or b, octave ("F#3"). midi: 12..120. frequency: Hz. text: as typed, no part of equality."""

    name: str
    midi: int
    frequency: float
    text: str = field(default="", compare=False)


def read_note(text: str | float) -> Note:
    """The note in `text`: a letter A to G, perhaps # ♯ b ♭, and the octave, C0 to C9; else QuantityError."""
    if not isinstance(text, str):
        raise QuantityError("a note must be a text", f"a value of type {type(text).__name__}", alternatives(("E2",)))
    match = _NOTE.fullmatch(text.strip(" ")) if len(text) <= _TEXT_LIMIT else None
    if match is None:
        must = "a note must be a letter A to G, perhaps # or b, and an octave"
        raise QuantityError(must, quote(text), alternatives(("E2", "F#3", "Bb2")))
    letter, accidental, octave = match[1].upper(), _ACCIDENTALS[match[2]], int(match[3])
    # The octave belongs to the letter: Cb4 sounds as B3, B#3 as C4.
    midi = 12 * (octave + 1) + _SEMITONES[letter] + _SHIFTS[accidental]
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise QuantityError("a note must lie between C0 and C9", quote(text), alternatives(("E2",)))
    return Note(f"{letter}{accidental}{octave}", midi, _frequency(midi), text)


def _frequency(midi: int) -> float:
    """Hz. Octaves and semitones apart, so that an octave doubles the frequency exactly."""
    octaves, semitones = divmod(midi - A4_MIDI, 12)
    return math.ldexp(A4_FREQUENCY * 2.0 ** (semitones / 12), octaves)
