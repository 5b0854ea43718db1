"""Every way into the server, in one table: method, path, name of the handler, and who may use it.

No way takes a path of the disk: what stands between braces is a name of ours, checked against its own pattern before a
handler sees it. Rights are added here and nowhere else; a test walks the table and tries each way without them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import IntEnum


class Right(IntEnum):
    """Who may use a way; who has a higher right has the lower ones too."""

    ANYONE = 0
    """Without a word; may tell nothing of the maker's."""

    READ = 1
    """A device that was let in: look."""

    COUNT = 2
    """A device that was let in: write into the book."""

    DESIGN = 3
    """A device that the maker also lets change sets."""

    MAKER = 4
    """Whoever holds the word of this start: the person at the terminal."""


@dataclass(frozen=True, slots=True)
class Way:
    """One route. `method`: GET, POST or WS. `limit`: bytes its body may have."""

    method: str
    path: str
    name: str
    right: Right = Right.MAKER
    limit: int = 0


FORM = 64 * 1024
"""Bytes: a form of a few dozen fields."""
TEXT = 1024 * 1024
"""Bytes: a set file of 256 KiB as a form sends it, up to three bytes a byte, and some room."""

PHOTO = 16 * 1024 * 1024
"""Bytes: a photo of a phone."""

WAYS: tuple[Way, ...] = (
    Way("GET", "/enter", "enter", Right.ANYONE),
    Way("GET", "/alive", "alive", Right.ANYONE),
    Way("GET", "/join/{word}", "join", Right.ANYONE),
    Way("POST", "/join/{word}", "enter_device", Right.ANYONE, limit=FORM),
    Way("GET", "/devices", "devices"),
    Way("POST", "/devices/invite", "invite_device", limit=FORM),
    Way("POST", "/devices/drop", "drop_device", limit=FORM),
    Way("POST", "/devices/allow", "allow_device", limit=FORM),
    Way("GET", "/", "shelf", Right.READ),
    Way("GET", "/new", "new"),
    Way("POST", "/new", "make_new", limit=FORM),
    Way("POST", "/shelf/copy", "shelf_copy", limit=FORM),
    Way("POST", "/shelf/rename", "shelf_rename", limit=FORM),
    Way("POST", "/shelf/bin", "shelf_bin", limit=FORM),
    Way("POST", "/shelf/import", "shelf_import", limit=TEXT),
    Way("POST", "/units", "units", limit=FORM),
    Way("GET", "/set/{name}", "board", Right.READ),
    Way("POST", "/set/{name}/change", "change", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/undo", "undo", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/redo", "redo", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/keep", "keep", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/forget", "forget", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/cancel", "cancel", Right.DESIGN, limit=FORM),
    Way("POST", "/set/{name}/put-back", "put_back", Right.DESIGN, limit=FORM),
    Way("GET", "/set/{name}/part/{group}", "part", Right.READ),
    Way("GET", "/set/{name}/picture/{view}.svg", "picture", Right.READ),
    Way("GET", "/set/{name}/readout/{view}.json", "readout", Right.READ),
    Way("GET", "/set/{name}/why/{key}", "why", Right.READ),
    Way("GET", "/set/{name}/text", "text", Right.READ),
    Way("POST", "/set/{name}/text", "save_text", Right.DESIGN, limit=TEXT),
    Way("GET", "/set/{name}/sheet.pdf", "sheet", Right.READ),
    Way("GET", "/set/{name}/template.pdf", "template", Right.READ),
    Way("GET", "/set/{name}/set.toml", "set_toml", Right.READ),
    Way("GET", "/set/{name}/figures.json", "figures", Right.READ),
    Way("GET", "/set/{name}/netlist.cir", "netlist", Right.READ),
    Way("WS", "/set/{name}/push", "push", Right.READ),
    Way("GET", "/bench", "bench_list", Right.READ),
    Way("POST", "/bench/begin", "bench_begin", Right.COUNT, limit=FORM),
    Way("GET", "/bench/winder", "bench_winder"),
    Way("POST", "/bench/winder", "bench_winder", limit=FORM),
    Way("GET", "/bench/{serial}", "bench_page", Right.READ),
    Way("GET", "/bench/{serial}/state", "bench_state", Right.READ),
    Way("POST", "/bench/{serial}/events", "bench_events", Right.COUNT, limit=TEXT),
    Way("POST", "/bench/{serial}/sensor", "bench_sensor", Right.COUNT, limit=128),
    Way("POST", "/bench/{serial}/press", "bench_press", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/typed", "bench_typed", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/reset", "bench_reset", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/off", "bench_off", Right.COUNT, limit=FORM),
    Way("GET", "/bench/{serial}/lost", "bench_lost", Right.COUNT),
    Way("POST", "/bench/{serial}/lost", "bench_lost", Right.COUNT, limit=FORM),
    Way("GET", "/bench/{serial}/snap", "bench_snap", Right.COUNT),
    Way("POST", "/bench/{serial}/snap", "bench_snap", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/take", "bench_take", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/admit", "bench_admit", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/check", "bench_check", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/note", "bench_note", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/measure", "bench_measure", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/void", "bench_void", Right.COUNT, limit=FORM),
    Way("POST", "/bench/{serial}/photo", "bench_photo", Right.COUNT, limit=PHOTO),
    Way("GET", "/bench/{serial}/photo/{sha}", "bench_picture", Right.READ),
    Way("GET", "/bench/{serial}/card.pdf", "bench_card", Right.READ),
    Way("WS", "/bench/{serial}/push", "bench_push", Right.READ),
    Way("POST", "/spools", "spool_begin", Right.COUNT, limit=FORM),
    Way("GET", "/spool/{spool}", "spool_page", Right.READ),
    Way("POST", "/spool/{spool}", "spool_note", Right.COUNT, limit=FORM),
    Way("POST", "/compare", "bench_compare_form", Right.READ, limit=FORM),
    Way("GET", "/compare/{serial}/{other}", "bench_compare", Right.READ),
    Way("GET", "/static/{file}", "static", Right.ANYONE),
)

# What may stand between the braces. A key path: names, numbers of list items, dots between them.
PATTERNS: dict[str, re.Pattern[str]] = {
    "name": re.compile(r"[a-z][a-z0-9-]{0,31}"),
    "group": re.compile(r"[a-z][a-z0-9._-]{0,127}"),
    "view": re.compile(r"[a-z][a-z0-9._-]{0,127}"),
    "key": re.compile(r"[a-z0-9][A-Za-z0-9_.-]{0,255}"),
    "serial": re.compile(r"[a-z0-9][a-z0-9-]{0,31}"),
    "other": re.compile(r"[a-z0-9][a-z0-9-]{0,31}"),
    "spool": re.compile(r"[a-z0-9][a-z0-9-]{0,31}"),
    "sha": re.compile(r"[0-9a-f]{64}"),
    "word": re.compile(r"[A-Za-z0-9_-]{16,64}"),
    "file": re.compile(r"[a-z][a-z0-9_-]{0,63}\.(?:css|js|svg|woff2|png)"),
}

_MATCH = [
    (
        way,
        re.compile(
            "".join(
                f"(?P<{piece[1:-1]}>[^/]+)" if piece.startswith("{") else re.escape(piece)
                for piece in re.split(r"(\{\w+\})", way.path)
            )
        ),
    )
    for way in WAYS
]


def way_of(method: str, path: str) -> Way | None:
    """The way a request asks for, None if there is none. HEAD is asked as GET."""
    method = "GET" if method == "HEAD" else method
    return next((way for way, pattern in _MATCH if way.method == method and pattern.fullmatch(path)), None)


def fits(path_parameters: dict[str, object]) -> bool:
    """Whether all that stands in the braces of a path is such a name."""
    return all(bool(PATTERNS[name].fullmatch(str(value))) for name, value in path_parameters.items())
