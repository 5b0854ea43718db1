"""Computing that can be given up: a store that looks, before each step it has to run, whether the result is wanted.

Each step is a pure function of one record, and its result is kept only when it is whole, so work may end between any
two steps and nothing is left half done. The store may be shared by threads.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from lodestring.assess.store import KEY_SIZE, LIMIT, Store, size_of

if TYPE_CHECKING:
    from lodestring.assess.report import Assessment

R = TypeVar("R")


class GivenUp(BaseException):
    """The result is not wanted any more. Like KeyboardInterrupt no Exception: nothing in between may catch it."""


class Cancel:
    """A wish that may be taken back, from any thread."""

    def __init__(self) -> None:
        self._asked = threading.Event()

    def ask(self) -> None:
        self._asked.set()

    @property
    def asked(self) -> bool:
        return self._asked.is_set()

    def pause(self, seconds: float) -> None:
        """Wait so long, or raise GivenUp as soon as the wish is taken back."""
        if self._asked.wait(seconds):
            raise GivenUp

    def check(self) -> None:
        """Raises GivenUp if the wish was taken back."""
        if self.asked:
            raise GivenUp


_here = threading.local()


@contextmanager
def watching(cancel: Cancel) -> Iterator[None]:
    """Work of this thread, inside, is given up when `cancel` is asked."""
    before = getattr(_here, "cancel", None)
    _here.cancel = cancel
    try:
        yield
    finally:
        _here.cancel = before


def check() -> None:
    """Raises GivenUp if what this thread works on is not wanted any more; does nothing where nobody watches."""
    cancel = getattr(_here, "cancel", None)
    if cancel is not None:
        cancel.check()


def twin(assessment: Assessment) -> Assessment:
    """The same set once more, for another thread: a model notes what it reads and belongs to one thread.

    What one has computed serves the other through the store they share, which must be a PatientStore.
    """
    from lodestring.assess.model import Model  # with numpy, which the address must not wait for
    from lodestring.assess.report import Assessment as Made

    model = assessment.model
    return Made(Model(model.inputs, model.store))


def pause(seconds: float) -> None:
    """Wait so long; raises GivenUp as soon as what this thread works on is not wanted any more."""
    cancel = getattr(_here, "cancel", None)
    (cancel or Cancel()).pause(seconds)


class PatientStore(Store):
    """A store that threads share and that gives up between steps. Two threads may both run a step: the same result."""

    def __init__(self, limit: int = LIMIT) -> None:
        super().__init__(limit)
        self._lock = threading.Lock()

    def kept_as(self, key: tuple[str, Hashable], name: str, make: Callable[[], R], size: int | None = None) -> R:
        """As Store.kept_as. Raises GivenUp before `make` if the result is not wanted any more."""
        with self._lock:
            found: tuple[Any, int] | None = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found[0]  # type: ignore[no-any-return]
            self.runs[name] += 1
        check()
        result = make()
        size = size_of(result) + KEY_SIZE if size is None else size
        with self._lock:
            old = self._kept.pop(key, None)
            self._kept[key] = (result, size)
            self.size += size - (0 if old is None else old[1])
            while self.size > self.limit and len(self._kept) > 1:
                _, (_, gone) = self._kept.popitem(last=False)
                self.size -= gone
        return result
