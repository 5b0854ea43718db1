"""Makes `.venv` and puts into it what a level needs: `bootstrap.py core`, `bootstrap.py test`, `bootstrap.py system`.

The stamp inside `.venv` is written last and says what was put in: so a set-up that was cut off has no stamp, and the
next one starts afresh. (Building beside and renaming would not do: scripts in a virtual environment hold its path.)
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import system_packages

ROOT = Path(__file__).resolve().parent.parent
LEVELS = {"core": "", "test": "[dev,parts,witness]"}  # the extras of each
Run = Callable[[list[str]], None]


class SetUpError(Exception):
    """The set-up cannot go on; the sentence says what to run."""


def inside(root: Path) -> Path:
    """The Python inside `.venv`."""
    return root / ".venv" / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def wanted(root: Path) -> dict[str, str]:
    """What a set-up depends on: the project file, and where it lies (its scripts hold that path)."""
    return {
        "project": hashlib.sha256((root / "pyproject.toml").read_bytes()).hexdigest(),
        "place": str(root / ".venv"),
    }


def stamp_of(root: Path) -> Path:
    """The file that says what `.venv` holds."""
    return root / ".venv" / "set-up.json"


def levels_present(root: Path) -> list[str]:
    """The levels that are in `.venv` and still right; empty if it has to be made again."""
    try:
        stamp: dict[str, Any] = json.loads(stamp_of(root).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    if {key: stamp.get(key) for key in wanted(root)} != wanted(root):
        return []
    try:  # the Python it was made from may have been removed since
        subprocess.run([str(inside(root)), "-c", "pass"], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        return []
    return list(stamp["levels"])


def write_stamp(root: Path, levels: list[str]) -> None:
    """Written beside and moved into place, so that it is there whole or not at all."""
    part = stamp_of(root).with_suffix(".part")
    part.write_text(json.dumps({**wanted(root), "levels": levels}, indent=1) + "\n", encoding="utf-8")
    part.replace(stamp_of(root))


def run(command: list[str], keep: tuple[int, ...] = ()) -> None:
    """Run a command; what it prints goes through; a failure stops the set-up.

    `keep`: the lock, which the command holds too. So if this process is killed outright, the next set-up waits until
    the pip it left behind has come to its end, and does not clear the folder away from under it.
    """
    # Certificate and proxy settings are kept; what would send an install elsewhere than into .venv is not.
    dropped = ("PYTHONPATH", "PYTHONHOME", "PIP_USER", "PIP_TARGET", "PIP_PREFIX", "__PYVENV_LAUNCHER__")
    env = {key: value for key, value in os.environ.items() if key not in dropped}
    try:
        subprocess.run(command, check=True, stdin=subprocess.DEVNULL, env=env, cwd=ROOT, pass_fds=keep)
    except subprocess.CalledProcessError as error:
        raise SetUpError(f"this command must succeed: {' '.join(command)}; it ended with {error.returncode}") from error


def make_venv(root: Path, run: Run) -> None:
    """An empty `.venv` with pip in it, by whichever way this machine offers."""
    place, python = str(root / ".venv"), sys.executable
    package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    if not has_ensurepip() and system_packages.can_install():
        system_packages.install([package])
    if has_ensurepip():
        run([python, "-m", "venv", place])
    elif importlib.util.find_spec("virtualenv"):
        run([python, "-m", "virtualenv", "--quiet", place])
    elif program := shutil.which("virtualenv"):
        run([program, "--quiet", "--python", python, place])
    elif program := shutil.which("uv"):
        run([program, "venv", "--quiet", "--seed", "--python", python, place])
    else:
        raise SetUpError(
            f"{python} must be able to make a virtual environment; its ensurepip is missing; "
            f"try: sudo apt-get install {package} (or install virtualenv or uv)"
        )


def has_ensurepip() -> bool:
    """Debian packs ensurepip apart from Python; asked in a fresh process, since it may just have been installed."""
    return subprocess.run([sys.executable, "-c", "import ensurepip"], capture_output=True, check=False).returncode == 0


def set_up(root: Path, level: str, *, make: Callable[[Path, Run], None] = make_venv, run: Run = run) -> None:
    """Bring `.venv` to a level. Nothing is done if it is there; nothing half-made is left if it fails."""
    levels = levels_present(root)
    if level in levels:
        return
    try:
        if levels:
            stamp_of(root).unlink()  # from here until the new stamp, what is there does not count
        else:
            if (root / ".venv").exists():
                print("set-up: .venv is out of date or was never finished; making it again", flush=True)
                shutil.rmtree(root / ".venv")
            make(root, run)
        print(f"set-up: installing what the level '{level}' needs (the first time takes minutes)", flush=True)
        # -qq: errors only. pip keeps its own settings, certificates included.
        pip = [str(inside(root)), "-m", "pip", "install", "-qq", "--no-input", "--disable-pip-version-check"]
        run([*pip, "--editable", f"{root}{LEVELS[level]}"])
        write_stamp(root, sorted({*levels, "core", level}))
    except BaseException:
        shutil.rmtree(root / ".venv", ignore_errors=True)
        raise


@contextmanager
def only_one(root: Path) -> Iterator[tuple[int, ...]]:
    """Two set-ups of one folder wait for each other. The lock goes with the process, however it ends.

    Yields what a command has to be handed so that it holds the lock too (nothing on Windows).
    """
    path = root / "build" / ".bootstrap.lock"
    path.parent.mkdir(exist_ok=True)
    with path.open("a+b") as file:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined,unused-ignore]
            yield ()
        else:
            import fcntl

            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                print("set-up: another set-up of this folder is running; waiting for it", flush=True)
                fcntl.flock(file, fcntl.LOCK_EX)
            yield (file.fileno(),)


def main(arguments: list[str]) -> int:
    """One argument, the level; says what to do where it cannot go on."""
    if arguments == ["system"]:
        with only_one(ROOT):
            system_packages.ensure()
        return 0
    if len(arguments) != 1 or arguments[0] not in LEVELS:
        print(f"bootstrap: one level must be named: system, {', '.join(LEVELS)}; came {arguments}", file=sys.stderr)
        return 2
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(143))  # so that the clearing away runs
    try:
        with only_one(ROOT) as lock:
            set_up(ROOT, arguments[0], run=partial(run, keep=lock))
    except SetUpError as error:
        print(f"set-up: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
