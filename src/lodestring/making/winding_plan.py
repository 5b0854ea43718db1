"""The winding plan: which way to turn, when to pause, what to read and measure there.

Which way: a wire that comes from a fixed place is laid the other way round than the bobbin turns. A coil that runs
clockwise from start to finish, seen from the strings, is wound by turning the bobbin anticlockwise as seen from its top
plate. Seen from the bottom plate the same turning looks clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess import blocks, named
from lodestring.assess.findings import say
from lodestring.assess.model import Model
from lodestring.assess.report import Assessment
from lodestring.design.workshop import Winder
from lodestring.making.cards import Card, cards
from lodestring.physics import wire
from lodestring.quantity.figures import Figure, figure
from lodestring.reference import coins

OPPOSITE = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
CURRENCIES = ("euro", "us")
PAPER_CLIP = 1.0e-3
"""A paper clip weighs half a gram to one and a half (common practice, no source); the heavier middle is taken [kg]."""


@dataclass(frozen=True, slots=True)
class Mounting:
    """One way of mounting the bobbin, and which way it and the crank turn, seen from the bobbin's free end."""

    facing: str
    bobbin_turns: str
    crank: str


@dataclass(frozen=True, slots=True)
class Pause:
    """One pause: turns on the coil, what the counter shows, and the size to expect there, without tape.

    `what` is "" or what else is to be done there: "tap 1".
    """

    turns: int
    what: str
    reading: str
    length: Figure
    width: Figure
    wire_gone: Figure
    minutes: Figure


@dataclass(frozen=True, slots=True)
class Tension:
    """Pull on the wire, in the unit the maker wants, and as coins hung on a paper clip."""

    pull: str
    usual: str
    coins: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WindingPlan:
    """Everything for winding one coil."""

    pickup: str
    coil: str
    turns: int
    wound: str
    winder: str
    mountings: tuple[Mounting, Mounting]
    total_reading: str
    counter_unit: str
    pauses: tuple[Pause, ...]
    tension: Tension
    start: Card
    finish: Card


def winding_plan(assessment: Assessment, pickup: str, coil: str) -> WindingPlan:
    """The plan of one coil, in the units of the first winder of the workshop, or in turns where there is none."""
    model = assessment.model
    record = blocks.coil_of(model, pickup, coil)
    name, winder = first_winder(model)
    return WindingPlan(
        pickup,
        coil,
        record.turns,
        record.wound,
        name,
        mountings(record.wound, winder),
        reading(record.turns, winder),
        "cranks" if winder is not None and winder.counts == "cranks" else "turns",
        tuple(
            _pause(model, pickup, coil, turns, winder) for turns in pause_turns(record.turns, winder, record.tap or ())
        ),
        tension(model, pickup, coil),
        cards()["start"],
        cards()["finish"],
    )


def first_winder(model: Model) -> tuple[str, Winder | None]:
    """The winder of the plan, by name."""
    workshop = model.inputs.workshop
    for name, winder in (workshop.winder if workshop is not None else {}).items():
        return name, winder
    return "", None


def mountings(wound: str, winder: Winder | None) -> tuple[Mounting, Mounting]:
    """Both ways of mounting, seen from the bobbin's free end (looking at the winder)."""
    seen_from_top = OPPOSITE[wound]
    reversed_spindle = winder is not None and winder.spindle == "reversed"

    def mounting(facing: str, bobbin_turns: str) -> Mounting:
        return Mounting(facing, bobbin_turns, OPPOSITE[bobbin_turns] if reversed_spindle else bobbin_turns)

    return (
        mounting("top plate faces you, bottom plate against the winder", seen_from_top),
        mounting("bottom plate faces you, top plate against the winder", OPPOSITE[seen_from_top]),
    )


def pause_turns(turns: int, winder: Winder | None, taps: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Turn numbers of the pauses, whole cranks each, every tap, and the last turn."""
    crank = winder.turns_per_crank if winder is not None else 1
    step = max(crank, round(blocks.PAUSE_EVERY / crank) * crank)
    stops = [n for n in range(step, turns, step) if turns - n > step // 4]
    return tuple(sorted({*stops, *taps, turns}))


def reading(turns: int, winder: Winder | None) -> str:
    """What the winder's own counter shows after `turns`, counted from zero."""
    if winder is None or winder.counts == "turns":
        return grouped(turns)
    cranks, rest = divmod(turns, winder.turns_per_crank)
    return grouped(cranks) if rest == 0 else f"{grouped(cranks)} and {rest} turns more"


def grouped(number: int) -> str:
    """A whole number with its thousands set off."""
    return f"{number:,}".replace(",", "\u202f")


def _pause(model: Model, pickup: str, coil: str, turns: int, winder: Winder | None) -> Pause:
    def size(name: str) -> Figure:
        found = model.estimate(
            ("pause", pickup, coil, turns, name),
            lambda m: float(getattr(blocks.copper(m, pickup, coil, turns), name)),
            "coil.outline",
        )
        return figure(found.value, "m", found.low, found.high, model.inputs.units)

    wound = blocks.copper(model, pickup, coil, turns)
    seconds = turns / named.pace(model) + blocks.pauses(turns) * blocks.PAUSE_SECONDS
    taps = blocks.coil_of(model, pickup, coil).tap or ()
    return Pause(
        turns,
        f"tap {taps.index(turns) + 1}" if turns in taps else "",
        reading(turns, winder),
        size("outer_length"),
        size("outer_width"),
        figure(wound.copper_mass + wound.enamel_mass, "kg", units=model.inputs.units),
        figure(round(seconds / 60.0) * 60.0, "s"),
    )


def tension(model: Model, pickup: str, coil: str) -> Tension:
    """Pull on the wire of one coil: its own, the usual one, and coins to hang."""
    record = blocks.coil_of(model, pickup, coil)
    pull = named.tension(model, record, blocks.coil_path(pickup, coil))
    limits = named.tension_of(record.wire)
    usual = say.pull(model, limits.usual_low, limits.usual_high)
    hung = pull / wire.GRAVITY - PAPER_CLIP
    hangers = []
    for found in (c for currency in CURRENCIES for c in coins(currency)):
        count = round(hung / found.mass.nominal)
        off = abs(count * found.mass.nominal - hung) / max(hung, 1e-6)
        if 1 <= count <= 9 and off <= 0.12:
            hangers.append(f"{count} x {found.name}")
    return Tension(say.pull(model, pull), usual, tuple(hangers))
