"""Deliberate errors must break the tests that are said to catch them (see README.md here)."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))  # for runner beside this file

from runner import Runner, WrongEdit, why_not_caught

LIST = Path(__file__).resolve().parent / "errors.toml"
PARTS = 8
"""The tests on the unchanged source are run in so many parts, so that more than one processor has work."""


def entries() -> list[WrongEdit]:
    rows = tomllib.loads(LIST.read_text(encoding="utf-8"))["error"]
    return [WrongEdit(**row) for row in rows]


@pytest.fixture(scope="module")
def runner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Runner]:
    made = Runner(tmp_path_factory.mktemp("wrong"))
    yield made
    made.end()
    assert made.touched() == [], "a run must leave the copy as it was"


@pytest.mark.parametrize("edit", entries(), ids=lambda edit: edit.id)
def test_a_deliberate_error_turns_its_test_red(edit: WrongEdit, runner: Runner) -> None:
    with runner.edited(edit):
        outcome = runner.run([edit.test])
    assert outcome.package.parent == runner.copy / "lodestring", f"ran on {outcome.package}\n{outcome.said}"
    why_not = why_not_caught(outcome)
    assert not why_not, f"{edit.id} ({edit.why}): {why_not}\n{outcome.said}"


@pytest.mark.parametrize("part", range(PARTS + 1))
def test_the_same_tests_are_green_on_the_unchanged_source(part: int, runner: Runner) -> None:
    # Dealt out by file, so that what a file works out once is worked out once; the costly ones apart from each other.
    tests = {edit.test for edit in entries()}
    every = sorted({test.partition("::")[0] for test in tests})
    solids = [file for file in every if file.startswith("tests/parts/")]  # in a process of their own: see conftest
    mine = solids if part == PARTS else [file for file in every if file not in solids][part::PARTS]
    tests = {test for test in tests if test.partition("::")[0] in mine}
    outcome = runner.run(sorted(tests))
    assert outcome.package.parent == runner.copy / "lodestring", outcome.said
    assert outcome.code == 0, outcome.said
    assert not outcome.skipped, f"these were skipped, so they guard nothing: {outcome.skipped}\n{outcome.said}"
    assert outcome.passed >= len(tests), outcome.said


def test_the_list_of_deliberate_errors_is_in_order() -> None:
    edits = entries()
    assert len({edit.id for edit in edits}) == len(edits), "each id once"
    for edit in edits:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", edit.id), f"{edit.id}: lower case words joined by hyphens"
        assert edit.why, f"{edit.id}: say why it matters"


# ---- the runner is itself tried ----

# Each of these must not count as caught.
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
SENTENCE = """
def test_parts_are_joined():
    from lodestring.errors import LodestringError
    assert str(LodestringError("a", "b", "c")) == "a; came b; try c"
"""
CAUGHT = WrongEdit("planted", "errors.py", 'parts.append(f"came {came}")', "pass", "", "planted")


def planted(folder: Path, text: str) -> list[str]:
    """A test of one's own in a folder of its own, as arguments of pytest."""
    path = folder / "test_planted.py"
    path.write_text(text, encoding="utf-8")
    return [f"--rootdir={folder}", str(path)]


@pytest.mark.parametrize(("file", "find", "replace", "complaint"), NOT_CAUGHT.values(), ids=NOT_CAUGHT.keys())
def test_a_broken_edit_does_not_count_as_caught(
    file: str, find: str, replace: str, complaint: str, tmp_path: Path, runner: Runner
) -> None:
    with runner.edited(WrongEdit("planted", file, find, replace, "", "planted")):
        outcome = runner.run(planted(tmp_path, SENTENCE))
    assert complaint in why_not_caught(outcome)


def test_a_run_does_not_see_the_edit_of_the_run_before(tmp_path: Path, runner: Runner) -> None:
    tests = planted(tmp_path, SENTENCE)
    assert runner.run(tests).code == 0
    with runner.edited(CAUGHT):
        assert why_not_caught(runner.run(tests)) == ""
    assert runner.run(tests).code == 0


def test_a_process_that_a_test_starts_sees_the_edit(tmp_path: Path, runner: Runner) -> None:
    inner = 'from lodestring.errors import LodestringError as E; print(E("a", "b", "c"))'
    text = (
        "import subprocess, sys\n"
        "def test_a_new_process_joins_the_parts():\n"
        f"    done = subprocess.run([sys.executable, '-c', {inner!r}], capture_output=True, text=True)\n"
        "    assert done.stdout == 'a; came b; try c\\n', done\n"
    )
    tests = planted(tmp_path, text)
    assert runner.run(tests).code == 0
    with runner.edited(CAUGHT):
        outcome = runner.run(tests)
    assert why_not_caught(outcome) == ""
    assert "a; try c" in outcome.failures[0]


def test_a_run_starts_with_none_of_our_modules_and_finds_them_in_the_copy(tmp_path: Path, runner: Runner) -> None:
    text = (
        "import sys\n"
        "from pathlib import Path\n"
        "def test_where_modules_come_from():\n"
        "    first = {n for n in sys.modules if n.partition('.')[0] == 'lodestring'}\n"
        "    assert first == {'lodestring', 'lodestring.version'}\n"
        "    import lodestring.assess.report\n"
        "    mine = {n: m for n, m in sys.modules.items() if n.partition('.')[0] == 'lodestring'}\n"
        "    assert len(mine) > 20\n"
        f"    assert all(Path(m.__file__).is_relative_to({str(runner.copy)!r}) for m in mine.values()), mine\n"
    )
    outcome = runner.run(planted(tmp_path, text))
    assert outcome.code == 0, outcome.said


def test_a_run_that_does_not_end_is_ended_with_all_it_started(tmp_path: Path, runner: Runner) -> None:
    started = tmp_path / "started"
    text = (
        "import subprocess, time\n"
        "def test_for_ever():\n"
        "    other = subprocess.Popen(['sleep', '600'])\n"
        f"    open({str(started)!r}, 'w').write(str(other.pid))\n"
        "    while True: time.sleep(1)\n"
    )
    with pytest.raises(TimeoutError, match="must end within 2 s"):
        runner.run(planted(tmp_path, text), seconds=2)
    stat = Path(f"/proc/{started.read_text()}/stat")
    assert not stat.exists() or stat.read_text().rpartition(")")[2].split()[0] == "Z"
    assert runner.run(planted(tmp_path, SENTENCE)).code == 0, "and the next run is as good as the first"


def test_a_run_keeps_compiled_files_and_examples_out_of_the_projects_folder(tmp_path: Path, runner: Runner) -> None:
    text = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from hypothesis.configuration import storage_directory\n"
        "def test_where_things_would_be_written():\n"
        "    assert sys.dont_write_bytecode\n"
        "    assert os.environ['PYTHONDONTWRITEBYTECODE'] == '1'\n"
        "    found = storage_directory('examples')\n"
        f"    assert Path(getattr(found, 'path', found)).is_relative_to({str(runner.folder)!r})\n"
        "def test_the_cache_of_pytest_is_off(request):\n"
        "    assert not request.config.pluginmanager.has_plugin('cacheprovider')\n"
    )
    outcome = runner.run(planted(tmp_path, text))
    assert outcome.code == 0, outcome.said
