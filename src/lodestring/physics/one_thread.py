"""BLAS held to one thread: a few hundred unknowns are solved sooner by one than by many.

Looking for the loaded libraries takes a millisecond, longer than most solves here, so it is done once, and once more
when scipy has brought its own.
"""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager
from functools import cache

from threadpoolctl import ThreadpoolController


@cache
def _controller(with_scipy: bool) -> ThreadpoolController:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[object]:
    """Context in which BLAS takes one thread."""
    limit: AbstractContextManager[object] = _controller("scipy.linalg" in sys.modules).limit(limits=1)
    return limit
