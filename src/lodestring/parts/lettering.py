"""Our own single-line letters for what is engraved or raised: strokes on a grid 4 wide and 6 high. No font is used."""

from __future__ import annotations

Point = tuple[float, float]
GLYPHS: dict[str, tuple[str, ...]] = {
    # each stroke is a run of grid points, two digits a point: x then y
    "0": ("103041453616050110",),
    "1": ("152620", "1030"),
    "2": ("05163645440040",),
    "3": ("05163645443313", "334241301001"),
    "4": ("30360242",),
    "5": ("460603334241301001",),
    "6": ("453616050110304142330302",),
    "7": ("064620",),
    "8": ("13040516364544331302011030414233",),
    "9": ("0110304145361605041343",),
    "A": ("002640", "0232"),
    "B": ("00063645443303", "3342413000"),
    "C": ("4536160501103041",),
    "D": ("00062644412000",),
    "E": ("46060040", "0333"),
    "F": ("460600", "0333"),
    "G": ("45361605011030414323",),
    "H": ("0006", "4046", "0343"),
    "I": ("2026", "1030", "1636"),
    "J": ("4641301001",),
    "K": ("0006", "460240"),
    "L": ("060040",),
    "M": ("0006234640",),
    "N": ("00064046",),
    "O": ("103041453616050110",),
    "P": ("00063645443303",),
    "Q": ("103041453616050110", "2240"),
    "R": ("00063645443303", "2340"),
    "S": ("453616050413334241301001",),
    "T": ("0646", "2620"),
    "U": ("060110304146",),
    "V": ("062046",),
    "W": ("0610243046",),
    "X": ("0046", "0640"),
    "Y": ("062346", "2320"),
    "Z": ("06460040",),
    "-": ("0343",),
    "+": ("0343", "2125"),
    ".": ("2021",),
    ",": ("2110",),
    "/": ("0046",),
    ":": ("2122", "2425"),
    "#": ("1016", "3036", "0242", "0444"),
    "'": ("2624",),
    "(": ("36252130",),
    ")": ("16252110",),
    "=": ("0242", "0444"),
    "^": ("2026", "042644"),
}
ADVANCE, HIGH = 5.6, 6.0


def strokes(text: str, height: float, at: Point = (0.0, 0.0), middle: bool = True) -> tuple[tuple[Point, ...], ...]:
    """Polylines [m] of a text in capitals, `height` high, its foot at `at` (in the middle, or the left end).

    What has no letter here is left blank, so that no text of a set file can do harm in a file.
    """
    scale = height / HIGH
    wide = (len(text) * ADVANCE - (ADVANCE - 4.0)) * scale
    left = at[0] - (wide / 2 if middle else 0.0)
    out = []
    for index, letter in enumerate(text.upper()):
        for run in GLYPHS.get(letter, ()):
            points = [(int(run[i]), int(run[i + 1])) for i in range(0, len(run), 2)]
            out.append(tuple((left + (index * ADVANCE + x) * scale, at[1] + y * scale) for x, y in points))
    return tuple(out)
