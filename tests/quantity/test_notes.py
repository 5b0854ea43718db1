"""Notes. Witnesses: A4 = 440 Hz (ISO 16:1975); MIDI numbers, middle C (C4) = 60 and A4 = 69 (MIDI 1.0 specification).
Open strings of a guitar in equal temperament to 0.01 Hz: common practice, in every tuning chart, from memory (hi)."""

from __future__ import annotations

import pytest

from lodestring.errors import QuantityError
from lodestring.quantity import read_note


@pytest.mark.parametrize(
    ("text", "midi", "frequency"),
    [
        ("A4", 69, 440.00),
        ("C4", 60, 261.63),
        ("E2", 40, 82.41),
        ("A2", 45, 110.00),
        ("D3", 50, 146.83),
        ("G3", 55, 196.00),
        ("B3", 59, 246.94),
        ("E4", 64, 329.63),
        ("B1", 35, 61.74),
        ("C0", 12, 16.35),
        ("C9", 120, 8372.02),
    ],
)
def test_a_note_has_its_printed_frequency(text: str, midi: int, frequency: float) -> None:
    note = read_note(text)
    assert note.midi == midi
    # Charts print two decimals.
    assert note.frequency == pytest.approx(frequency, abs=0.005)


@pytest.mark.parametrize(
    ("text", "name"),
    [("F#3", "F#3"), ("F♯3", "F#3"), ("f#3", "F#3"), ("Bb2", "Bb2"), ("B♭2", "Bb2"), ("bb2", "Bb2"), ("b2", "B2")],
)
def test_an_accidental_may_be_typed_in_either_sign(text: str, name: str) -> None:
    assert (read_note(text).name, read_note(text).text) == (name, text)


@pytest.mark.parametrize(
    ("one", "other"), [("F#3", "Gb3"), ("A#2", "Bb2"), ("Cb4", "B3"), ("B#3", "C4"), ("E#2", "F2"), ("Fb2", "E2")]
)
def test_two_names_of_one_key_sound_alike(one: str, other: str) -> None:
    assert (read_note(one).midi, read_note(one).frequency) == (read_note(other).midi, read_note(other).frequency)


@pytest.mark.parametrize("letter", ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"])
@pytest.mark.parametrize("octave", range(8))
def test_an_octave_doubles_the_frequency(letter: str, octave: int) -> None:
    low, high = read_note(f"{letter}{octave}"), read_note(f"{letter}{octave + 1}")
    assert high.frequency == 2 * low.frequency
    assert high.midi - low.midi == 12


@pytest.mark.parametrize(
    "text", ["", "H3", "E", "3", "F##3", "Fb#3", "E 2", "E2 x", "E2\n", "E٢", "C-1", "Cb0", "C10", "C#9", "E99"]
)
def test_what_is_no_note_between_c0_and_c9_is_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="a note must"):
        read_note(text)
