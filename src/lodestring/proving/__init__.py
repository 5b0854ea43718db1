"""Proving: from measurements of a finished coil to what was really wound, which fault it has, and what the hand does."""

from __future__ import annotations
