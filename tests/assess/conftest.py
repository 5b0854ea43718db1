"""Lets the tests of this folder import the helper module that lies beside them (example_sets)."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
