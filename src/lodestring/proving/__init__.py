"""Proving: from measurements of a finished coil to what was really wound, its fault, and what the hand does."""

from __future__ import annotations
