"""Lodestring: from calipers to first note, one tool for making electromagnetic string pickups."""

from __future__ import annotations

from lodestring.version import __version__

__all__ = ["__version__"]
