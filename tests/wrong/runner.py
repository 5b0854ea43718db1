"""One copy of the source, edits put in and taken out of it, and runs of pytest on it, each in a process of its own."""

from __future__ import annotations

import compileall
import contextlib
import filecmp
import json
import os
import py_compile
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "lodestring"
SERVER = Path(__file__).resolve().parent / "fork_server.py"

# A test that fails like this was broken by a slip of the edit, not by the error it stands for.
SLIPS = re.compile(
    r"^(E\s+)?(NameError|UnboundLocalError|ImportError|ModuleNotFoundError|SyntaxError|IndentationError)\b",
    re.MULTILINE,
)
OPTIONS = ("-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:cov")
# The server has imported some plugins before pytest could rewrite their asserts; ours are rewritten as ever.
REWRITE = ("-W", "ignore:Module already imported so cannot be rewritten:pytest.PytestAssertRewriteWarning")


@dataclass(frozen=True)
class WrongEdit:
    """One deliberate error."""

    id: str
    file: str
    find: str
    replace: str
    test: str
    why: str


@dataclass(frozen=True)
class Outcome:
    """What a run of pytest in a process of its own came to."""

    code: int
    package: Path
    passed: int
    skipped: list[str]
    failures: list[str]
    errors: list[str]
    said: str


class Runner:
    """A copy of the source in `folder`, and the process that forks one child for each run (see fork_server.py)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.copy = folder / "copy"
        shutil.copytree(SOURCE, self.copy / "lodestring", ignore=shutil.ignore_patterns("__pycache__"))
        # Compiled once. By the text's hash: a file's time and length may be those of an edit a moment ago.
        hashed = py_compile.PycInvalidationMode.CHECKED_HASH
        compileall.compile_dir(self.copy, quiet=2, force=True, invalidation_mode=hashed)
        self._before = folder / "before"
        shutil.copytree(self.copy, self._before)
        kept = {k: v for k, v in os.environ.items() if not k.startswith(("COV_", "COVERAGE_", "PYTEST_"))}
        # For the processes that a test starts: they too find the copy, and leave nothing in the project's folder.
        kept |= {"PYTHONPATH": str(self.copy), "PYTHONDONTWRITEBYTECODE": "1"}
        threads = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}  # a process with threads cannot fork safely
        self._server = subprocess.Popen(
            [sys.executable, str(SERVER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=kept | threads,
            text=True,
        )
        self._runs = 0

    def end(self) -> None:
        """The server ends when nobody can ask it any more."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        with contextlib.suppress(BrokenPipeError):
            self._server.stdin.close()
        self._server.wait(10)
        self._server.stdout.close()

    @contextlib.contextmanager
    def edited(self, edit: WrongEdit) -> Iterator[None]:
        """The copy with that edit in it; afterwards it is what it was."""
        path = self.copy / "lodestring" / edit.file
        text = path.read_bytes().decode()
        count = text.count(edit.find)
        assert count == 1, f"{edit.id}: {edit.find!r} must be in {edit.file} exactly once; it is there {count} times"
        assert edit.replace != edit.find, f"{edit.id}: the edit changes nothing"
        path.write_bytes(text.replace(edit.find, edit.replace).encode())
        try:
            yield
        finally:
            path.write_bytes(text.encode())

    def touched(self) -> list[str]:
        """What is no longer as it was in the copy: an edit that stayed in, a file that a test left."""
        return different(filecmp.dircmp(self.copy, self._before, ignore=[]))

    def run(self, tests: list[str], *options: str, seconds: float = 120) -> Outcome:
        """Run these tests on the copy as it is now. Nothing is left in the project's folder: no cache, no examples
        of hypothesis. TimeoutError when it takes longer."""
        self._runs += 1
        scratch = self.folder / f"run-{self._runs}"
        scratch.mkdir()
        report, said = scratch / "report.xml", scratch / "said.txt"
        job = {
            "copy": str(self.copy),
            "folder": str(ROOT),
            "arguments": [
                *OPTIONS,
                *REWRITE,
                f"--basetemp={scratch / 'base'}",
                f"--junitxml={report}",
                *options,
                *tests,
            ],
            "environment": {
                "HYPOTHESIS_STORAGE_DIRECTORY": str(scratch / "hypothesis"),
                "HYPOTHESIS_PROFILE": "first failure",  # of tests/conftest.py
            },
            "said": str(said),
            "seconds": seconds,
        }
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._server.stdin.write(json.dumps(job) + "\n")
        self._server.stdin.flush()
        answer = self._server.stdout.readline()
        assert answer, "the process that forks has ended; what it said is above"
        code, text = json.loads(answer), said.read_text(encoding="utf-8", errors="replace")
        if code is None:
            raise TimeoutError(f"must end within {seconds} s; did not\n{text}")
        outcome = read_outcome(code, text, report)
        shutil.rmtree(scratch)
        return outcome


def different(compared: filecmp.dircmp[str]) -> list[str]:
    """Paths that two folders do not share, or that differ in content."""
    _, changed, unread = filecmp.cmpfiles(compared.left, compared.right, compared.common_files, shallow=False)
    here = [*compared.left_only, *compared.right_only, *changed, *unread]
    below = (path for sub in compared.subdirs.values() for path in different(sub))
    return [*(f"{compared.left}/{name}" for name in here), *below]


def read_outcome(code: int, said: str, report: Path) -> Outcome:
    """What pytest's own report says."""
    cases = list(ET.parse(report).iter("testcase")) if report.exists() else []
    return Outcome(
        code=code,
        package=Path(said.partition("\n")[0]),
        passed=sum(len(case) == 0 for case in cases),
        skipped=[f"{case.get('name')}: {s.get('message')}" for case in cases for s in case.findall("skipped")],
        failures=[f"{f.get('message')}\n{f.text}" for case in cases for f in case.findall("failure")],
        errors=[f.get("message") or "" for case in cases for f in case.findall("error")],
        said=said,
    )


def why_not_caught(outcome: Outcome) -> str:
    """Empty if a test really failed on what it asserts."""
    if outcome.code == 0:
        return "the test still passes"
    if outcome.code != 1 or outcome.errors:
        return "the test could not be run at all"
    slipped = [message for message in outcome.failures if SLIPS.search(message)]
    if slipped:
        return f"the edit itself slipped: {slipped[0]}"
    return "" if outcome.failures else "no test failed"
