"""The text of a first set: one key a line, and behind each value that was not asked the mark "assumed"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.folder.questions import Asked, KeptAnswers, assumed_of
from lodestring.folder.typed import quoted
from lodestring.quantity import Kind, Quantity, read, show_value
from lodestring.reference import tension_band

PLATE = 0.0024
HEIGHT, UNDER = 0.001, 0.0007
"""Thickness of a plate, and how far rods stand out over the top plate and under the bottom plate [m]."""
NOTE = "assumed"


@dataclass(frozen=True, slots=True)
class Draft:
    """One pickup as it is being laid out; lengths in metres."""

    name: str
    place: Quantity
    far: bool
    """the one away from the bridge"""
    window: float
    plate_length: float
    plate_width: float
    rod: float
    apart: float | None
    gauge: int
    turns: int
    wound: str
    up: str


def text_of(given: Asked, drafts: list[Draft], frets: int) -> str:
    """The whole file."""
    return "\n".join([*_instrument(given, frets), *_pickups(given, drafts, frets), *_rest(given, drafts)]) + "\n"


def _line(key: str, value: str, mark: str = "") -> str:
    return f"{key} = {value}" + (f"  # {mark}" if mark else "")


def _mm(metres: float) -> str:
    return quoted(f"{metres * 1e3:g} mm")


def _instrument(given: Asked, frets: int) -> Iterator[str]:
    kind = assumed_of(given.kind)
    yield "# A first set from five answers. What is marked assumed was not asked: change it, and the mark goes."
    yield "format = 1"
    yield _line("title", quoted(given.title))
    yield ""
    yield "[instrument]"
    yield _line("scale", quoted(given.scale.text))
    yield _line("frets", str(frets), NOTE)
    yield _line("handed", '"right"', NOTE)
    yield _line("radius", quoted(kind["radius"]), NOTE)
    how = "pitch" if given.by_pitch else "span"
    yield _line("nut", f"{{ {how} = {_mm(round(given.spacing.value * kind['nut'], 4))} }}", NOTE)
    yield _line("bridge", f"{{ {how} = {quoted(given.spacing.text)} }}")
    if frets:
        first, last = kind["action"]
        yield _line("action", f"{{ first = {quoted(first)}, last = {quoted(last)} }}", NOTE)
    yield "strings = ["
    for string in given.strings:
        core, mark = "", ""
        if string.wound:
            thin = show_value(_core(string.metres), Kind.LENGTH, "in", 2)
            core, mark = f', core = {quoted(thin)}, wrap = "nickel-plated steel"', "  # assumed: core, wrap"
        yield f"  {{ note = {quoted(string.note)}, diameter = {quoted(string.diameter)}{core} }},{mark}"
    yield "]"


def _core(diameter: float) -> float:
    """Core of a wound string [m]: about half of a thin one, a third of a thick one. Common practice, no source."""
    inches = diameter / 0.0254
    return 0.0254 * min(0.55 * inches, 0.0088 + 0.18 * inches)


def _pickups(given: Asked, drafts: list[Draft], frets: int) -> Iterator[str]:
    made = {d.place.value: list(_pickup(given, d, frets)) for d in drafts}
    if given.kept is not None:
        place = read(given.kept.place.strip(), Kind.LENGTH)
        made[place.value] = list(_kept(given, given.kept, drafts, place, frets))
    for at in sorted(made):
        yield from made[at]


def _gap(given: Asked, far: bool, frets: int) -> str:
    kind = assumed_of(given.kind)
    first, last = kind["gap_far" if far else "gap"]
    when = "last fret pressed" if frets else "at rest"
    return _line("gap", f"{{ first = {quoted(first)}, last = {quoted(last)}, when = {quoted(when)} }}", NOTE)


def _pickup(given: Asked, draft: Draft, frets: int) -> Iterator[str]:
    above = f"pickup.{draft.name}.coil.main"
    yield ""
    yield f"[pickup.{draft.name}]"
    yield _line("place", quoted(draft.place.text))
    yield _gap(given, draft.far, frets)
    if given.housing:
        yield _line("housing", "{ " + ", ".join(f"{k} = {quoted(q.text)}" for k, q in given.housing.items()) + " }")
    yield _line("potting", '{ paraffin = 80, beeswax = 20, temperature = "62 C" }', NOTE)
    yield ""
    yield f"[{above}]"
    yield _line("turns", str(draft.turns), NOTE)
    yield _line("wound", quoted(draft.wound), NOTE)
    yield _line("hot", '"finish"', NOTE)
    yield _line("tension", quoted(f"{_tension(draft.gauge)} gf"), NOTE)
    yield _line("wire", f'{{ size = "{draft.gauge} AWG", enamel = "polyurethane", film = "single" }}', NOTE)
    yield ""
    yield f"[{above}.bobbin]"
    yield _line("window", _mm(draft.window), NOTE)
    yield _line("core", '{ kind = "on rods", wrap = "0.1 mm" }', NOTE)
    size = f"length = {_mm(draft.plate_length)}, width = {_mm(draft.plate_width)}, thickness = {_mm(PLATE)}"
    yield _line("plate", f'{{ material = "vulcanised fibre", {size} }}', NOTE)
    yield ""
    yield f"[{above}.poles]"
    two = "" if draft.apart is None else f", apart = {_mm(draft.apart)}"
    yield _line("layout", f'{{ kind = "{"one" if draft.apart is None else "two"} per string"{two} }}', NOTE)
    rod = f"diameter = {_mm(draft.rod)}, length = {_mm(draft.window + 2 * PLATE + HEIGHT + UNDER)}"
    yield _line("body", f'{{ kind = "magnet", grade = "alnico 5", {rod} }}', NOTE)
    yield _line("up", quoted(draft.up), NOTE)
    yield _line("height", _mm(HEIGHT), NOTE)


def _tension(gauge: int) -> int:
    """A pull in the lower half of the bench's usual band [gf]."""
    band = tension_band(gauge)
    return round((0.75 * band.usual_low + 0.25 * band.usual_high) / 9.80665e-3)


def _kept(given: Asked, kept: KeptAnswers, drafts: list[Draft], place: Quantity, frets: int) -> Iterator[str]:
    name = "bridge" if drafts[0].name == "neck" else "neck"
    yield ""
    yield f"[pickup.{name}]  # kept: measured, not made"
    yield _line("place", quoted(place.text))
    yield _gap(given, not drafts[0].far, frets)
    yield ""
    yield f"[pickup.{name}.measured]"
    yield _line("resistance", quoted(kept.resistance.strip()))
    if kept.inductance.strip():
        reading = f"value = {quoted(kept.inductance.strip())}, frequency = {quoted(kept.frequency.strip())}"
        yield _line("inductance", f"{{ {reading}, mode = {quoted(kept.mode)} }}")
    yield _line("up", quoted(kept.up))
    yield _line("kick", quoted(kept.kick))


def _rest(given: Asked, drafts: list[Draft]) -> Iterator[str]:
    names = [f"{d.name}.main" for d in drafts]
    if given.kept is not None:
        names.append("bridge" if drafts[0].name == "neck" else "neck")
    if len(names) == 2:
        yield ""
        yield "[intent]"
        yield _line("cancel_hum", f"[[{', '.join(quoted(n) for n in names)}]]", NOTE)
        yield _line("level", f"{{ reference = {quoted('bridge')} }}", NOTE)
    yield ""
    yield "[harness]"
    yield _line("circuit", quoted("two volumes, one tone" if len(names) == 2 else "one volume, one tone"), NOTE)
    yield _line("volume", '{ value = "250k", taper = "audio" }', NOTE)
    yield _line("tone", '{ value = "250k", taper = "audio", capacitor = "22 nF" }', NOTE)
    yield _line("cable", '{ length = "5 m", per_metre = "100 pF/m" }', NOTE)
    yield _line("input", '{ resistance = "1M" }', NOTE)
    yield _line("strings", '"grounded"', NOTE)
