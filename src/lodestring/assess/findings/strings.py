"""Strings over pickups: balance, level, pitch, pole pieces off their string, magnets that weaken each other.

Judged by the unshifted model's own numbers; intervals stand with the facts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lodestring.assess import blocks, magnet_blocks, magnet_facts, pole_bodies, string_blocks
from lodestring.assess.findings.say import coil_name, count, finding, length
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.design.vocabulary import Severity
from lodestring.reference import band

PER_MM = 2.5e3
"""Level against height, dB per metre: 2 to 3 dB a millimetre (common practice, no source)."""
LIFT = 1.0e-3
"""Height alone levels this much [m] and no more, before strings touch or magnets pull."""
DETUNE_NOTE, DETUNE_WARN = 2.0, 5.0
"""Change of pitch along the neck [cent] worth a note, a warning (assumed: 2 cent is about what an ear tells apart)."""
BEAT_NOTE = 0.5
"""Beating [Hz] worth a note (assumed: slower than one beat in two seconds goes unnoticed)."""
END_IN = 5.0e-3
"""A string this far inside a blade's end [m] is as loud as in its middle, near enough."""
OFF_NOTE, OFF_WARN, NEAR = 0.5, 1.5, 0.3e-3
"""Loss [dB] of a string beside its pole piece worth a note, a warning; nearer than this [m] none is looked for."""
WEAKER = 0.15
"""A neighbour that takes more than this share of a magnet's strength is worth a note."""


def find(model: Model) -> Iterator[Finding]:
    """Findings about strings, pickup by pickup."""
    for pickup, record in model.inputs.design.pickup.items():
        if record.coil:
            yield from _not_covered(model, pickup)
            yield from _not_served(model, pickup)
        if record.coil and magnet_facts.is_heard(model, (pickup,)):
            yield from _balance(model, pickup)
            yield from _pitch(model, pickup)
            yield from _off_string(model, pickup)
        for coil in record.coil or {}:
            if magnet_facts.has_magnets(model, (pickup, coil)):
                yield from _weakened(model, pickup, coil)
    yield from _levels(model)


def _not_covered(model: Model, pickup: str) -> Iterator[Finding]:
    """Eddy currents that flux through a steel baseplate drives round in it: there is no model of them here."""
    record = model.inputs.design.pickup[pickup]
    if record.baseplate is None or pole_bodies.steel_plate(model, pickup) is None:
        return
    yield finding(
        "magnetics-not-covered",
        "note",
        f"pickup.{pickup}.baseplate",
        f"eddy currents that circle in the {pickup} pickup's {record.baseplate.material} baseplate are left out: "
        "inductance at 1 kHz comes out too high and the peak too sharp",
        "measure once with the baseplate off and once with it on; everything at low frequency holds",
    )


def _strings(model: Model, pickup: str) -> list[int]:
    """Numbers of the strings some coil of the pickup serves."""
    return [i + 1 for i in string_blocks.served(model, pickup)]


def _not_served(model: Model, pickup: str) -> Iterator[Finding]:
    count_all = len(model.inputs.design.instrument.strings)
    left = [str(n) for n in range(1, count_all + 1) if n not in _strings(model, pickup)]
    if left:
        yield finding(
            "strings-not-served",
            "warning",
            f"pickup.{pickup}.coil",
            f"no coil of the {pickup} pickup serves string {', '.join(left)}",
            "another coil for them, or leave `strings` out",
        )


def _balance(model: Model, pickup: str) -> Iterator[Finding]:
    """Neighbouring kinds of string apart: plain against plain, wound against wound."""
    numbers = _strings(model, pickup)
    levels = [magnet_facts.balance(model, (pickup, str(n))) for n in numbers]
    plain = [model.inputs.design.instrument.strings[n - 1].wrap is None for n in numbers]
    note, warn = (band(f"level.strings.{name}").spread().nominal for name in ("note", "warn"))
    worst, pair = 0.0, (0, 0)
    for i in range(len(levels)):
        for j in range(i):
            if plain[i] == plain[j] and abs(levels[i] - levels[j]) > worst:
                worst, pair = abs(levels[i] - levels[j]), (i, j)
    if worst <= note:
        return
    loud, soft = (numbers[k] for k in sorted(pair, key=lambda k: -levels[k]))
    move = min(worst / PER_MM / 2.0, LIFT)
    most = "" if worst / PER_MM / 2.0 <= LIFT else ", which levels part of it"
    means = "tilt the pickup or set the pole pieces before winding"
    if all(c.poles.layout.kind == "blade" for c in (model.inputs.design.pickup[pickup].coil or {}).values()):
        means = "tilt the pickup or file the blade to a curve before winding"
    yield finding(
        "strings-apart",
        "warning" if worst > warn else "note",
        f"pickup.{pickup}.gap",
        f"over the {pickup} pickup string {loud} comes out {worst:.1f} dB louder than string {soft} for one pluck",
        f"{means}: about {length(model, move)} lower under string {loud} and as much higher under string {soft}{most}",
        None,
        worst,
    )


def _pitch(model: Model, pickup: str) -> Iterator[Finding]:
    shifts = {n: magnet_facts.detune(model, (pickup, str(n))) for n in _strings(model, pickup)}
    beats = {n: magnet_facts.beat(model, (pickup, str(n))) for n in _strings(model, pickup)}
    most = max(shifts, key=lambda n: shifts[n])
    fast = max(beats, key=lambda n: beats[n])
    if shifts[most] > DETUNE_NOTE or beats[fast] > BEAT_NOTE:
        yield finding(
            "magnets-bend-pitch",
            "warning" if shifts[most] > DETUNE_WARN else "note",
            f"pickup.{pickup}.gap",
            f"the {pickup} pickup's magnets change the pitch of string {most} by {shifts[most]:.1f} cent from open to "
            f"fret 12, and string {fast} beats {beats[fast]:.1f} times a second with itself",
            "a greater gap, or a weaker grade of magnet",
            None,
            shifts[most],
        )


def _off_string(model: Model, pickup: str) -> Iterator[Finding]:
    """A pole piece beside its string, or a blade that ends short of one: how much louder it would be over it."""
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        kind = blocks.coil_of(model, pickup, coil).poles.layout.kind
        if kind not in ("listed", "blade"):
            continue
        for index in blocks.served(model, pickup, coil):
            x = string_blocks.lines(model, pickup)[index].x
            over = _over_pole(model, pickup, coil, x)
            if abs(over - x) < NEAR:
                continue
            better = magnet_facts.output_at(model, pickup, index + 1, over)
            loss = 20.0 * math.log10(better / magnet_facts.output(model, (pickup, str(index + 1))))
            if loss > OFF_NOTE:
                yield _off(model, pickup, coil, index + 1, abs(over - x), loss)


def _over_pole(model: Model, pickup: str, coil: str, x: float) -> float:
    """x [m] of the nearest place that is well over a pole piece of the coil: a rod's middle, or inside a blade's
    ends."""
    blade = pole_bodies.coil_blade(model, pickup, coil)
    if blade is None:
        return min((r.x for r in pole_bodies.coil_rods(model, pickup, coil)), key=lambda at: abs(at - x))
    half = max(blade.size[0] / 2 - END_IN, 0.0)
    return min(max(x, blade.centre[0] - half), blade.centre[0] + half)


def _off(model: Model, pickup: str, coil: str, number: int, off: float, loss: float) -> Finding:
    name, path = coil_name(model, pickup, coil), f"{blocks.coil_path(pickup, coil)}.poles.layout"
    severity: Severity = "warning" if loss > OFF_WARN else "note"
    if pole_bodies.coil_blade(model, pickup, coil) is None:
        said = f"in {name} the nearest pole piece stands {length(model, off)} beside string {number}"
        told = f"{said}: about {loss:.1f} dB lost, more when it is bent away"
        return finding(
            "pole-off-string", severity, f"{path}.at", told, "set the pole piece under its string", None, loss
        )
    told = f"in {name} the blade ends too near string {number}, or short of it: about {loss:.1f} dB lost"
    longer = f"a blade about {length(model, 2.0 * off)} longer"
    return finding("pole-off-string", severity, f"{path}.length", told, longer, None, loss)


def _weakened(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    values = magnet_blocks.natural_remanences(model, pickup)[coil]
    ratios = [abs(v) / abs(magnet_blocks.alone(model, pickup, coil, i)) for i, v in enumerate(values)]
    worst = min(range(len(ratios)), key=lambda i: ratios[i])
    if ratios[worst] < 1.0 - WEAKER:
        piece = f"pole piece {worst + 1}" if pole_bodies.coil_blade(model, pickup, coil) is None else "its blade"
        rods = "rods" if piece != "its blade" else "blades"
        yield finding(
            "magnets-weaken-each-other",
            "note",
            f"{blocks.coil_path(pickup, coil)}.poles.layout",
            f"in {coil_name(model, pickup, coil)} the neighbours take {100 * (1 - ratios[worst]):.0f} per cent of the "
            f"strength of {piece}",
            f"longer or thinner {rods}, a stiffer grade, or more room between them",
            None,
            1.0 - ratios[worst],
        )


def _levels(model: Model) -> Iterator[Finding]:
    level = model.inputs.design.intent.level
    if level is None:
        return
    for pickup, record in model.inputs.design.pickup.items():
        if pickup == level.reference or not magnet_facts.has_reference(model, (pickup,)):
            continue
        apart = magnet_facts.level_balance(model, (pickup,))
        if abs(apart) <= PER_MM * LIFT:
            continue
        coil = blocks.sides(record)[0]
        turns = blocks.coil_of(model, pickup, coil).turns
        wanted = round(turns * 10.0 ** (-apart / 20.0) / 50.0) * 50
        path = f"{blocks.coil_path(pickup, coil)}.turns"
        louder = "louder" if apart > 0.0 else "softer"
        yield finding(
            "level-apart",
            "warning",
            path,
            f"the {pickup} pickup comes out {abs(apart):.1f} dB {louder} than {level.reference}; height levels "
            f"{PER_MM * LIFT:.1f} dB at most",
            f"about {count(wanted)} turns on each of its coils would level it, or another grade of magnet",
            {path: str(wanted)} if len(record.coil or {}) == 1 else None,
            abs(apart),
        )
