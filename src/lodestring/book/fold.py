"""From the events of one coil, or of one spool, to where it stands: any order, any duplication, the same state.

Pure functions over a set of events. The rules are those of contract 5: voided events do not count; the last
`coil.count` is the base; turns that it does not cover are added; one device holds the counter, and what others counted
stands apart until a person admits it; in everything else the last word counts, last by (lamport, id).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from lodestring.book.event import Event
from lodestring.book.kinds import KINDS

MOST_GAPS = 64
"""Missing numbers that are named for one device; the page needs no more to ask for them."""
NO_COVERS: Mapping[str, int] = {}


@dataclass(frozen=True, slots=True)
class Noted:
    """Something that was noted at a turn: `turns` is the total as it stood then; `body` as it was sent."""

    id: str
    kind: str
    at: str
    device: str
    turns: int
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Counted:
    """Turns of one device: those in the total, those that stand apart, its highest number, and numbers that have not
    come yet (at most MOST_GAPS of them, the lowest first)."""

    device: str
    counted: int
    apart: int
    highest: int
    waiting: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CoilState:
    """Where a coil stands. `begun`: body of its `coil.begin`, None before it has come. `turns` may be negative: then
    the page asks. `history`: everything but single turns, oldest first."""

    serial: str
    begun: Mapping[str, Any] | None
    turns: int
    base: Mapping[str, Any] | None
    devices: tuple[Counted, ...]
    holder: str
    target: int | None
    ended: str
    checks: tuple[Noted, ...]
    snags: tuple[Noted, ...]
    snaps: tuple[Noted, ...]
    wire_ends: tuple[Noted, ...]
    waxes: tuple[Noted, ...]
    measures: tuple[Noted, ...]
    notes: tuple[Noted, ...]
    photos: tuple[Noted, ...]
    unknown: tuple[Noted, ...]
    history: tuple[Noted, ...]
    names: Mapping[str, str]
    voided: frozenset[str]
    lamport: int
    last_at: str
    events: int = 0

    @property
    def negative(self) -> bool:
        """Whether more was taken off than was wound: somebody has to say what is true."""
        return self.turns < 0

    @property
    def apart(self) -> int:
        """Turns of devices that do not hold the counter, not in the total."""
        return sum(d.apart for d in self.devices)


@dataclass(frozen=True, slots=True)
class SpoolState:
    """Where a spool stands; coils drawn from it are known to the coils."""

    name: str
    begun: Mapping[str, Any] | None
    weighings: tuple[Noted, ...]
    samples: tuple[Noted, ...]
    notes: tuple[Noted, ...]
    unknown: tuple[Noted, ...]
    voided: frozenset[str]
    lamport: int
    last_at: str


@dataclass(frozen=True, slots=True)
class _Kept:
    """The events that count, in order, and the voided ids."""

    events: tuple[Event, ...]
    voided: frozenset[str]
    lamport: int
    last_at: str
    highest: Mapping[str, int] = field(default_factory=dict)
    numbers: Mapping[str, frozenset[int]] = field(default_factory=dict)


def fold_coil(events: Iterable[Event], serial: str = "") -> CoilState:
    """The state of one coil from its events; events of other coils and of spools are passed over."""
    every = list(events)
    serial = serial or next((e.coil for e in every if e.coil), "")
    kept = _kept(e for e in every if e.coil == serial)
    of = kept.events
    begun = _last(of, "coil.begin")
    aim, end = _last(of, "coil.aim", "coil.begin"), _last(of, "coil.end")
    base = _last(of, "coil.count")
    holder = _holder(of)
    counts = _counts(of, holder)
    notable = [e for e in of if e.kind not in ("coil.turns", "device.name")]
    noted = tuple(_noted(e, of) for e in notable)

    def those(*kinds: str) -> tuple[Noted, ...]:
        return tuple(n for n in noted if n.kind in kinds)

    return CoilState(
        serial=serial,
        begun=None if begun is None else begun.body,
        turns=_base_turns(base) + sum(inside for inside, _ in counts.values()),
        base=None if base is None else base.body,
        devices=tuple(
            Counted(d, *counts.get(d, (0, 0)), kept.highest[d], _missing(kept.numbers[d], kept.highest[d]))
            for d in sorted(kept.highest)
        ),
        holder=holder,
        target=None if aim is None else int(aim.body["target"]),
        ended="" if end is None else str(end.body["state"]),
        checks=those("coil.check"),
        snags=those("coil.snag"),
        snaps=those("coil.snap"),
        wire_ends=those("coil.wire_end"),
        waxes=those("coil.wax"),
        measures=those("measure"),
        notes=those("note"),
        photos=those("photo"),
        unknown=tuple(n for n in noted if n.kind not in KINDS),
        history=noted,
        names={e.device: str(e.body["label"]) for e in of if e.kind == "device.name"},
        voided=kept.voided,
        lamport=kept.lamport,
        last_at=kept.last_at,
        events=len(of),
    )


def fold_spool(events: Iterable[Event], name: str = "") -> SpoolState:
    """The state of one spool from its events."""
    every = list(events)
    name = name or next((e.spool for e in every if e.spool), "")
    kept = _kept(e for e in every if e.spool == name)
    begun = _last(kept.events, "spool.begin")
    noted = tuple(Noted(e.id, e.kind, e.at, e.device, 0, e.body) for e in kept.events)
    return SpoolState(
        name,
        None if begun is None else begun.body,
        tuple(n for n in noted if n.kind == "spool.weigh"),
        tuple(n for n in noted if n.kind == "spool.sample"),
        tuple(n for n in noted if n.kind == "note"),
        tuple(n for n in noted if n.kind not in KINDS),
        kept.voided,
        kept.lamport,
        kept.last_at,
    )


def turns_until(events: Iterable[Event], until: tuple[int, str]) -> int:
    """The total as it stood when the event of this order was made; `events`: those that count (no voided ones)."""
    of = [e for e in events if e.order <= until]
    counts = _counts(of, _holder(of))
    return _base_turns(_last(of, "coil.count")) + sum(inside for inside, _ in counts.values())


# ---- inside ----


def _kept(events: Iterable[Event]) -> _Kept:
    by_id = {e.id: e for e in events}
    voided = frozenset(
        str(e.body["event"]) for e in by_id.values() if e.kind == "void" and _may_be_voided(by_id.get(e.body["event"]))
    )
    numbers: dict[str, set[int]] = {}
    for e in by_id.values():  # a voided event has come: it is no gap
        numbers.setdefault(e.device, set()).add(e.n)
    return _Kept(
        tuple(sorted((e for e in by_id.values() if e.id not in voided), key=lambda e: e.order)),
        voided,
        max((e.lamport for e in by_id.values()), default=0),
        max((e.at for e in by_id.values()), default=""),
        {d: max(n) for d, n in numbers.items()},
        {d: frozenset(n) for d, n in numbers.items()},
    )


def _may_be_voided(event: Event | None) -> bool:
    """A void cannot be voided; what has not come yet is voided when it comes."""
    return event is None or event.kind != "void"


def _last(events: Iterable[Event], *kinds: str) -> Event | None:
    return max((e for e in events if e.kind in kinds), key=lambda e: e.order, default=None)


def _holder(events: Iterable[Event]) -> str:
    """The device that holds the counter: whoever took it last, else who counted first."""
    every = list(events)
    take = _last(every, "counter.take")
    if take is not None:
        return str(take.body["device"])
    first = min((e for e in every if e.kind == "coil.turns"), key=lambda e: e.order, default=None)
    return "" if first is None else first.device


def _counts(events: Iterable[Event], holder: str) -> dict[str, tuple[int, int]]:
    """For each device: turns in the total on top of the base, and turns that stand apart."""
    every = list(events)
    base, take = _last(every, "coil.count"), _last(every, "counter.take")
    covered: Mapping[str, int] = NO_COVERS if base is None else base.body["covers"]
    admitted: dict[str, int] = {} if take is None else {d: int(n) for d, n in take.body["covers"].items()}
    for e in every:
        if e.kind == "counter.admit":
            device = str(e.body["device"])
            admitted[device] = max(admitted.get(device, 0), int(e.body["to"]))
    made: dict[str, tuple[int, int]] = {}
    for e in every:
        if e.kind != "coil.turns" or e.n <= covered.get(e.device, 0):
            continue
        inside, apart = made.get(e.device, (0, 0))
        turns = int(e.body["turns"])
        if e.device == holder or e.n <= admitted.get(e.device, 0):
            made[e.device] = inside + turns, apart
        else:
            made[e.device] = inside, apart + turns
    return made


def _base_turns(base: Event | None) -> int:
    return 0 if base is None else int(base.body["turns"])


def _noted(event: Event, events: tuple[Event, ...]) -> Noted:
    return Noted(event.id, event.kind, event.at, event.device, turns_until(events, event.order), event.body)


def _missing(numbers: frozenset[int], highest: int) -> tuple[int, ...]:
    made: list[int] = []
    for n in range(1, highest):
        if n not in numbers:
            made.append(n)
            if len(made) == MOST_GAPS:
                break
    return tuple(made)
