"""What the drawing board shows, as frozen records: fields, figures, findings, reasons, read-out data. No page, no HTML.

Two speeds: quick figures and findings come from copper and geometry, slow ones need a magnetic or circuit solve. A page
asks for `quick` first and shows the slow groups as waiting until `slow` has come. Figures are formatted by
assess.shown alone, so the page says what `lodestring assess` says.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.assess.findings import copper, fit, harness, poles, process, strings, usual, wiring
from lodestring.assess.model import Model
from lodestring.assess.report import Assessment
from lodestring.assess.why import Why, explain
from lodestring.design.finding import Finding, by_weight
from lodestring.design.vocabulary import STAGES, Stage
from lodestring.errors import Problem
from lodestring.folder.board_fields import FieldGroup, field_groups
from lodestring.folder.board_figures import QUICK, SLOW, FigureGroup, figure_groups
from lodestring.folder.labels import label_of
from lodestring.folder.marks import assumed
from lodestring.folder.sensitive import figure_label
from lodestring.quantity import USUAL, Units

QUICK_ROOMS: tuple[Callable[[Model], Iterator[Finding]], ...] = (
    fit.find, wiring.find, copper.find, process.find, usual.find,
)  # fmt: skip
SLOW_ROOMS: tuple[Callable[[Model], Iterator[Finding]], ...] = (poles.find, harness.find, strings.find)
FEW = 3


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding. `change`: TOML source by key path, None where no value cures it; `possible`: can be done yet."""

    code: str
    severity: str
    about: str
    where: str
    sentence: str
    attempt: str
    change: Mapping[str, str] | None
    until: str
    possible: bool


@dataclass(frozen=True, slots=True)
class ReadOut:
    """The points of one curve for pointer and keyboard: the contract's {id, x, y, unit, label}, and what x is."""

    id: str
    label: str
    x_name: str
    x_unit: str
    unit: str
    x: tuple[float, ...]
    y: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """Everything on the page. `speed`: what was computed for it. Findings: weightiest first, `few` of them unfolded."""

    title: str
    fields: tuple[FieldGroup, ...]
    figures: tuple[FigureGroup, ...]
    findings: tuple[FindingRow, ...]
    problems: tuple[Problem, ...]
    speed: str
    few: int = FEW


def board(
    text: str,
    assessment: Assessment | None,
    problems: tuple[Problem, ...] = (),
    kept: Assessment | None = None,
    speed: str = SLOW,
    stage: Stage = "drawn",
    units: Units = USUAL,
) -> Board:
    """The board of a set. `text`: the set file; `assessment`: None where the text cannot be computed, `problems` then
    says why. `kept`: the state to compare with. `speed`: QUICK for what is quick alone. `stage`: how far the making is.
    `units`: in which typed values are said once more.
    """
    data = _data(text)
    figures: tuple[FigureGroup, ...] = ()
    findings: tuple[FindingRow, ...] = ()
    if assessment is not None:
        figures = tuple(figure_groups(assessment, kept, (QUICK,) if speed == QUICK else (QUICK, SLOW), data))
        findings = finding_rows(assessment, speed, stage, data)
    title = data.get("title")
    return Board(
        title if isinstance(title, str) else "",
        field_groups(data, assumed(text), problems, units),
        figures,
        findings,
        problems,
        speed,
    )


def _data(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}


# ---- findings, reasons, curves ----


def finding_rows(
    assessment: Assessment, speed: str = SLOW, stage: Stage = "drawn", data: Mapping[str, Any] | None = None
) -> tuple[FindingRow, ...]:
    """The findings of a speed (slow: all of them), the weightiest first."""
    if speed == QUICK:
        found = by_weight([f for room in QUICK_ROOMS for f in room(assessment.model)])
    else:
        found = list(assessment.findings)
    reached = STAGES.index(stage)
    return tuple(
        FindingRow(
            f.code,
            f.severity,
            f.about,
            label_of(f.about, data),
            f.sentence,
            f.attempt,
            f.change,
            f.until,
            STAGES.index(f.until) >= reached,
        )
        for f in found
    )


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a figure is what it is: all of `Why`, and its inputs in words, in the order of `why.influences`."""

    why: Why
    label: str
    inputs: tuple[str, ...]
    narrow: str


def why(assessment: Assessment, key: str) -> Reason:
    """The reason of one figure, the model run at both ends of its inputs. Raises KeyError for a key the set has not."""
    told = explain(assessment, key)
    data = assessment.model.inputs.design.model_dump(exclude_none=True)
    names = tuple(label_of(i.name, data) for i in told.influences)
    narrow = next((i.narrow for i in told.influences if i.narrow), "")
    return Reason(told, figure_label(key), names, narrow)


def read_outs(assessment: Assessment, prefix: str) -> tuple[ReadOut, ...]:
    """The points of every curve whose key starts with `prefix`."""
    return tuple(
        ReadOut(key, figure_label(key), c.x_axis.name, c.x_axis.unit, c.y_axis.unit, tuple(c.x), tuple(c.y))
        for key, c in assessment.curves().items()
        if key.startswith(prefix)
    )
