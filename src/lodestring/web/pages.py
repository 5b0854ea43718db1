"""What each page is given: one frozen record a template, with help for every field.

A template sees these names and no others. Everything a maker wrote arrives as plain text and is escaped on the way out;
`Markup` is what the server itself has made.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup


def told(help: str) -> dict[str, str]:
    """Metadata of a page's field."""
    return {"help": help}


@dataclass(frozen=True, slots=True)
class Notice:
    """One sentence at the head of a page."""

    kind: str = field(metadata=told('"problem", "word" or "done": how loud it is'))
    sentence: str = field(metadata=told("what to say, plain text"))
    path: str = field(default="", metadata=told("key path of the field it belongs to, empty for none"))


@dataclass(frozen=True, slots=True)
class ShelfPage:
    """shelf.html: every set of the folder."""

    title: str = field(metadata=told("title of the window"))
    folder: str = field(metadata=told("name of the maker's folder, plain text"))
    entries: tuple[Any, ...] = field(metadata=told("one Entry of folder/shelf.py a set file"))
    examples: tuple[tuple[str, str], ...] = field(metadata=told("name and description of each example to start from"))
    units: Any = field(metadata=told("in which units figures are said, record Chosen of folder/shown_units.py"))
    stages: dict[str, str] = field(metadata=told("where each set stands, by name; none where nothing was begun"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what to say first"))


@dataclass(frozen=True, slots=True)
class NewPage:
    """new.html: the questions for a first set."""

    title: str = field(metadata=told("title of the window"))
    questions: tuple[Any, ...] = field(metadata=told("the five questions, records of folder/questions.py"))
    ready: tuple[Any, ...] = field(metadata=told("ready lists of strings, records of folder/questions.py"))
    kinds: tuple[tuple[str, str], ...] = field(metadata=told("id and title of each kind of instrument"))
    answers: dict[str, str] = field(
        metadata=told("what was typed so far, by field of Answers; those of a kept pickup after kept_")
    )
    name: str = field(metadata=told("name of the new set, as typed"))
    examples: tuple[tuple[str, str], ...] = field(metadata=told("name and description of each example to start from"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with the answers"))


@dataclass(frozen=True, slots=True)
class PartPage:
    """part.html: one group of the drawing board, the piece of page that is repainted."""

    set: str = field(metadata=told("name of the set"))
    digest: str = field(metadata=told("state of the set this group was made for"))
    group: str = field(metadata=told("name of the group; the element's id is part-GROUP"))
    kind: str = field(metadata=told("template of its content: part-KIND.html"))
    heading: str = field(metadata=told("heading of the group"))
    state: str = field(metadata=told('"ready", "working", "failed" or "cancelled"'))
    sentence: str = field(metadata=told("why it failed, plain text"))
    content: Any = field(
        metadata=told("record of folder/board.py, None while there is none; more may come while working")
    )
    kept: str = field(metadata=told("id of the kept state that figures are compared with, empty for none"))
    pickup: int = field(metadata=told("number of the pickup it belongs to, from 1; 0 for the whole set"))


@dataclass(frozen=True, slots=True)
class BoardPage:
    """board.html: the drawing board of one set."""

    title: str = field(metadata=told("title of the window: the set's title"))
    set: str = field(metadata=told("name of the set"))
    digest: str = field(metadata=told("state of the set, sent back with each change"))
    parts: dict[str, Markup] = field(metadata=told("the groups in order, by name, each a rendered part.html"))
    pickups: tuple[str, ...] = field(metadata=told("names of the set's pickups, in order"))
    views: tuple[str, ...] = field(metadata=told("names of the pictures the set has"))
    kept_states: tuple[Any, ...] = field(metadata=told("kept states, records of folder/kept.py"))
    kept: str = field(metadata=told("id of the kept state that is compared with, empty for none"))
    undo_depth: int = field(metadata=told("steps that can be undone"))
    redo_depth: int = field(metadata=told("steps that can be done again"))
    units: Any = field(metadata=told("in which units figures are said, record Chosen of folder/shown_units.py"))
    working: bool = field(metadata=told("whether some group is still being worked out"))
    typed: dict[str, str] = field(metadata=told("what was typed into fields and refused, by key path"))
    island: dict[str, Any] = field(
        metadata=told("data for the page's script: set, digest, groups and their states, address of push")
    )
    notices: tuple[Notice, ...] = field(
        default=(), metadata=told("problems of the file, words of the sitting, what a form was refused for")
    )


@dataclass(frozen=True, slots=True)
class TextPage:
    """text.html: the whole set file as text."""

    title: str = field(metadata=told("title of the window"))
    set: str = field(metadata=told("name of the set"))
    digest: str = field(metadata=told("state of the file the text belongs to"))
    text: str = field(metadata=told("the text, as it is on disk or as it was typed"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with it"))


@dataclass(frozen=True, slots=True)
class ConflictPage:
    """conflict.html: the file was changed meanwhile; both texts, nothing lost."""

    title: str = field(metadata=told("title of the window"))
    set: str = field(metadata=told("name of the set"))
    digest: str = field(metadata=told("state on disk: what a save from this page replaces"))
    mine: str = field(metadata=told("what this change would have made"))
    theirs: str = field(metadata=told("what is on disk"))


@dataclass(frozen=True, slots=True)
class WhyPage:
    """why.html: the reason behind one figure."""

    title: str = field(metadata=told("title of the window"))
    set: str = field(metadata=told("name of the set"))
    reason: Any = field(metadata=told("record Reason of folder/board.py"))


@dataclass(frozen=True, slots=True)
class DevicesPage:
    """devices.html: who else was let in, and the code for the next one."""

    title: str = field(metadata=told("title of the window"))
    shared: bool = field(metadata=told("whether the workbench was opened with --share"))
    closed: bool = field(metadata=told("whether too many wrong codes have closed sharing"))
    address: str = field(metadata=told("where the code leads, empty for none"))
    code: Markup = field(metadata=told("the code as SVG"))
    minutes: int = field(metadata=told("how long the code is good for yet"))
    devices: tuple[Any, ...] = field(metadata=told("records Device of web/devices.py"))


@dataclass(frozen=True, slots=True)
class JoinPage:
    """join.html: what a phone shows after scanning the code."""

    title: str = field(metadata=told("title of the window"))
    word: str = field(metadata=told("the invitation"))
    folder: str = field(metadata=told("name of the maker's folder"))


@dataclass(frozen=True, slots=True)
class BenchListPage:
    """bench-list.html: coils and spools of the book, and what could be begun."""

    title: str = field(metadata=told("title of the window"))
    coils: tuple[Any, ...] = field(metadata=told("records CoilLine of folder/winding_stages.py"))
    beginnings: tuple[Any, ...] = field(metadata=told("records Beginning of folder/winding_begin.py"))
    spools: tuple[str, ...] = field(metadata=told("names of the spools"))
    winders: tuple[str, ...] = field(metadata=told("names of the winders"))
    typed: dict[str, str] = field(metadata=told("what was typed and refused"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what to say first"))


@dataclass(frozen=True, slots=True)
class BenchLivePart:
    """bench-live.html: the part of the bench page that follows the count."""

    state: Any = field(metadata=told("record BenchState of folder/winding_state.py"))
    fold: Any = field(metadata=told("record CoilState of book/fold.py"))


@dataclass(frozen=True, slots=True)
class BenchPage:
    """bench.html: the page beside the winder."""

    title: str = field(metadata=told("title of the window: the serial"))
    state: Any = field(metadata=told("record BenchState of folder/winding_state.py"))
    fold: Any = field(metadata=told("record CoilState of book/fold.py"))
    live: Markup = field(metadata=told("the living part, rendered"))
    press: int = field(metadata=told("turns of one crank"))
    island: dict[str, Any] = field(metadata=told("what the page's script counts with"))
    cards: tuple[Any, ...] = field(metadata=told("how-to cards, records of making/cards.py"))
    ask: Any = field(metadata=told("a reading that looks like a slip, with its doubt; None for none"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what to say first"))


@dataclass(frozen=True, slots=True)
class LostPage:
    """bench-lost.html: the count from size and spool."""

    title: str = field(metadata=told("title of the window"))
    serial: str = field(metadata=told("serial of the coil"))
    typed: dict[str, str] = field(metadata=told("what was typed"))
    estimate: Any = field(metadata=told("record CountEstimate of folder/winding_count.py, None before"))
    card: Any = field(metadata=told("how-to card"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with it"))


@dataclass(frozen=True, slots=True)
class SnapPage:
    """bench-snap.html: the wire snapped; three ways on."""

    title: str = field(metadata=told("title of the window"))
    serial: str = field(metadata=told("serial of the coil"))
    typed: dict[str, str] = field(metadata=told("what was typed"))
    options: Any = field(metadata=told("record SnapOptions of folder/winding_snap.py, None before"))
    causes: tuple[str, ...] = field(metadata=told("causes to choose from"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with it"))


@dataclass(frozen=True, slots=True)
class WinderPage:
    """bench-winder.html: a winder from one crank."""

    title: str = field(metadata=told("title of the window"))
    typed: dict[str, str] = field(metadata=told("what was typed"))
    proposal: Any = field(metadata=told("record Proposal of folder/winding_setup.py, None before"))
    card: Any = field(metadata=told("how-to card"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with it"))


@dataclass(frozen=True, slots=True)
class SpoolPage:
    """spool.html: one spool."""

    title: str = field(metadata=told("title of the window"))
    report: Any = field(metadata=told("record SpoolReport of folder/winding_spool_report.py"))
    card: Any = field(metadata=told("how to take a sample"))
    notices: tuple[Notice, ...] = field(default=(), metadata=told("what is wrong with what was typed"))


@dataclass(frozen=True, slots=True)
class ComparePage:
    """compare.html: two coils side by side."""

    title: str = field(metadata=told("title of the window"))
    comparison: Any = field(metadata=told("record Comparison of folder/winding_compare.py"))


@dataclass(frozen=True, slots=True)
class RefusedPage:
    """refused.html: what cannot be answered, and what to try."""

    title: str = field(metadata=told("title of the window"))
    status: int = field(metadata=told("number of the answer"))
    sentence: str = field(metadata=told("what must hold, what came, what to try; plain text"))
    back: str = field(default="", metadata=told("address of a page to go to, empty for none"))
