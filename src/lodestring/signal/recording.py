"""Reading a recording: WAV or FLAC, its header looked at before its samples.

A header may say anything: what is read is bounded by our own limits, never by what the header asks for.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lodestring.errors import FileProblem

Array = NDArray[np.float64]

LONGEST = 120.0
"""Seconds."""
CHANNELS = 2
FASTEST = 192000
"""Samples a second."""
FORMATS = ("WAV", "WAVEX", "FLAC")
ADVICE = "recording again as WAV or FLAC, one or two channels, 44,100 to 192,000 samples a second, at most two minutes"


@dataclass(frozen=True, slots=True)
class Recording:
    """`samples` (channels, n), full scale 1; `rate` samples a second; `bits` of a whole-number format, else 0."""

    samples: Array
    rate: int
    bits: int = 0

    @property
    def seconds(self) -> float:
        """How long it is."""
        return float(self.samples.shape[1] / self.rate)


def read_recording(source: Path | bytes, name: str = "the recording") -> Recording:
    """A recording from a file or its bytes. Raises FileProblem for what cannot be read or is past the limits."""
    import soundfile

    handle = source if isinstance(source, Path) else io.BytesIO(source)
    if isinstance(handle, Path) and not handle.is_file():
        raise FileProblem(f'"{handle}" must be there', "no such file", "its path again")
    try:
        with soundfile.SoundFile(handle) as file:
            _check_header(file, name)
            most = round(LONGEST * file.samplerate)
            read = file.read(frames=most + 1, dtype="float64", always_2d=True)
            rate, kind = int(file.samplerate), str(file.subtype)
    except (soundfile.SoundFileError, RuntimeError, OSError, ValueError, TypeError) as error:
        came = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        raise FileProblem(f"{name} must be a WAV or FLAC file", f"one that cannot be read ({came})", ADVICE) from None
    if len(read) > most:
        raise FileProblem(f"{name} may last {LONGEST:.0f} s", "a longer one", ADVICE)
    if not len(read):
        raise FileProblem(f"{name} must hold samples", "none", "recording again")
    if not bool(np.isfinite(read).all()):
        raise FileProblem(f"every sample of {name} must be a number", "some that are none", "recording again")
    bits = int(kind[4:]) if kind.startswith("PCM_") and kind[4:].isdigit() else 0
    return Recording(np.ascontiguousarray(read.T), rate, bits)


def _check_header(file: object, name: str) -> None:
    kind, channels, rate = (getattr(file, n) for n in ("format", "channels", "samplerate"))
    if kind not in FORMATS:
        raise FileProblem(f"{name} must be a WAV or FLAC file", f"{kind}", ADVICE)
    if not 1 <= channels <= CHANNELS:
        raise FileProblem(f"{name} must have one channel or two", f"{channels}", ADVICE)
    if not 8000 <= rate <= FASTEST:
        raise FileProblem(f"{name} must have 8,000 to {FASTEST:,} samples a second", f"{rate}", ADVICE)


def wav_bytes(samples: Array, rate: int, bits: int = 24) -> bytes:
    """A WAV file of samples (n,) or (channels, n), full scale 1, of 16 or 24 bits."""
    import soundfile

    out = io.BytesIO()
    soundfile.write(out, np.atleast_2d(samples).T, rate, format="WAV", subtype=f"PCM_{bits}")
    return out.getvalue()
