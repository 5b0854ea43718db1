"""Runs pytest on a copy of the source in forked children, which start with everything imported that is not ours.

Started once as a script by runner.py. A line on its input is a job, a line on its output the exit code of that job:

    {"copy": folder that holds `lodestring`, "folder": where to run, "arguments": of pytest,
     "environment": added, "said": file for what is printed, "seconds": limit}

It never imports our package, so a child can only find it where its path leads: first of all in the copy.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import json
import os
import select
import signal
import sys
import traceback
from typing import Any, NoReturn

# The costly ones among what we and the tests import. One that is missing is imported, or asked for, by the child.
# Not ngsolve: few tests use it and it may start threads, which do not survive a fork.
PRELOAD = """
numpy scipy.constants scipy.fft scipy.integrate scipy.interpolate scipy.linalg scipy.optimize scipy.signal
scipy.sparse.linalg scipy.spatial scipy.special
click jinja2 markupsafe pydantic python_multipart segno soundfile starlette.applications starlette.formparsers
starlette.responses starlette.routing starlette.websockets threadpoolctl typst uvicorn wsproto
uvicorn.protocols.http.h11_impl uvicorn.protocols.websockets.wsproto_impl
httpx hypothesis hypothesis.strategies jsonschema magpylib networkx pdfplumber shapely tomlkit
pytest _pytest.junitxml _pytest.python _pytest.unraisableexception _pytest.assertion.rewrite pygments.lexers
asyncio concurrent.futures.thread concurrent.futures.process http.server tomllib unittest.mock xml.etree.ElementTree
"""


def threads() -> int:
    """How many this process has now. A lock that another thread holds would stay shut in the child for ever."""
    return len(os.listdir("/proc/self/task"))


def ours() -> list[str]:
    """What is imported of our package: nothing, ever."""
    return [name for name in sys.modules if name.partition(".")[0] == "lodestring"]


def child(job: dict[str, Any], answers: int) -> NoReturn:
    """What a fresh interpreter would do: prints where our package was found, then runs pytest; never returns."""
    code = 70
    try:
        os.setsid()  # with what it starts it is one group, which can be ended as a whole
        os.close(answers)
        said = os.open(job["said"], os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for opened, stream in ((os.open(os.devnull, os.O_RDONLY), 0), (said, 1), (said, 2)):
            os.dup2(opened, stream)
        os.chdir(job["folder"])
        os.environ.update(job["environment"])
        sys.dont_write_bytecode = True
        sys.path[0] = job["copy"]  # in place of this script's own folder
        sys.argv = ["pytest", *job["arguments"]]
        code = run(job["arguments"])
    except BaseException:  # noqa: BLE001 - whatever it is, the server's loop must not go on in two processes
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(Exception):
                stream.flush()
        os._exit(code)


def run(arguments: list[str]) -> int:
    """Our package is imported before pytest looks at any test, as the first line printed tells."""
    import pytest

    lodestring = importlib.import_module("lodestring")
    print(lodestring.__file__, flush=True)
    return int(pytest.main(arguments))


def serve(job: dict[str, Any], answers: int) -> int | None:
    """The exit code of one child; None where it did not end in time. What it left running is ended."""
    assert threads() == 1, f"must have one thread to fork; has {threads()}"
    assert not ours(), f"must not have imported what is tested; has {ours()}"
    pid = os.fork()
    if pid == 0:
        child(job, answers)
    handle = os.pidfd_open(pid)
    in_time, _, _ = select.select([handle], [], [], job["seconds"])
    os.close(handle)
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(pid, signal.SIGKILL)
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)
    _, status = os.waitpid(pid, 0)
    return os.waitstatus_to_exitcode(status) if in_time else None


def main() -> None:
    answers = os.dup(1)
    os.dup2(2, 1)  # what an import prints must not be taken for an answer
    for name in PRELOAD.split():
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    gc.collect()
    gc.freeze()
    for line in sys.stdin:  # ends when the tests do, however they end
        os.write(answers, json.dumps(serve(json.loads(line), answers)).encode() + b"\n")


if __name__ == "__main__":
    main()
