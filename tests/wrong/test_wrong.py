"""Deliberate errors must break the tests that are said to catch them (see README.md here)."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
SOURCE = ROOT / "src" / "lodestring"
LIST = Path(__file__).resolve().parent / "errors.toml"

# Prints which copy it runs on before any test does: an editable install must not win over the copy.
RUNNER = (
    "import sys, lodestring; print(lodestring.__file__, flush=True); import pytest; sys.exit(pytest.main(sys.argv[1:]))"
)
# A test that fails like this was broken by a slip of the edit, not by the error it stands for.
SLIPS = re.compile(
    r"^(E\s+)?(NameError|UnboundLocalError|ImportError|ModuleNotFoundError|SyntaxError|IndentationError)\b",
    re.MULTILINE,
)


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
    failures: list[str]
    errors: list[str]
    said: str


def entries() -> list[WrongEdit]:
    rows = tomllib.loads(LIST.read_text(encoding="utf-8"))["error"]
    return [WrongEdit(**row) for row in rows]


def copy_of_source(to: Path) -> Path:
    # With times and compiled files: what is not edited need not be compiled again.
    shutil.copytree(SOURCE, to / "lodestring")
    return to


def apply(edit: WrongEdit, copy: Path) -> None:
    path = copy / "lodestring" / edit.file
    text = path.read_text(encoding="utf-8")
    count = text.count(edit.find)
    assert count == 1, f"{edit.id}: {edit.find!r} must be in {edit.file} exactly once; it is there {count} times"
    assert edit.replace != edit.find, f"{edit.id}: the edit changes nothing"
    path.write_text(text.replace(edit.find, edit.replace), encoding="utf-8")


def run(tests: list[str], copy: Path, scratch: Path) -> Outcome:
    """Run these tests on that copy. Nothing is left in the project's folder: no cache, no examples of hypothesis."""
    report = scratch / "report.xml"
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("COV_", "COVERAGE_", "PYTEST_"))}
    env = {
        **kept,
        "PYTHONPATH": str(copy),
        "PYTHONDONTWRITEBYTECODE": "1",
        "HYPOTHESIS_STORAGE_DIRECTORY": str(scratch / "hypothesis"),
    }
    options = ["-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:cov", f"--basetemp={scratch / 'base'}"]
    command = [sys.executable, "-c", RUNNER, *options, f"--junitxml={report}", *tests]
    done = subprocess.run(
        command, cwd=ROOT, env=env, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False, timeout=120
    )
    said = f"{done.stdout}\n{done.stderr}"
    cases = list(ET.parse(report).iter("testcase")) if report.exists() else []
    return Outcome(
        code=done.returncode,
        package=Path(done.stdout.partition("\n")[0]),
        passed=sum(len(case) == 0 for case in cases),
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


@pytest.mark.parametrize("edit", entries(), ids=lambda edit: edit.id)
def test_a_deliberate_error_turns_its_test_red(edit: WrongEdit, tmp_path: Path) -> None:
    copy = copy_of_source(tmp_path / "copy")
    apply(edit, copy)
    outcome = run([edit.test], copy, tmp_path)
    assert outcome.package.parent == copy / "lodestring", f"ran on {outcome.package}, not on the copy\n{outcome.said}"
    why_not = why_not_caught(outcome)
    assert not why_not, f"{edit.id} ({edit.why}): {why_not}\n{outcome.said}"


def test_the_same_tests_are_green_on_the_unchanged_source(tmp_path: Path) -> None:
    tests = sorted({edit.test for edit in entries()})
    outcome = run(tests, copy_of_source(tmp_path / "copy"), tmp_path)
    assert outcome.package.parent == tmp_path / "copy" / "lodestring", outcome.said
    assert outcome.code == 0, outcome.said
    assert outcome.passed >= len(tests), f"some were skipped, so they guard nothing\n{outcome.said}"


def test_the_list_of_deliberate_errors_is_in_order() -> None:
    edits = entries()
    assert len({edit.id for edit in edits}) == len(edits), "each id once"
    for edit in edits:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", edit.id), f"{edit.id}: lower case words joined by hyphens"
        assert edit.why, f"{edit.id}: say why it matters"


# The runner is itself tried: each of these must not count as caught.
NOT_CAUGHT = {
    "an edit that changes no figure": (
        "errors.py",
        '"""The root. `must` says',
        '"""The stem. `must` says',
        "still passes",
    ),
    "an edit that cannot be imported": (
        "errors.py",
        "class LodestringError(Exception):",
        "class (:",
        "slipped",
    ),
    "an edit with a name that is not there": ("errors.py", "parts = [must]", "parts = [mist]", "slipped"),
}


@pytest.mark.parametrize(("file", "find", "replace", "complaint"), NOT_CAUGHT.values(), ids=NOT_CAUGHT.keys())
def test_a_broken_edit_does_not_count_as_caught(
    file: str, find: str, replace: str, complaint: str, tmp_path: Path
) -> None:
    test = tmp_path / "test_sentence.py"
    test.write_text(
        "def test_parts_are_joined():\n"
        "    from lodestring.errors import LodestringError\n"
        '    assert str(LodestringError("a", "b", "c")) == "a; came b; try c"\n',
        encoding="utf-8",
    )
    copy = copy_of_source(tmp_path / "copy")
    apply(WrongEdit("planted", file, find, replace, str(test), "planted"), copy)
    assert complaint in why_not_caught(run([f"--rootdir={tmp_path}", str(test)], copy, tmp_path))
