"""The CAD kernel, imported when it is first needed, with the line to install where it is missing."""

from __future__ import annotations

import sys
from functools import lru_cache
from types import ModuleType
from typing import Any

from lodestring.errors import LodestringError

MM = 1e3
"""Solids and files are in millimetres; records in metres."""


class NoKernel(LodestringError):
    """Solids cannot be made on this machine as it stands."""


@lru_cache(maxsize=1)
def cad() -> Any:
    """The module build123d. Raises NoKernel with the line to run where it or a system library is missing."""
    try:
        import build123d
    except ImportError as problem:
        raise NoKernel(*missing(problem)) from None
    return build123d


def missing(problem: ImportError) -> tuple[str, str, str]:
    """What must hold, what came, what to run, for an import that failed."""
    text = str(problem)
    for library, package in (("libGL.so.1", "libgl1"), ("libX11.so.6", "libx11-6"), ("libXrender.so.1", "libxrender1")):
        if library in text:
            return (
                f"solids need the system library {library}",
                "a system without it",
                f"sudo apt-get install {package}" if sys.platform == "linux" else f"installing {library}",
            )
    if problem.name is not None and problem.name.split(".")[0] in ("build123d", "OCP", "ezdxf", "lib3mf"):
        return "parts need the extra `parts`", f"no module {problem.name}", 'pip install "lodestring[parts]"'
    return "parts need a CAD kernel that can be loaded", text[:200], 'pip install --force-reinstall "lodestring[parts]"'


@lru_cache(maxsize=1)
def dxf() -> ModuleType:
    """The module ezdxf. Raises NoKernel with the line to run where it is missing."""
    try:
        import ezdxf
    except ImportError as problem:
        raise NoKernel(*missing(problem)) from None
    return ezdxf
