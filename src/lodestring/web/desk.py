"""The sets that are open on the workbench: each with its sitting, its threads, and the groups its page shows.

One thread answers pages and changes, one draws and writes what is asked for beside them (pictures, files, reasons), one
works out, in the background, the groups that need a magnetic solve; each tab is told when one is ready. A change makes
the background give up what it is at: the newest state wins, and a group that was made for another state is never handed
out as current.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from lodestring.errors import LodestringError, SetFileError
from lodestring.folder.patience import check, pause
from lodestring.web.push import Hub, News
from lodestring.web.work import Job, Urgency, Worker

if TYPE_CHECKING:
    from lodestring.assess.report import Assessment
    from lodestring.folder.sitting import Sitting
    from lodestring.web.bench import Bench

T = TypeVar("T")
BREATH = 0.03
"""Seconds before the background begins: the page that was asked for goes out first, and who types fast is not met."""
WORKING, READY, FAILED, CANCELLED, CHANGED = "working", "ready", "failed", "cancelled", "changed"
UNITS = "units"


@dataclass(frozen=True, slots=True)
class Part:
    """One group of the page at one state of the set.

    `kind` names its template, `content` is its record (folder/board.py), None while there is none yet; a part with
    content that is still working has more to come. `sentence` says why not, if it failed.
    """

    group: str
    kind: str
    title: str
    digest: str
    state: str = READY
    content: Any = None
    sentence: str = ""


class Desk:
    """One open set."""

    def __init__(self, name: str, bench: Bench, hub: Hub) -> None:
        self.name = name
        self._bench = bench
        self._hub = hub
        self._front, self._beside, self._back = (Worker(f"{name}, {what}") for what in ("page", "files", "background"))
        self._twins: dict[int, tuple[Assessment, Assessment]] = {}
        self._sitting: Sitting | None = None
        self._lock = threading.Lock()
        self._parts: dict[str, Part] = {}
        self._kept = ""
        self._workshop: object = None
        self._job: Job | None = None

    async def ask(self, work: Callable[[Desk], T], urgency: Urgency = Urgency.PAGE) -> T:
        """Do something with this desk in a thread of its own. For a change the background gives way at once."""
        if urgency is Urgency.CHANGE:
            self._drop()
        worker = self._beside if urgency is Urgency.ASKED else self._front
        return await worker.ask(lambda: work(self), urgency)

    def cancel(self) -> None:
        """What runs in the background is not wanted now; its groups say so, and are begun again with the next page."""
        self._drop()
        self._mark(lambda p: p.state == WORKING, CANCELLED)

    def end(self) -> None:
        for worker in (self._front, self._beside, self._back):
            worker.end()

    @property
    def open(self) -> bool:
        """Whether the set has been read."""
        return self._sitting is not None

    # ---- in one of its threads ----

    def sitting(self) -> Sitting:
        """The set as it is on disk by now: what another program wrote is taken in, and all tabs are told.

        Raises FileProblem where there is no such set.
        """
        if self._sitting is None:
            self._sitting = self._bench.sitting(self.name)
            return self._sitting
        if self._sitting.refresh():
            self.tell_changed()
        return self._sitting

    def assessment(self) -> Assessment | None:
        """The assessment of the set as it is on disk, for this thread alone; None where it cannot be computed."""
        return self._own(self.sitting().assessment)

    def computed(self) -> Assessment:
        """As `assessment`. Raises SetFileError, with all problems, where it cannot be computed."""
        found = self.assessment()
        if found is None:
            raise SetFileError(f"{self.name}.toml", list(self.sitting().problems))
        return found

    def kept(self, id: str) -> Assessment | None:
        """The assessment of a kept state, None for no id. Raises FileProblem where nothing of that id is kept."""
        return self.sitting().compare(id) if id else None

    def _own(self, made: Assessment | None) -> Assessment | None:
        if made is None:
            return None
        thread = threading.get_ident()
        known = self._twins.get(thread)
        if known is None or known[0] is not made:
            known = self._twins[thread] = (made, self._bench.twin(made))
        return known[1]

    def tell_changed(self) -> None:
        """All tabs: the set is in another state."""
        if self._sitting is not None:
            self._hub.tell(News(self.name, self._sitting.digest, "", CHANGED))

    def parts(self, kept: str = "", begin: bool = True) -> dict[str, Part]:
        """The groups of the page in the set's present state; the slow ones as working until they are ready.

        kept: id of a state to compare with. Not `begin`: what was cancelled stays so.
        """
        sitting = self.sitting()
        digest, beside = sitting.digest, sitting.beside
        with self._lock:
            known, same = self._parts, (self._kept, self._workshop) == (kept, beside)
        if not (known and same and all(p.digest == digest for p in known.values())):
            known = self._bench.parts(sitting, self.assessment(), kept)
            with self._lock:
                self._parts, self._kept, self._workshop = dict(known), kept, beside
            self._drop()
        wanted = (WORKING, CANCELLED) if begin else (WORKING,)
        dropped = self._job is None or self._job.cancel.asked
        if dropped and any(p.state in wanted for p in known.values()):
            self._mark(lambda p: p.state == CANCELLED, WORKING)
            self._job = self._back.submit(lambda: self._slow(sitting, digest, kept, beside))
        with self._lock:
            return dict(self._parts)

    # ---- in the background's thread ----

    def _slow(self, sitting: Sitting, digest: str, kept: str, beside: object) -> None:
        """Each slow group as it comes; none of a state that is not the present one any more."""
        pause(BREATH)
        try:
            for part in self._bench.slow_parts(sitting, self._own(sitting.assessment), kept):
                check()
                if not self._publish(part, digest, kept, beside):
                    return
        except LodestringError as error:
            self._mark(lambda p: p.digest == digest and p.state == WORKING, FAILED, f"{error}.")
        except Exception as error:  # noqa: BLE001 - a page that waits for ever would be worse
            what = f"This could not be worked out ({type(error).__name__}); report this set file as a fault of ours."
            self._mark(lambda p: p.digest == digest and p.state == WORKING, FAILED, what)

    def _publish(self, part: Part, digest: str, kept: str, beside: object) -> bool:
        """Put a group on the page; False where the page is of another state by now."""
        with self._lock:
            known = self._parts.get(part.group)
            if (
                (self._kept, self._workshop) != (kept, beside)
                or part.digest != digest
                or known is None
                or known.digest != digest
            ):
                return False
            self._parts[part.group] = part
        self._hub.tell(News(self.name, digest, part.group, part.state))
        return True

    def _drop(self) -> None:
        job = self._job
        if job is not None:
            job.cancel.ask()

    def _mark(self, those: Callable[[Part], bool], state: str, sentence: str = "") -> None:
        with self._lock:
            marked = [replace(p, state=state, sentence=sentence) for p in self._parts.values() if those(p)]
            self._parts |= {p.group: p for p in marked}
        for part in marked:
            self._hub.tell(News(self.name, part.digest, part.group, state))


def changed(old: Mapping[str, Part], new: Mapping[str, Part]) -> tuple[str, ...]:
    """Groups that a page has to paint again: other content, other readiness, or still working for another state."""
    return tuple(group for group, part in new.items() if group not in old or _painted(old[group]) != _painted(part))


def _painted(part: Part) -> tuple[object, ...]:
    return part.state, part.content, part.sentence, part.digest if part.state != READY else ""


class Desks:
    """All open sets by name."""

    MOST = 16

    def __init__(self, bench: Bench, hub: Hub) -> None:
        self._bench = bench
        self._hub = hub
        self._open: dict[str, Desk] = {}

    def desk(self, name: str) -> Desk:
        """The desk of a set; the one that was opened first goes when there are too many."""
        found = self._open.get(name)
        if found is None:
            while len(self._open) >= self.MOST:
                self.close(next(iter(self._open)))
            found = self._open[name] = Desk(name, self._bench, self._hub)
        return found

    def tell_units(self) -> None:
        """All tabs: figures are said in other units from now on."""
        for name in list(self._open):
            self._hub.tell(News(name, "", "", UNITS))

    def close(self, name: str) -> None:
        """A set that was renamed or binned is not worked on any more."""
        gone = self._open.pop(name, None)
        if gone is not None:
            gone.end()

    def close_all(self) -> None:
        for name in list(self._open):
            self.close(name)
