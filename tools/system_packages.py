"""Programs from outside Python that tests call upon: how each is found, which package brings it, what waits for it.

`ensure()` installs the missing ones when root on a Debian-like system, and otherwise prints the line to run.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import subprocess
from dataclasses import dataclass


@dataclass(frozen=True)
class Outside:
    """One thing from outside: `programs` (any will do) or a shared `library`, the Debian `package`, and `what_for`."""

    package: str
    what_for: str
    programs: tuple[str, ...] = ()
    library: str = ""

    def present(self) -> bool:
        """Whether this machine has it."""
        if self.library:
            return ctypes.util.find_library(self.library) is not None
        return any(shutil.which(name) for name in self.programs)


OUTSIDE = {
    "chromium": Outside("chromium", "tests of the page", programs=("chromium", "chromium-browser", "google-chrome")),
    "ngspice": Outside("ngspice", "the outside witness of the circuit", programs=("ngspice",)),
    "libGL": Outside("libgl1", "solids (the extra 'parts')", library="GL"),
    "libX11": Outside("libx11-6", "solids (the extra 'parts')", library="X11"),
    "strace": Outside("strace", "the test that a turn is on the disk before it is answered", programs=("strace",)),
    "pdftoppm": Outside("poppler-utils", "measuring and looking at PDF pages", programs=("pdftoppm",)),
}


def missing() -> list[Outside]:
    """What this machine lacks."""
    return [thing for thing in OUTSIDE.values() if not thing.present()]


def can_install() -> bool:
    """Root on a Debian-like system."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install(packages: list[str]) -> bool:
    """apt-get, asking nothing. False where it fails: the caller says what is skipped."""
    apt = ["apt-get", "-qq", "-o", "Dpkg::Use-Pty=0", "-o", "DPkg::Lock::Timeout=300"]
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    print(f"set-up: apt-get install {' '.join(packages)}", flush=True)
    for command in ([*apt, "update"], [*apt, "install", "-y", "--no-install-recommends", *packages]):
        done = subprocess.run(command, env=env, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        if done.returncode:
            print(f"set-up: {' '.join(command)} ended with {done.returncode}:\n{done.stdout}{done.stderr}", flush=True)
            return False
    return True


def ensure() -> None:
    """Install what is missing, or say which line does and what is skipped until then. Never stops the tests."""
    wanting = missing()
    if wanting and can_install():
        install([thing.package for thing in wanting])
        wanting = missing()
    if wanting:
        print(f"set-up: for all tests run: sudo apt-get install {' '.join(thing.package for thing in wanting)}")
        for thing in wanting:
            print(f"set-up: until then skipped for want of {thing.package}: {thing.what_for}")


if __name__ == "__main__":
    ensure()
