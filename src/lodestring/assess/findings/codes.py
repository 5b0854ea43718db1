"""Every finding there is: code, how weighty it can be, what it says, and the last stage at which its cure is
possible.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.design.vocabulary import Severity, Stage


@dataclass(frozen=True, slots=True)
class Code:
    """One row of docs/findings.md."""

    code: str
    severities: tuple[Severity, ...]
    until: Stage
    help: str


CODES: tuple[Code, ...] = (
    Code("coil-over-window", ("blocker",), "wound", "the last turns stand out over the edge of the plates"),
    Code(
        "coil-may-pass-window", ("note",), "wound", "the coil stays inside the plates as drawn, but not wound loosely"
    ),
    Code("coil-touches-housing", ("blocker",), "wound", "the taped coil touches the housing"),
    Code(
        "coil-may-touch-housing",
        ("warning",),
        "wound",
        "the taped coil clears the housing as drawn, but not wound loosely",
    ),
    Code("coils-touch", ("blocker",), "wound", "two coils side by side touch each other"),
    Code("plates-outside-housing", ("blocker",), "drawn", "the plates do not go into the housing"),
    Code("too-deep-for-housing", ("blocker",), "drawn", "pole pieces, bars or bobbin reach below the housing's floor"),
    Code(
        "hole-near-edge",
        ("warning",),
        "drawn",
        "a pole piece's hole leaves too thin a web to the plate's edge for its plastic",
    ),
    Code("hole-near-neighbour", ("warning",), "drawn", "two holes leave too thin a web between them for the plastic"),
    Code("mixed-poles", ("warning",), "fitted", "pole pieces of mixed polarity stand inside one coil"),
    Code("magnets-uncharged", ("note", "warning"), "fitted", "magnets are marked as not charged"),
    Code("no-magnet", ("warning",), "fitted", "steel pole pieces have no bar magnet to feed them"),
    Code("rods-too-short", ("blocker",), "parts made", "rods that carry the wire do not reach into the bottom plate"),
    Code("strings-run-up", ("warning",), "drawn", "string 1 is lower than the last string"),
    Code("strings-not-served", ("warning",), "drawn", "no coil of a pickup serves some strings"),
    Code("cover-not-reckoned", ("note",), "drawn", "a cover of steel guides flux, which is not reckoned"),
    Code(
        "tape-differs", ("note",), "drawn", "string centres read off the tape differ from those between nut and bridge"
    ),
    Code("hum-adds", ("blocker",), "fitted", "a pair that is meant to cancel hum adds it"),
    Code("out-of-phase", ("blocker", "warning"), "fitted", "a pair is out of phase and not marked as wanted so"),
    Code("in-phase", ("warning",), "fitted", "a pair that is wanted out of phase is in phase"),
    Code("unequal-turns", ("note",), "wound", "the turns of a cancelling pair differ"),
    Code("hum-left", ("warning",), "wound", "a position that is to cancel hum leaves more than a tenth of it"),
    Code(
        "metal-goes-hot",
        ("warning",),
        "fitted",
        "metal is tied to a wire that is not ground in some position: it buzzes when touched",
    ),
    Code("hot-start-by-poles", ("warning",), "fitted", "pole pieces tied to nothing stand beside hot inner turns"),
    Code("strings-not-grounded", ("warning",), "fitted", "no wire grounds the strings"),
    Code("foil-ring-closed", ("warning",), "fitted", "a foil closes a ring round its coil"),
    Code(
        "metal-takes-peak",
        ("note", "warning"),
        "fitted",
        "eddy currents in a cover, a baseplate or a closed foil take a good part of the peak",
    ),
    Code("tone-at-the-end", ("note",), "fitted", "a tone control does its work in the last tenth of its travel"),
    Code("cable-moves-peak", ("note",), "fitted", "the cable moves the peak by more than a fifth against a usual one"),
    Code("tension-stretches", ("note",), "wound", "the wire is stretched for good at this tension"),
    Code("tension-high", ("warning",), "wound", "the tension is above what is usual for the gauge"),
    Code("tension-breaks", ("blocker",), "wound", "the wire can part at this tension"),
    Code("spool-too-short", ("warning",), "wound", "the spool may not hold enough wire for one unbroken coil"),
    Code("plastic-softens-in-wax", ("blocker",), "parts made", "the bobbin's plastic creeps in the wax bath"),
    Code("wax-hot", ("note", "warning", "blocker"), "potted", "the wax bath is too hot"),
    Code("enamel-not-solderable", ("note",), "wound", "the enamel must be stripped before soldering"),
    Code(
        "magnetics-not-covered",
        ("note",),
        "drawn",
        "part of the pickup's magnetics is left out: eddy currents in a steel baseplate",
    ),
    Code("strings-apart", ("note", "warning"), "fitted", "strings of one kind come out unequally loud over one pickup"),
    Code(
        "level-apart", ("warning",), "wound", "a pickup's level differs from the reference by more than height levels"
    ),
    Code("magnets-bend-pitch", ("note", "warning"), "fitted", "the magnets pull the strings' pitch noticeably"),
    Code("pole-off-string", ("note", "warning"), "drawn", "a pole piece stands beside its string, a blade ends short"),
    Code("magnets-weaken-each-other", ("note",), "drawn", "neighbours take a good part of a magnet's strength"),
    Code("unusual-figure", ("note",), "wound", "a figure lies outside the usual band for its kind"),
)


def code(name: str) -> Code:
    """The row of a code."""
    return next(c for c in CODES if c.code == name)
