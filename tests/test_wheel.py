"""What is installed is what is in the package: data, examples and type marker included."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "lodestring"


def test_the_wheel_holds_every_file_of_the_package_and_the_command(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("lodestring-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        inside = {name for name in archive.namelist() if name.startswith("lodestring/")}
        (entry,) = [name for name in archive.namelist() if name.endswith("entry_points.txt")]
        commands = archive.read(entry).decode()
    source = {
        f"lodestring/{path.relative_to(SOURCE).as_posix()}"
        for path in SOURCE.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert any(name.endswith(".toml") for name in source)
    assert "lodestring/py.typed" in source
    assert inside == source
    assert "lodestring = lodestring.cli.main:main" in commands
