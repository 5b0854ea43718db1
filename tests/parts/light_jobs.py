"""Jobs for the worker that need no kernel: they answer, fail, hang, hoard memory or end the process."""

from __future__ import annotations

import os
import time
from typing import Any

from lodestring.errors import DomainError


def echo(value: Any) -> Any:
    print("noise on standard output")
    return value


def fail() -> None:
    raise DomainError("a plate has a size above 0", "-1 mm", "a greater one")


def break_down() -> None:
    raise ZeroDivisionError("inside the kernel")


def hang() -> None:
    time.sleep(60)


def hoard() -> None:
    kept = bytearray(300 * 1024**2)
    kept[::4096] = b"x" * len(kept[::4096])
    time.sleep(60)


def leave() -> None:
    os._exit(3)


JOBS = {"echo": echo, "fail": fail, "break": break_down, "hang": hang, "hoard": hoard, "leave": leave,
        "pid": os.getpid}  # fmt: skip
