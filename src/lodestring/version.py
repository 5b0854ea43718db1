"""The one place where the version is written; the build reads it, and so may every room."""

from __future__ import annotations

__version__ = "0.1.0.dev0"
