"""What the book says when it cannot take something."""

from __future__ import annotations

from lodestring.errors import LodestringError


class BookProblem(LodestringError):
    """An event is none, a file is no book, or the book cannot be written."""
