"""Photos: kept without what they tell of place, time and camera.

JPEG, PNG and WebP are rows of segments; those that hold no picture are left out. Sources: ISO/IEC 10918-1 (markers of
JPEG), W3C PNG 3rd edition (critical and ancillary chunks), RFC 9649 (WebP); from memory. Orientation, which phones keep
in the same place as the location, is lost with it: a photo may lie on its side.
"""

from __future__ import annotations

import struct
import zlib

from lodestring.book.problem import BookProblem

LARGEST = 16 * 1024 * 1024
ADVICE = "a photo as JPEG, PNG or WebP of at most 16 MiB"
_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT", b"iCCP"}
_WEBP_KEPT = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"}


def cleaned(raw: bytes) -> tuple[str, bytes]:
    """Media type, and the bytes without metadata. Raises BookProblem for what is no photo or too large."""
    if len(raw) > LARGEST:
        raise BookProblem("a photo has at most 16 MiB", f"{len(raw) / 2**20:.1f} MiB", "a smaller one")
    try:
        if raw.startswith(b"\xff\xd8\xff"):
            return "image/jpeg", _jpeg(raw)
        if raw.startswith(_PNG):
            return "image/png", _png(raw)
        if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP":
            return "image/webp", _webp(raw)
    except (struct.error, IndexError):
        raise BookProblem("a photo is whole", "one that breaks off", ADVICE) from None
    raise BookProblem("a photo is a JPEG, PNG or WebP file", "something else", ADVICE)


def _jpeg(raw: bytes) -> bytes:
    """Without APP1 to APP15 (APP14, which says how colours are stored, stays), comments, and what follows the end."""
    made, at = bytearray(raw[:2]), 2
    while True:
        if raw[at] != 0xFF:
            raise BookProblem("a photo is whole", "one that is damaged", ADVICE)
        marker = raw[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0xD9:
            return bytes(made + b"\xff\xd9")
        if marker == 0x01 or 0xD0 <= marker <= 0xD7:
            made += raw[at : at + 2]
            at += 2
            continue
        (length,) = struct.unpack_from(">H", raw, at + 2)
        end = at + 2 + length
        if length < 2 or end > len(raw):
            raise BookProblem("a photo is whole", "one that breaks off", ADVICE)
        metadata = (0xE1 <= marker <= 0xEF and marker != 0xEE) or marker == 0xFE
        if not metadata:
            made += raw[at:end]
        at = end
        if marker == 0xDA:
            stop = _end_of_scan(raw, at)
            made += raw[at:stop]
            at = stop


def _end_of_scan(raw: bytes, at: int) -> int:
    """Where the compressed data end: at a marker that is neither stuffing nor a restart."""
    while True:
        at = raw.find(b"\xff", at)
        if at < 0 or at + 1 >= len(raw):
            raise BookProblem("a photo is whole", "one that breaks off", ADVICE)
        if raw[at + 1] == 0x00 or 0xD0 <= raw[at + 1] <= 0xD7:
            at += 2
        elif raw[at + 1] == 0xFF:
            at += 1
        else:
            return at


def _png(raw: bytes) -> bytes:
    made, at = bytearray(_PNG), len(_PNG)
    while True:
        length, kind = struct.unpack_from(">I4s", raw, at)
        end = at + 12 + length
        if end > len(raw):
            raise BookProblem("a photo is whole", "one that breaks off", ADVICE)
        (told,) = struct.unpack_from(">I", raw, end - 4)
        if zlib.crc32(raw[at + 4 : end - 4]) != told:
            raise BookProblem("a photo is whole", "one that is damaged", ADVICE)
        if kind in _PNG_KEPT:
            made += raw[at:end]
        at = end
        if kind == b"IEND":
            return bytes(made)


def _webp(raw: bytes) -> bytes:
    made, at = bytearray(), 12
    (told,) = struct.unpack_from("<I", raw, 4)
    stop = 8 + told
    if stop > len(raw):
        raise BookProblem("a photo is whole", "one that breaks off", ADVICE)
    while at + 8 <= stop:
        kind, length = struct.unpack_from("<4sI", raw, at)
        end = at + 8 + length + (length & 1)
        if end > stop + 1:
            raise BookProblem("a photo is whole", "one that breaks off", ADVICE)
        chunk = bytearray(raw[at:end])
        if kind == b"VP8X":
            chunk[8] &= ~0x0C & 0xFF  # no EXIF, no XMP
        if kind in _WEBP_KEPT:
            made += chunk
        at = end
    return b"RIFF" + struct.pack("<I", 4 + len(made)) + b"WEBP" + bytes(made)
