"""The board of a set as the parts of its page: each group of fields, each group of figures, the findings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from itertools import groupby
from typing import Any

from lodestring.assess.report import Assessment
from lodestring.folder.board import Board, board, finding_rows, read_outs
from lodestring.folder.board_figures import QUICK, SLOW, FigureGroup, figure_groups
from lodestring.folder.pictures import Shown, shown_views
from lodestring.folder.sensitive import sensitive
from lodestring.folder.sitting import Sitting
from lodestring.web.desk import READY, WORKING, Part

FIELDS, FIGURES, FINDINGS, PICTURE, MATRIX, MEASURE = "fields", "figures", "findings", "picture", "matrix", "measure"
"""Kinds of parts: each has its template, part-KIND.html. They begin the names of the groups, MATRIX with FIGURES."""
HEADING, FIRST = "Blockers, warnings, notes", "Measure these first"


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture of a state: asked for by its view; another state, kept state or workshop is another picture."""

    shown: Shown
    digest: str


def parts(sitting: Sitting, assessment: Assessment | None, kept: str) -> dict[str, Part]:
    """Every part in the order of the page; what needs a magnetic or circuit solve stands as working.

    kept: id of a state to compare with. Raises FileProblem where there is none of that id.
    """
    made = board(
        sitting.text, assessment, sitting.problems, _compared(sitting, assessment, kept), QUICK, units=sitting.units
    )
    pictures = () if assessment is None else _shown(assessment)
    return {
        p.group: p for p in _parts(made, pictures, sitting.digest, f"{kept} {sitting.beside}", assessment is not None)
    }


def slow_parts(sitting: Sitting, assessment: Assessment | None, kept: str) -> Iterator[Part]:
    """Those that stood as working, each when it is ready; all findings last."""
    if assessment is None:
        return
    digest, data = sitting.digest, assessment.model.inputs.design.model_dump(exclude_none=True)
    groups = figure_groups(assessment, _compared(sitting, assessment, kept), (SLOW,), data)
    for (group, title), members in groupby((g for g in groups if not g.waiting), _together):
        yield _figures(group, title, tuple(members), digest)
    for picture in _shown(assessment):
        if picture.slow:  # what they show is worked out by now, or when the page asks for one
            yield _picture(picture, digest, f"{kept} {sitting.beside}")
    yield Part(MEASURE, MEASURE, FIRST, digest, READY, sensitive(assessment))
    yield Part(FINDINGS, FINDINGS, HEADING, digest, READY, finding_rows(assessment, SLOW, data=data))


def _compared(sitting: Sitting, assessment: Assessment | None, kept: str) -> Assessment | None:
    return sitting.compare(kept) if kept and assessment is not None else None


def _parts(made: Board, pictures: tuple[Shown, ...], digest: str, beside: str, more: bool) -> Iterator[Part]:
    for picture in pictures:
        part = _picture(picture, digest, beside)
        yield replace(part, state=WORKING, content=None) if picture.slow and more else part
    for (group, title), members in groupby(made.figures, _together):
        yield _figures(group, title, tuple(members), digest)
    # Quick findings are right as far as they go: they are shown while the slow ones are worked out.
    yield Part(FINDINGS, FINDINGS, HEADING, digest, WORKING if more else READY, made.findings)
    if more:
        yield Part(MEASURE, MEASURE, FIRST, digest, WORKING)
    for fields in made.fields:
        group = f"{FIELDS}.{fields.id}" if fields.id else FIELDS
        yield Part(group, FIELDS, fields.title, digest, READY, fields)


def _shown(assessment: Assessment) -> tuple[Shown, ...]:
    """The pictures of the page; the template is for paper."""
    return tuple(p for p in shown_views(assessment) if not p.view.startswith("template."))


def _picture(picture: Shown, digest: str, beside: str) -> Part:
    return Part(f"{PICTURE}.{picture.view}", PICTURE, picture.heading, digest, READY, Drawn(picture, digest + beside))


def _together(group: FigureGroup) -> tuple[str, str]:
    """Strings of a pickup, and positions, stand in one table each: what is read there is one beside the other."""
    words = group.id.split(".")
    if words[0] == "pickup" and len(words) == 4 and words[2] == "string":
        return f"{FIGURES}.pickup.{words[1]}.strings", f"Strings over the {words[1]} pickup"
    if words[0] == "position" and len(words) == 2:
        return f"{FIGURES}.positions", "At the jack"
    return f"{FIGURES}.{group.id}", group.title


def _figures(group: str, title: str, members: tuple[FigureGroup, ...], digest: str) -> Part:
    single = group == f"{FIGURES}.{members[0].id}"
    kind = FIGURES if single else MATRIX
    if any(m.waiting for m in members):
        return Part(group, kind, title, digest, WORKING)
    return Part(group, kind, title, digest, READY, members[0] if single else members)


def readout(assessment: Assessment, prefix: str) -> list[dict[str, Any]]:
    """Points of every curve whose key starts so, as plain data."""
    return [asdict(curve) for curve in read_outs(assessment, prefix)]
