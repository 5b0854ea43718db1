"""The bench's desk behind the pages: each question in a thread of its own."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from lodestring.folder.winding_desk import WindingDesk
    from lodestring.folder.winding_state import BenchState

T = TypeVar("T")


class BookHere:
    """The desk of one folder, made when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._desk: WindingDesk | None = None

    async def ask(self, work: Callable[[WindingDesk], T]) -> T:
        """Do something at the desk outside the server's own thread."""
        return await asyncio.to_thread(lambda: work(self._made()))

    def _made(self) -> WindingDesk:
        from lodestring.folder.winding_desk import WindingDesk

        if self._desk is None:
            self._desk = WindingDesk(self._folder)
        return self._desk

    def close(self) -> None:
        """Write what waits, and let go."""
        if self._desk is not None:
            self._desk.close()


def island_of(state: BenchState, fold: Any) -> dict[str, Any]:
    """What the page's script counts with: numbers, who holds the counter, which presses are in the book."""
    begun = fold.begun or {}
    crank = int(begun.get("turns_per_crank", 1))
    return {
        "serial": state.serial,
        "turns": state.turns,
        "target": state.target,
        "press": crank,
        "factor": crank if state.unit == "cranks" else 1,
        "zero": state.zero,
        "unit": state.unit,
        "next": None if state.next is None else state.next.turns,
        "holder": state.holder,
        "ended": state.ended,
        "lamport": state.lamport,
        "devices": {d.device: {"highest": d.highest, "waiting": list(d.waiting)} for d in fold.devices},
    }
