"""Five answers -> a whole set file that can be computed and has no blocker; everything not asked is marked assumed.

The starts are common practice, no source. Two things are found by the model itself and not by rule of thumb: how many
turns fit (the most, up to the usual, for which no finding says that the coil does not go in) and, beside a kept pickup,
which way to wind (the way whose kick on the meter is the kept one's).
"""

from __future__ import annotations

import math
from dataclasses import replace
from fnmatch import fnmatchcase

from lodestring.assess import blocks
from lodestring.assess.findings import fit
from lodestring.assess.model import Model
from lodestring.assess.store import Store
from lodestring.design.read import read_set
from lodestring.errors import Problem, SetFileError
from lodestring.folder.first_text import PLATE, UNDER, Draft, text_of
from lodestring.folder.open_set import opened
from lodestring.folder.parts_added import OTHER
from lodestring.folder.questions import Answers, Asked, asked, assumed_of
from lodestring.quantity import Kind, Quantity, read, show_value

ROD = 0.0048
AIR = 0.003
"""Plates are made this much smaller than the housing in length and width [m]."""
WINDOW = 0.0105
GAUGES = (42, 43, 44)
MORE_TURNS = {42: 1.0, 43: 1.08, 44: 1.3}
"""Turns a coil usually has more of with finer wire, against 42 AWG: the bands of six-rod coils."""
ASKED_BY = {
    "instrument.strings*": "strings",
    "instrument.scale*": "scale",
    "instrument.nut*": "spacing",
    "instrument.bridge*": "spacing",
    "instrument.radius": "spacing",
    "pickup.*.place*": "place",
    "pickup.*.housing*": "housing_length",
    "pickup.*.measured.resistance": "kept_resistance",
    "pickup.*.measured.inductance*": "kept_inductance",
}
FEWEST = 0.75
"""Of the usual turns; with fewer the next finer wire is tried."""


def first_set(answers: Answers) -> str:
    """The text of the set file. Raises SetFileError with a problem at the name of each answer that cannot be used."""
    given = asked(answers)
    try:
        return _laid_out(given)
    except SetFileError as error:  # some are told at key paths: two pickups in one place, for instance
        raise SetFileError("", [replace(p, path=_question_of(p.path), line=None) for p in error.problems]) from None


def _laid_out(given: Asked) -> str:
    frets = _frets(given)
    drafts = [_draft(given, name, place, far, i) for i, (name, place, far) in enumerate(_names(given))]
    store = Store()
    drafts = [_filled(given, draft, frets, store) for draft in drafts]
    if given.kept is not None:
        drafts = [_toward_kept(given, given.kept.kick, d, frets, store) for d in drafts]
    text = text_of(given, drafts, frets)
    _model(text, store)
    return text


def _question_of(path: str) -> str:
    """The answer that a key path of the text came from; the path itself where it came from none."""
    for pattern, answer in ASKED_BY.items():
        if fnmatchcase(path, pattern):
            return answer
    return path


def _names(given: Asked) -> list[tuple[str, Quantity, bool]]:
    """Name, place and whether it is the far one, of each new pickup."""
    places = list(given.places)
    if given.kept is not None:
        kept = read(given.kept.place.strip(), Kind.LENGTH)
        near = places[0].value < kept.value
        return [("bridge" if near else "neck", places[0], not near)]
    if len(places) == 1:
        return [("main", places[0], places[0].value > given.scale.value / 6)]
    return [("bridge", places[0], False), ("neck", places[1], True)]


def _frets(given: Asked) -> int:
    """Usual frets, or as many as leave room for the pickup nearest to the neck."""
    usual = int(assumed_of(given.kind)["frets"])
    farthest = max(p.value for p in _all_places(given))
    if not usual:
        return 0
    room = math.floor(12 * math.log2(given.scale.value / (farthest + 0.012)))
    if room < 12:
        came = f"{show_value(farthest, Kind.LENGTH)} on a scale of {given.scale.text}"
        raise SetFileError(
            "", [Problem("place", "a pickup sits between the bridge and fret 12", came, "measuring from the bridge")]
        )
    return min(usual, room)


def _all_places(given: Asked) -> list[Quantity]:
    kept = [] if given.kept is None else [read(given.kept.place.strip(), Kind.LENGTH)]
    return [*given.places, *kept]


def _pitch_at(given: Asked, place: float) -> float:
    share = place / given.scale.value
    return given.pitch * (1.0 + (float(assumed_of(given.kind)["nut"]) - 1.0) * share)


def _draft(given: Asked, name: str, place: Quantity, far: bool, number: int) -> Draft:
    """Window, plates and rods that go into the housing. Raises SetFileError where nothing sensible does."""
    pitch = _pitch_at(given, place.value)
    double = pitch >= 0.0125
    apart = _tenth(pitch / 2) if double else None
    rod = min(ROD, _tenth((apart or pitch) - 0.0015))
    row = (len(given.strings) - 1) * pitch + (apart or 0.0) + rod
    length, width, window = row + 0.016, 0.018, WINDOW
    problems: list[Problem] = []
    if given.housing:
        inside = {key: q.value for key, q in given.housing.items()}
        length, width = min(length, inside["length"] - AIR), min(width, inside["width"] - AIR)
        window = min(window, inside["depth"] - 0.0012 - 2 * PLATE - UNDER)
        for key, least, what in (
            ("length", row + 0.007 + AIR, "the row of pole pieces and the coil round it"),
            ("width", rod + 0.0055 + AIR, "a pole piece and the coil on both its sides"),
            ("depth", 0.005 + 0.0012 + 2 * PLATE + UNDER, "two plates and a window of 5 mm"),
        ):
            if inside[key] < least:
                must = f"this must take {what}: {least * 1e3:.1f} mm or more"
                problems.append(
                    Problem(f"housing_{key}", must, given.housing[key].text, "measuring again, or another housing")
                )
    if problems:
        raise SetFileError("", problems)
    wound, up = ("clockwise", "south") if number == 0 else ("anticlockwise", "north")
    if given.kept is not None:
        up = OTHER[given.kept.up]
    down = math.floor(window * 2000) / 2000  # to half a millimetre, so that rods can be bought or cut to it
    return Draft(name, place, far, down, _half(length), _half(width), rod, apart, GAUGES[0], 0, wound, up)


def _tenth(metres: float) -> float:
    return math.floor(metres * 1e4 + 1e-6) / 1e4


def _half(metres: float) -> float:
    return math.floor(metres * 2000 + 1e-6) / 2000


def _filled(given: Asked, draft: Draft, frets: int, store: Store) -> Draft:
    """The draft with gauge and turns: the coarsest wire that lets nearly the usual turns in."""
    usual = float(assumed_of(given.kind)["turns"])
    best = draft
    for gauge in GAUGES:
        wanted = round(usual * MORE_TURNS[gauge] / 100) * 100
        low, high = 0, wanted // 100
        while low < high:  # the most hundreds of turns that go in
            middle = (low + high + 1) // 2
            fits = _fits(given, replace(draft, gauge=gauge, turns=100 * middle), frets, store)
            low, high = (middle, high) if fits else (low, middle - 1)
        best = replace(draft, gauge=gauge, turns=100 * low)
        if 100 * low >= FEWEST * wanted:
            return best
    if best.turns < 2000:
        came = f"room for about {best.turns} turns of {GAUGES[-1]} AWG"
        must = "the housing must take a coil of a few thousand turns"
        raise SetFileError("", [Problem("housing_width", must, came, "a wider or deeper housing")])
    return best


def _fits(given: Asked, draft: Draft, frets: int, store: Store) -> bool:
    try:
        model = _model(text_of(replace(given, kept=None), [draft], frets), store)
    except SetFileError as error:
        if all(p.path.endswith(".turns") for p in error.problems):
            return False
        raise
    return not any(f.severity in ("blocker", "warning") for f in fit.find(model))


def _model(text: str, store: Store) -> Model:
    return opened(read_set(text.encode(), "first set"), None, store).model


def _toward_kept(given: Asked, kick: str, draft: Draft, frets: int, store: Store) -> Draft:
    """Wound so that its kick has the kept pickup's sign: with its magnets the other way up, both then cancel hum."""
    model = _model(text_of(given, [draft], frets), store)
    key = f"{blocks.coil_path(draft.name, 'main')}.kick"
    if key in model.specs() and model.fact(key).value != kick:
        return replace(draft, wound=OTHER[draft.wound])
    return draft
