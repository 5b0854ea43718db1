"""Results that are kept: (function, record) -> result, bounded by bytes. No dirty flags; re-use follows from
records.
"""

from __future__ import annotations

import sys
from collections import Counter, OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar

R = TypeVar("R")
K = TypeVar("K", bound=Hashable)
LIMIT = 96 * 1024 * 1024
KEY_SIZE = 1024
"""Bytes a key is reckoned at: a record of a few dozen floats."""


class Store:
    """Keeps results of pure functions of one small frozen record. One per server or worker, a fresh one in tests.

    `runs` counts, by function name, how often a function really ran: the re-use table of the tests reads it.
    """

    def __init__(self, limit: int = LIMIT) -> None:
        self.limit = limit
        self.size = 0
        self.runs: Counter[str] = Counter()
        self._kept: OrderedDict[tuple[str, Hashable], tuple[Any, int]] = OrderedDict()

    def kept(self, function: Callable[[K], R], record: K) -> R:
        """`function(record)`, from memory where it was asked before. The oldest results go when the limit is passed."""
        name = f"{function.__module__}.{function.__qualname__}"
        return self.kept_as((name, record), function.__name__, lambda: function(record))

    def kept_as(self, key: tuple[str, Hashable], name: str, make: Callable[[], R], size: int | None = None) -> R:
        """`make()`, from memory where `key` was asked before; `name` is what `runs` counts it under.

        `size` in bytes where measuring the result would cost more than making it.
        """
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
            return found[0]  # type: ignore[no-any-return]
        self.runs[name] += 1
        result = make()
        size = size_of(result) + KEY_SIZE if size is None else size
        self._kept[key] = (result, size)
        self.size += size
        while self.size > self.limit and len(self._kept) > 1:
            _, (_, gone) = self._kept.popitem(last=False)
            self.size -= gone
        return result


def size_of(value: Any) -> int:
    """Bytes a result holds, near enough: records, tuples and arrays; arrays are made read-only on the way."""
    flags = getattr(value, "flags", None)
    if flags is not None and hasattr(value, "nbytes") and hasattr(value, "__setitem__"):  # not the scalars of numpy
        flags.writeable = False
        return int(value.nbytes) + 128
    if is_dataclass(value):
        return 64 + sum(size_of(getattr(value, f.name)) for f in fields(value))
    if isinstance(value, tuple | frozenset):
        return 64 + sum(size_of(v) for v in value)
    return sys.getsizeof(value)
