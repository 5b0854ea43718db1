"""Reading recordings: what a header says is not believed."""

from __future__ import annotations

import io
import struct
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from lodestring.errors import FileProblem
from lodestring.signal.recording import read_recording, wav_bytes

TONE = 0.25 * np.sin(np.linspace(0, 300, 9600))


def test_what_is_written_is_read_back_by_another_library() -> None:
    raw = wav_bytes(np.stack([TONE, -TONE]), 48000, 16)
    with wave.open(io.BytesIO(raw)) as file:  # the standard library's own reader
        assert (file.getnchannels(), file.getframerate(), file.getsampwidth()) == (2, 48000, 2)
        first = struct.unpack("<" + "h" * 20, file.readframes(10))
    assert first[0::2] == tuple(round(float(v) * 32768) for v in TONE[:10]) or np.allclose(
        first[0::2], TONE[:10] * 32768, atol=1.0
    )
    read = read_recording(raw)
    assert read.samples.shape == (2, 9600)
    assert float(np.max(np.abs(read.samples[0] - TONE))) < 1 / 32768
    assert (read.rate, read.bits, read.seconds) == (48000, 16, 0.2)


@pytest.mark.parametrize("kind", [("WAV", "PCM_24"), ("WAV", "FLOAT"), ("WAVEX", "PCM_24"), ("FLAC", "PCM_24")])
def test_the_usual_kinds_are_read(kind: tuple[str, str], tmp_path: Path) -> None:
    path = tmp_path / "a.bin"
    soundfile.write(path, TONE, 96000, format=kind[0], subtype=kind[1])
    assert float(np.max(np.abs(read_recording(path).samples[0] - TONE))) < 1e-6


def _made(**how: object) -> bytes:
    out = io.BytesIO()
    given = {"data": TONE, "samplerate": 48000, "format": "WAV", "subtype": "FLOAT", **how}
    soundfile.write(out, **given)
    return out.getvalue()


def _longer() -> bytes:
    """Two minutes and a bit of 8 kHz."""
    return _made(data=np.zeros(8000 * 121), samplerate=8000, subtype="PCM_U8")


def _lying() -> bytes:
    """A header that tells of four thousand million bytes."""
    raw = bytearray(wav_bytes(TONE, 48000))
    at = raw.index(b"data") + 4
    raw[at : at + 4] = b"\xf0\xff\xff\xff"
    return bytes(raw)


REFUSED = {
    "nothing": (b"", "cannot be read"),
    "no sound": (b"RIFF but no more than that", "cannot be read"),
    "three channels": (_made(data=np.zeros((100, 3))), "one channel or two"),
    "a telephone": (_made(samplerate=4000), "samples a second"),
    "past all cards": (_made(samplerate=384000), "samples a second"),
    "another format": (_made(format="AIFF"), "WAV or FLAC"),
    "no samples": (_made(data=np.zeros(0)), "must hold samples"),
    "not numbers": (_made(data=np.full(100, np.nan)), "must be a number"),
    "without end": (_made(data=np.full(100, np.inf)), "must be a number"),
    "two minutes and more": (_longer(), "may last"),
}


@pytest.mark.parametrize("raw", REFUSED.values(), ids=REFUSED)
def test_what_is_no_recording_is_refused_with_a_sentence(raw: tuple[bytes, str]) -> None:
    with pytest.raises(FileProblem, match=raw[1]):
        read_recording(raw[0])


def test_a_header_that_promises_more_than_there_is_gives_what_there_is() -> None:
    assert read_recording(_lying()).samples.shape == (1, 9600)


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="must be there"):
        read_recording(tmp_path / "none.wav")


@settings(max_examples=150, deadline=None)
@given(
    st.binary(max_size=200),
    st.integers(0, 60),
    st.sampled_from([wav_bytes(TONE[:200], 48000), _made(format="FLAC", subtype="PCM_16")]),
)
def test_mangled_files_give_a_sentence_or_samples(junk: bytes, at: int, raw: bytes) -> None:
    mangled = raw[:at] + junk + raw[at + len(junk) :]
    try:
        read = read_recording(mangled)
    except FileProblem:
        return
    assert read.samples.ndim == 2
    assert bool(np.isfinite(read.samples).all())
