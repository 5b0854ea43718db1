"""Setting up: done once, done again when it must be, never left half done (tools/bootstrap.py)."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import bootstrap
import system_packages


class Machine:
    """Stands in for venv and pip: makes the folder with a Python that runs, and notes what was asked for."""

    def __init__(self, fails_at: str = "") -> None:
        self.asked: list[str] = []
        self.fails_at = fails_at

    def make(self, root: Path, run: bootstrap.Run) -> None:
        self.asked.append("make")
        python = bootstrap.inside(root)
        python.parent.mkdir(parents=True)
        python.symlink_to(sys.executable)

    def run(self, command: list[str]) -> None:
        extras = command[-1].partition("[")[2].rstrip("]") or "core"
        self.asked.append(extras)
        if extras == self.fails_at:
            raise KeyboardInterrupt


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    return tmp_path


def set_up(root: Path, level: str, machine: Machine) -> list[str]:
    machine.asked.clear()
    bootstrap.set_up(root, level, make=machine.make, run=machine.run)
    return list(machine.asked)


def test_a_set_up_is_done_once_and_the_tests_level_is_added_on_top(root: Path) -> None:
    machine = Machine()
    assert set_up(root, "core", machine) == ["make", "core"]
    assert set_up(root, "core", machine) == []
    assert set_up(root, "test", machine) == ["dev,parts,witness"]
    assert set_up(root, "test", machine) == []
    assert set_up(root, "core", machine) == []


def test_the_tests_level_alone_holds_the_core(root: Path) -> None:
    machine = Machine()
    assert set_up(root, "test", machine) == ["make", "dev,parts,witness"]
    assert set_up(root, "core", machine) == []


def test_a_changed_project_file_makes_it_again(root: Path) -> None:
    machine = Machine()
    set_up(root, "core", machine)
    (root / "pyproject.toml").write_text("[project]\nname = 'x'\n", encoding="utf-8")
    assert set_up(root, "core", machine) == ["make", "core"]


def test_a_folder_that_was_moved_makes_it_again(root: Path) -> None:
    machine = Machine()
    old, new = root / "old", root / "new"
    old.mkdir()
    (root / "pyproject.toml").rename(old / "pyproject.toml")
    set_up(old, "core", machine)
    old.rename(new)
    assert set_up(new, "core", machine) == ["make", "core"]


def test_a_python_that_has_gone_makes_it_again(root: Path) -> None:
    machine = Machine()
    set_up(root, "core", machine)
    bootstrap.inside(root).unlink()
    assert set_up(root, "core", machine) == ["make", "core"]


@pytest.mark.parametrize("before", [[], ["core"]], ids=["from nothing", "on top of core"])
def test_an_interrupted_set_up_leaves_nothing_behind(root: Path, before: list[str]) -> None:
    for level in before:
        set_up(root, level, Machine())
    with pytest.raises(KeyboardInterrupt):
        set_up(root, "test", Machine(fails_at="dev,parts,witness"))
    assert not (root / ".venv").exists()
    assert set_up(root, "test", Machine()) == ["make", "dev,parts,witness"]


def test_a_set_up_that_was_killed_outright_is_not_taken_for_whole(root: Path) -> None:
    machine = Machine()
    set_up(root, "core", machine)
    seen = []

    def look(command: list[str]) -> None:
        seen.append(bootstrap.stamp_of(root).exists())  # what a kill at this moment would leave

    bootstrap.set_up(root, "test", make=machine.make, run=look)
    assert seen == [False]


def test_a_wrong_level_is_answered_with_the_levels_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert bootstrap.main(["everything"]) == 2
    assert "system, core, test" in capsys.readouterr().err


def test_no_python_new_enough_is_said_in_a_sentence(tmp_path: Path) -> None:
    tools = Path(bootstrap.__file__).parent
    old = tmp_path / "python3"
    old.write_text("#!/bin/sh\nexit 1\n", encoding="utf-8")  # what a Python before 3.11 answers
    for name, text in {"id": "echo 1000", "dirname": f"echo {tools}"}.items():
        (tmp_path / name).write_text(f"#!/bin/sh\n{text}\n", encoding="utf-8")
    for path in tmp_path.iterdir():
        path.chmod(0o755)
    done = subprocess.run(
        ["/bin/sh", str(tools / "bootstrap.sh"), "core"],
        env={"PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "Python 3.11 or newer must be on the path; none was found; on a Debian-like system try:" in done.stderr


def test_what_is_missing_from_outside_is_told_with_the_line_to_run(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    thing = system_packages.Outside("some-tool", "tests of something", programs=("no-such-program-here",))
    monkeypatch.setattr(system_packages, "OUTSIDE", {"some-tool": thing})
    monkeypatch.setattr(system_packages, "can_install", lambda: False)
    system_packages.ensure()
    said = capsys.readouterr().out
    assert "sudo apt-get install some-tool" in said
    assert "skipped for want of some-tool: tests of something" in said
