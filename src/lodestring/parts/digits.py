"""Figures of seven bars, raised from a face: few, straight edges that a nozzle can follow. Metres."""

from __future__ import annotations

BARS = {
    # bars by letter: a top, b upper right, c lower right, d foot, e lower left, f upper left, g middle
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgecd", "7": "abc",
    "8": "abcdefg", "9": "abcdfg", "-": "g",
}  # fmt: skip
Rect = tuple[float, float, float, float]


def figures(text: str, height: float, centre: float, foot: float, stroke: float) -> tuple[Rect, ...]:
    """Rectangles (left, bottom, right, top) of a number `height` high about x = centre; bars never overlap."""
    wide, gap = 0.55 * height, 1.6 * stroke
    advance = [stroke + gap if c == "." else wide + gap for c in text]
    left = centre - (sum(advance) - gap) / 2
    out: list[Rect] = []
    for character, step in zip(text, advance, strict=True):
        if character == ".":
            out.append((left, foot, left + stroke, foot + stroke))
        out += [
            (left + x0, foot + y0, left + x1, foot + y1)
            for x0, y0, x1, y1 in _bars(BARS.get(character, ""), wide, height, stroke)
        ]
        left += step
    return tuple(out)


def _bars(which: str, wide: float, high: float, s: float) -> list[Rect]:
    """Level bars run the whole width; upright ones fill what the level ones of this figure leave."""
    middle, half = high / 2, s / 2 if "g" in which else 0.0
    top, foot = (high - s if "a" in which else high), (s if "d" in which else 0.0)
    place: dict[str, Rect] = {
        "a": (0.0, high - s, wide, high),
        "g": (0.0, middle - s / 2, wide, middle + s / 2),
        "d": (0.0, 0.0, wide, s),
        "f": (0.0, middle + half, s, top),
        "e": (0.0, foot, s, middle - half),
        "b": (wide - s, middle + half, wide, top),
        "c": (wide - s, foot, wide, middle - half),
    }
    return [place[bar] for bar in which]
