"""Everything the bench page shows of a coil on the winder: one frozen record from the book."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lodestring.assess.shown import size_said
from lodestring.book.event import Event
from lodestring.book.fold import CoilState, Counted
from lodestring.book.store import HERE, Book
from lodestring.folder.winding_count import counter_zero, estimated
from lodestring.folder.winding_expected import CheckLine, Expected, check_lines, expected_at, start_mass
from lodestring.folder.winding_learned import wound_for
from lodestring.folder.winding_pace import Paced, pace_of
from lodestring.folder.winding_repeat import RealPause, pauses_of
from lodestring.folder.winding_set import WoundSet, begun
from lodestring.folder.winding_stages import stage_of
from lodestring.making.counter import reading_at, unit_of
from lodestring.making.winding_plan import OPPOSITE, grouped, mountings, pause_turns, tension
from lodestring.quantity.figures import Figure, figure


@dataclass(frozen=True, slots=True)
class NextPause:
    """The pause that comes next, and what to do there."""

    turns: int
    what: str
    reading: str
    turns_left: int
    cranks_left: str
    expected: Expected
    todo: tuple[str, ...]
    before: str = ""
    """what the coil that is wound again measured here, "" where this is none or it was not measured"""


@dataclass(frozen=True, slots=True)
class PauseMark:
    """One pause on the bar: passed or not, and whether the coil was measured there."""

    turns: int
    reading: str
    what: str
    done: bool
    measured: bool


@dataclass(frozen=True, slots=True)
class Pace:
    """Turns a minute while cranking, time at the winder, and time left with the pauses; None: not known yet."""

    turns_per_minute: Figure | None
    elapsed: Figure | None
    cranking: Figure | None
    left: Figure | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """Presses of a device that have not come yet."""

    device: str
    label: str
    missing: tuple[int, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Apart:
    """Turns of a device that does not hold the counter: shown, and counted only when a person says so.

    `to`: what `counter.admit` would carry.
    """

    device: str
    label: str
    turns: int
    to: int
    sentence: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something a person has to say or know. Codes: negative, overrun, apart, waiting, snap, estimate, size."""

    code: str
    sentence: str
    attempt: str


@dataclass(frozen=True, slots=True)
class BenchState:
    """The bench page of one coil. For a coil that is unwound, `turns` are those taken off, counted upward."""

    serial: str
    title: str
    set_name: str
    pickup: str
    coil: str
    wire: str
    wound: str
    unwind: bool
    stage: str
    turns: int
    target: int
    left: int
    progress: float
    unit: str
    reading: str
    target_reading: str
    zero: int
    here: Expected
    next: NextPause | None
    pauses: tuple[PauseMark, ...]
    pace: Pace
    holder: str
    waiting: tuple[Waiting, ...]
    apart: tuple[Apart, ...]
    questions: tuple[Question, ...]
    checks: tuple[CheckLine, ...]
    winding: tuple[str, ...]
    tension: str
    coins: tuple[str, ...]
    estimate: str
    spool: str
    again: str
    ended: str
    lamport: int


def bench_state(book: Book, serial: str) -> BenchState:
    """The bench page of a begun coil. Raises BookProblem, SetFileError."""
    events = book.events(coil=serial)
    state = begun(book, serial, events)
    return state_of(book, state, wound_for(book, state), events)


def state_of(book: Book, state: CoilState, here: WoundSet, events: tuple[Event, ...]) -> BenchState:
    """As `bench_state`, where everything is at hand."""
    zero, start = counter_zero(state, here), start_mass(book, state, here)
    turns, target = state.turns, here.target
    again = str((state.begun or {}).get("again", ""))
    real = pauses_of(book, again) if again else ()
    stops = _stops(here, real)
    coming = next((n for n in stops if n > turns), None) if not state.ended else None
    checks = check_lines(state, here, start)
    record, model = here.record, here.model
    pull = tension(model, here.pickup, here.coil) if model is not None and record is not None else None
    return BenchState(
        serial=state.serial,
        title=here.title,
        set_name=here.set_name,
        pickup=here.pickup,
        coil=here.coil,
        wire="" if record is None or model is None
        else f"{size_said(record.wire.size, model.inputs.units)}, {record.wire.film} {record.wire.enamel}",
        wound="" if record is None else record.wound,
        unwind=here.unwind,
        stage=stage_of(state),
        turns=turns,
        target=target,
        left=target - turns,
        progress=min(1.0, max(0.0, turns / target)),
        unit=unit_of(here.winder),
        reading=reading_at(turns, here.winder, zero),
        target_reading=reading_at(target, here.winder, zero),
        zero=zero,
        here=expected_at(here, max(0, turns), zero, start),
        next=None if coming is None else _next(here, coming, turns, zero, start, real),
        pauses=tuple(_mark(here, state, n, zero) for n in stops),
        pace=_pace(pace_of(events, state.voided), here, turns, [n for n in stops if n > turns], events),
        holder=state.holder,
        waiting=tuple(_waiting(state)),
        apart=tuple(_apart(state)),
        questions=tuple(_questions(state, here, checks)),
        checks=checks,
        winding=tuple(_ways(here)),
        tension="" if pull is None else f"{pull.pull} (usual {pull.usual})",
        coins=() if pull is None else pull.coins,
        estimate=_estimate(state),
        spool=here.spool,
        again=again,
        ended=state.ended,
        lamport=state.lamport,
    )  # fmt: skip


# ---- pauses ----


def _stops(here: WoundSet, real: tuple[RealPause, ...]) -> tuple[int, ...]:
    """Turns of the pauses: those of the coil that is wound again, else every thousand; taps and the last turn."""
    record = here.record
    taps = tuple(t for t in (() if record is None or here.unwind else record.tap or ()) if t < here.target)
    if real:
        return tuple(sorted({*(p.turns for p in real if 0 < p.turns < here.target), *taps, here.target}))
    return pause_turns(here.target, here.winder, taps)


def _what(here: WoundSet, turns: int) -> str:
    taps = (here.record.tap or ()) if here.record is not None and not here.unwind else ()
    return f"tap {taps.index(turns) + 1}" if turns in taps else "the last turn" if turns == here.target else ""


def _mark(here: WoundSet, state: CoilState, turns: int, zero: int) -> PauseMark:
    near = max(here.winder.turns_per_crank, 5)
    measured = any(abs(n.turns - turns) <= near for n in state.checks)
    return PauseMark(turns, reading_at(turns, here.winder, zero), _what(here, turns), state.turns >= turns, measured)


def _next(
    here: WoundSet, stop: int, turns: int, zero: int, start: float | None, real: tuple[RealPause, ...]
) -> NextPause:
    old = next((p for p in real if p.turns == stop), None)
    what = _what(here, stop)
    left = stop - turns
    return NextPause(
        stop,
        what,
        reading_at(stop, here.winder, zero),
        left,
        reading_at(left, here.winder),
        expected_at(here, stop, zero, start),
        tuple(_todo(here, what, start)),
        "" if old is None else ", ".join(w for w in (old.end, old.side, old.spool_mass, old.what) if w),
    )


def _todo(here: WoundSet, what: str, start: float | None) -> Iterator[str]:
    if what.startswith("tap"):
        yield f"lead out {what}: a loop of the same wire, insulated, through its own eyelet"
    yield "type what the counter shows"
    if here.unwind:
        yield "note the wire: its colour, kinks, burnt places"
        return
    yield "measure the length over ends and the width at mid-side, calipers just touching"
    if start is not None:
        yield "weigh the spool standing, the wire not pulled"
    if what == "the last turn":
        yield "hold the wire with tape before you cut it, and leave 100 mm"


def _ways(here: WoundSet) -> Iterator[str]:
    """Which way to turn, for both ways of mounting; backward for taking turns off."""
    record = here.record
    if record is None:
        yield "Before the first turn comes off: note which way the wire runs from the finish, seen from the top."
        yield "Hold the spool that takes the wire up so that it is not twisted; never pull a kink straight."
        return
    for m in mountings(record.wound, here.winder):
        turned = OPPOSITE[m.crank] if here.unwind else m.crank
        yield f"{m.facing}: crank {turned}"
    if not here.unwind:
        yield "turns off again: the felt open, crank back slowly and count every turn aloud; then type what is left"


# ---- pace ----


def _pace(found: Paced, here: WoundSet, turns: int, coming: list[int], events: tuple[Event, ...]) -> Pace:
    elapsed = figure(found.elapsed, "s") if found.elapsed > 0.0 else None
    if found.cranking is None:
        words = "The pace shows after a few counts." if found.elapsed == 0.0 else "No turns in the last steps."
        return Pace(None, elapsed, None, None, words)
    seconds = found.left(here.target - turns, max(0, len(coming) - 1))
    per_minute = figure(round(60.0 * found.cranking), "1")
    left = None if seconds is None or turns >= here.target else figure(round(seconds / 60.0) * 60.0, "s")
    rest = "" if left is None else f", about {left.text} to go with the pauses"
    return Pace(per_minute, elapsed, figure(found.at_crank, "s"), left, f"{per_minute.value} turns a minute{rest}")


# ---- devices and questions ----


def _label(state: CoilState, device: str) -> str:
    return state.names.get(device) or ("this page's own server" if device == HERE else device)


def _waiting(state: CoilState) -> Iterator[Waiting]:
    for d in state.devices:
        if d.waiting:
            count = len(d.waiting)
            many = f"{count} press{'' if count == 1 else 'es'}"
            label = _label(state, d.device)
            yield Waiting(d.device, label, d.waiting, f"waiting for {many} from {label}")


def _apart(state: CoilState) -> Iterator[Apart]:
    for d in state.devices:
        if d.apart:
            yield _apart_of(state, d)


def _apart_of(state: CoilState, d: Counted) -> Apart:
    label, holder = _label(state, d.device), _label(state, state.holder)
    turns = f"{grouped(abs(d.apart))} turn{'' if abs(d.apart) == 1 else 's'}{' off' if d.apart < 0 else ''}"
    return Apart(
        d.device, label, d.apart, d.highest, f"{label} has counted {turns}; {holder} holds the counter, so they wait"
    )


def _questions(state: CoilState, here: WoundSet, checks: tuple[CheckLine, ...]) -> Iterator[Question]:
    turns, target = state.turns, here.target
    if turns < 0:
        yield Question(
            "negative",
            f"More turns were taken off than were wound: {grouped(-turns)} below zero",
            "type what is really on the coil, or take back the press that was wrong",
        )
    if turns > target and not state.ended and not here.unwind:
        yield Question(
            "overrun",
            f"{grouped(turns - target)} turns past the target of {grouped(target)}",
            "take them off again by hand, or leave them and let the target be what is there",
        )
    for apart in _apart(state):
        yield Question("apart", apart.sentence, "count them too, give that device the counter, or leave them apart")
    for waiting in _waiting(state):
        yield Question("waiting", waiting.sentence, "opening the page on that device: it still holds them")
    snap = state.snaps[-1] if state.snaps else None
    if snap is not None and snap.body.get("then") == "spliced" and snap.turns == turns:
        yield Question(
            "snap", f"Spliced at turn {grouped(max(0, turns))}", "measuring from the start wire to the loose end first"
        )
    if estimated(state):
        yield Question("estimate", _estimate(state), "measuring size and spool at the next pause, too")
    if checks and checks[0].word in ("fat", "thin"):
        yield Question("size", f"At {grouped(checks[0].turns)} turns: {checks[0].sentence}", "measuring once more")


def _estimate(state: CoilState) -> str:
    base = state.base or {}
    if base.get("why") != "estimate":
        return ""
    low, high = base.get("low"), base.get("high")
    within = f", {grouped(int(low))} to {grouped(int(high))}" if low is not None and high is not None else ""
    since = state.turns - int(base.get("turns", 0))
    more = f", and {grouped(since)} counted since" if since > 0 else ""
    return f"The count rests on an estimate of {grouped(int(base.get('turns', 0)))} turns{within}{more}"
