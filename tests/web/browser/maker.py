"""What these tests share: a server as `lodestring open` starts it, sizes of windows, waiting."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

from lodestring.folder.examples import example_text

CHROMIUM = "/usr/bin/chromium"
ARGS = ["--no-sandbox", "--headless", "--disable-gpu", "--disable-background-networking"]
DESK, MIDDLE, PHONE = (1440, 900), (1024, 768), (390, 844)
PATIENCE = 20_000
"""Milliseconds: a cold magnetic solve on a busy machine."""
SHOTS = Path(__file__).parents[3] / "build" / "pages"


class Workbench:
    """One process of the server."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.start()

    def start(self) -> None:
        command = [
            sys.executable,
            "-c",
            "from lodestring.cli.main import main; main()",
            "open",
            str(self.folder),
            "--no-browser",
        ]
        env = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        src = str(Path(__file__).parents[3] / "src")
        env["PYTHONPATH"] = os.pathsep.join(filter(None, [src, env.get("PYTHONPATH", "")]))
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, env=env, text=True)
        assert self.process.stdout is not None
        self.enter = self.process.stdout.readline().strip()
        self.at = self.enter.partition("/enter")[0]

    def end(self, how: int = signal.SIGTERM) -> None:
        self.process.send_signal(how)
        self.process.wait(10)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def new(self, name: str, example: str = "heron") -> Path:
        """An example under a name of its own, so that each test has its own history."""
        path = self.folder / f"{name}.toml"
        path.write_text(example_text(example), encoding="utf-8")
        return path


def ready(page: Any) -> None:
    """Wait until every group is worked out."""
    page.wait_for_selector("body:not([data-sending])", timeout=PATIENCE)
    page.wait_for_selector("[data-state=working]", state="detached", timeout=PATIENCE)
