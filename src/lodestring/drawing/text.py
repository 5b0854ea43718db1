"""Text in pictures: what may stand in it, and how wide it will be.

The family is Libertinus Serif, which the typst wheel carries inside, so that sheet and page need no font file. A page
without it falls back to the Times metrics, so each advance below is the wider of the two (own measurement: typst's
`measure` on Libertinus Serif 7 and on Liberation Serif 2, which has the Times advances; thousandths of the font
size, rounded up to the next 20; kerning, which only narrows, left out).
"""

from __future__ import annotations

import re
import unicodedata

FAMILY = "Libertinus Serif"
FAMILIES = f"{FAMILY}, 'Times New Roman', Times, 'Liberation Serif', serif"
"""The value of `font-family`: typst takes the first, a page the first it has."""

CAP_HEIGHT = 0.65
"""Height of capitals and figures over the font size (measured: 0.645 in Libertinus Serif, 0.66 in Times)."""
DESCENT = 0.24
"""Depth below the baseline over the font size, g and parentheses included."""
LINE = 1.25
"""Line pitch over the font size."""

_REGULAR = {
    200: "'\u2009\u202f",
    220: "|",
    260: " ,.\u00a0·′",
    280: ":;ijlłı",
    300: "\\",
    320: "t²³¹ª",
    340: "!()-/If‘’",
    360: "[]º•",
    380: "r",
    400: "J`s°",
    420: '"″',
    460: "?acez“”",
    480: "{}",
    500: "#$*0123456789_bgvxð§δθ↑↓",
    520: "^dkopqyøþβγ",
    540: "huμλρ",
    560: "FPSn~ß±÷Þ«»–≈≤≥",
    580: "+<=>µ×πασ−⌀√",
    600: "φΣ",
    620: "ELTZŁ",
    660: "ωΔ",
    680: "BCR",
    700: "æ",
    740: "ADGHKNOQUVXYØÐ",
    760: "w©®¼½¾Ω",
    780: "&œ",
    800: "m∞",
    840: "%",
    900: "MÆŒ",
    940: "@",
    960: "W",
    1000: "—…",
    1140: "→←",
}
_BOLD = {
    200: "\u2009\u202f",
    220: "|",
    260: " ,.\u00a0·",
    280: "'",
    300: "ª′",
    320: "/\\",
    340: "!():;ijl²³łı¹‘’",
    360: "-t•",
    380: "º",
    400: "I[]`f{}°",
    440: "s",
    460: "crz",
    500: "*?J_e§“”⌀↑↓",
    520: "#$0123456789a~",
    540: "gvδ–",
    560: '"Sboy±÷ð«»λ≈≤≥″',
    580: "+<=>dqxµ×øμβθρσ−",
    600: "^puþπ",
    620: "FPhknßÞ√",
    640: "γ",
    660: "αΣ",
    680: "BELTZŁφ",
    700: "Δ",
    740: "ACDNRUVXYæÐ",
    760: "©®¼½¾ω",
    780: "GKOQwØ",
    820: "HΩ∞",
    840: "&œ",
    920: "m",
    960: "M",
    1000: "%@ÆŒ—…",
    1040: "W",
    1160: "→←",
}
_ADVANCE = {
    False: {c: w for w, cs in _REGULAR.items() for c in cs},
    True: {c: w for w, cs in _BOLD.items() for c in cs},
}
_UNKNOWN = 1040  # a script that is not in the table: about a full em a character

# What XML 1.0 cannot hold even as a reference (its section 2.2), and half surrogate pairs, which UTF-8 cannot hold.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def clean(text: str) -> str:
    """The text as it will stand in a picture: tab and line ends become a space, what XML cannot hold becomes U+FFFD."""
    return _FORBIDDEN.sub("\ufffd", re.sub("\r\n|[\t\n\r\x85\u2028\u2029]", " ", text))


def escape(text: str) -> str:
    """`clean`, then made safe for element content and for attribute values in either kind of quote."""
    out = clean(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return out.replace('"', "&quot;").replace("'", "&#39;")


def text_width_mm(text: str, size: float, *, bold: bool = False) -> float:
    """Width of one line, an estimate from above, in the unit of `size` (the font size, mm).

    Latin text, figures and the signs of a drawing are within +0 to about +12 % of what typst sets; letters with
    accents count as their base letter; any other script counts a full em a character.
    """
    table = _ADVANCE[bold]
    total = 0
    for char in clean(text):
        if char in table:
            total += table[char]
        elif not unicodedata.combining(char):
            total += table.get(unicodedata.normalize("NFD", char)[0], _UNKNOWN)
    return total * size / 1000


def shorten(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits into `room` mm with an ellipsis; never less than the ellipsis."""
    if text_width_mm(text, size, bold=bold) <= room:
        return text
    kept = text
    while kept and text_width_mm(kept.rstrip() + "…", size, bold=bold) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"
