"""Names as people type them, and the sentence for a name that is not in the catalogue."""

from __future__ import annotations

import re

from lodestring.errors import CatalogueError


def key(name: str) -> str:
    """`Alnico 5-7`, `alnico_5-7` and `alnico-5-7` are one name: small letters, runs of anything else become `-`."""
    return re.sub(r"[^a-z0-9.]+", "-", name.lower()).strip("-")


def unknown_name(what: str, came: str, names: tuple[str, ...]) -> CatalogueError:
    """The error for `came`, which is not one of `names`: closest names first, then the whole list."""
    import difflib  # deferred: only an error needs it, and start-up does not

    by_key = {key(n): n for n in names}
    close = [by_key[k] for k in difflib.get_close_matches(key(came), list(by_key), n=3, cutoff=0.6)]
    guess = f" (did you mean {' or '.join(repr(n) for n in close)}?)" if close else ""
    return CatalogueError(
        f"{what} must be a name from the catalogue",
        f"{came!r}{guess}",
        f"one of: {', '.join(names) if names else '(there is none)'}",
    )
