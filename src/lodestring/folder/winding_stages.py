"""How far each coil has come, for the shelf: drawn, winding, wound, potted, fitted; or scrapped, unwound."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from lodestring.book.fold import CoilState, fold_coil
from lodestring.book.store import Book

STAGES = ("drawn", "winding", "wound", "potted", "fitted", "scrapped", "unwound")
_ENDED = {"kept short": "wound", "wound": "wound"}


@dataclass(frozen=True, slots=True)
class CoilLine:
    """One coil of the book. `state`: as the book has it ("kept short"), `stage`: one of STAGES."""

    serial: str
    set_name: str
    pickup: str
    coil: str
    stage: str
    state: str
    turns: int
    target: int
    spool: str
    unwind: bool
    begun_at: str
    last_at: str


def coils(book: Book) -> tuple[CoilLine, ...]:
    """Every coil that was begun, the latest first."""
    found = []
    for serial in book.coils():
        state = fold_coil(book.events(coil=serial), serial)
        if state.begun is not None:
            found.append(_line(state))
    return tuple(sorted(found, key=lambda c: c.last_at, reverse=True))


def stages(book: Book, set_name: str) -> dict[tuple[str, str], Counter[str]]:
    """For each (pickup, coil) of a set that was ever begun, how many coils stand at which stage."""
    found: dict[tuple[str, str], Counter[str]] = {}
    for line in coils(book):
        if line.set_name == set_name and not line.unwind:
            found.setdefault((line.pickup, line.coil), Counter())[line.stage] += 1
    return found


def stage_of(state: CoilState) -> str:
    """One of STAGES. A wax bath that was noted says potted, whatever the end said before it."""
    if state.ended in ("fitted", "scrapped", "unwound", "potted"):
        return state.ended
    if state.waxes:
        return "potted"
    return _ENDED.get(state.ended, "winding")


def _line(state: CoilState) -> CoilLine:
    body = state.begun or {}
    parts = str(body.get("path", "")).split(".")
    pickup, coil = (parts[1], parts[3]) if len(parts) == 4 else ("", "")
    target = state.target if state.target is not None else int(body.get("target", 0))
    begun_at = next((n.at for n in state.history if n.kind == "coil.begin"), "")
    return CoilLine(
        state.serial,
        str(body.get("name", "")),
        pickup,
        coil,
        stage_of(state),
        state.ended,
        state.turns,
        target,
        str(body.get("spool", "")),
        bool(body.get("unwind", False)),
        begun_at,
        state.last_at,
    )
