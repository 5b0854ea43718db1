"""The bench of a real folder. An answer imports what it needs: the address must be answered before numpy is there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lodestring.errors import LodestringError
from lodestring.folder.patience import PatientStore

if TYPE_CHECKING:
    from lodestring.assess.report import Assessment
    from lodestring.folder.board import Reason
    from lodestring.folder.handed import Handed
    from lodestring.folder.questions import Question, ReadyStrings
    from lodestring.folder.shelf import Entry
    from lodestring.folder.shown_units import Chosen
    from lodestring.folder.sitting import Sitting
    from lodestring.web.desk import Part


KEPT = "kept_"
"""Begins the names of answers about a pickup that is kept."""


class BenchHere:
    """Passes on. One store for all sets: what one has computed serves the next."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._store = PatientStore()

    def shelf(self) -> tuple[Entry, ...]:
        from lodestring.folder.shelf import shelf

        return shelf(self._folder)

    def questions(self) -> tuple[Question, ...]:
        from lodestring.folder.questions import questions

        return questions()

    def ready_strings(self) -> tuple[ReadyStrings, ...]:
        from lodestring.folder.questions import ready_strings

        return ready_strings()

    def kinds(self) -> Mapping[str, str]:
        from lodestring.folder.questions import kinds_of_instrument

        return kinds_of_instrument()

    def first_set(self, name: str, answers: Mapping[str, str]) -> None:
        from lodestring.folder.first_set import first_set
        from lodestring.folder.places import check_name
        from lodestring.folder.questions import Answers, KeptAnswers
        from lodestring.folder.shelf import new_set

        def typed(record: type[Any], before: str = "") -> dict[str, str]:
            names = [f.name for f in fields(record) if f.name != "kept"]
            return {n: answers[before + n] for n in names if before + n in answers} | {
                f.name: answers.get(before + f.name, "") for f in fields(record) if f.default is MISSING
            }

        kept = typed(KeptAnswers, KEPT)
        given = any(kept[n].strip() for n in ("place", "resistance"))
        text = first_set(Answers(**typed(Answers), kept=KeptAnswers(**kept) if given else None))
        new_set(self._folder, check_name(name), text)

    def examples(self) -> Mapping[str, str]:
        from lodestring.folder.examples import examples

        return examples()

    def from_example(self, name: str, example: str) -> None:
        from lodestring.folder.examples import example_text
        from lodestring.folder.shelf import new_set

        new_set(self._folder, name, example_text(example))

    def copy(self, name: str, new: str) -> None:
        from lodestring.folder.shelf import copy_set

        copy_set(self._folder, name, new)

    def rename(self, name: str, new: str) -> None:
        from lodestring.folder.shelf import rename_set

        rename_set(self._folder, name, new)

    def to_bin(self, name: str) -> None:
        from lodestring.folder.shelf import bin_set

        bin_set(self._folder, name)

    def take_in(self, name: str, text: str) -> None:
        from lodestring.folder.shelf import import_text

        import_text(self._folder, name, text)

    def suggested(self, text: str) -> str:
        from lodestring.folder.places import suggested

        return suggested(text)

    def units(self) -> Chosen:
        from lodestring.folder.shown_units import chosen

        return chosen(self._folder)

    def choose_units(self, wanted: Mapping[str, str], digest: str) -> None:
        from lodestring.folder.shown_units import choose

        choose(self._folder, wanted, digest)

    def sitting(self, name: str) -> Sitting:
        from lodestring.folder.sitting import Sitting

        return Sitting(self._folder, name, self._store)

    def title(self, sitting: Sitting) -> str:
        assessment = sitting.assessment
        return sitting.name if assessment is None else assessment.model.inputs.design.title

    def twin(self, assessment: Assessment) -> Assessment:
        from lodestring.folder.patience import twin

        return twin(assessment)

    def parts(self, sitting: Sitting, assessment: Assessment | None, kept: str) -> dict[str, Part]:
        from lodestring.web.board_parts import parts

        return parts(sitting, assessment, kept)

    def slow_parts(self, sitting: Sitting, assessment: Assessment | None, kept: str) -> Iterator[Part]:
        from lodestring.web.board_parts import slow_parts

        return slow_parts(sitting, assessment, kept)

    def views(self, assessment: Assessment | None) -> tuple[str, ...]:
        from lodestring.folder.pictures import views

        return () if assessment is None else tuple(views(assessment))

    def picture(self, assessment: Assessment, view: str, width: float, kept: Assessment | None = None) -> str:
        from lodestring.folder.pictures import picture_svg

        return picture_svg(assessment, view, width, kept)

    def readout(self, assessment: Assessment, view: str, width: float, kept: Assessment | None = None) -> Any:
        from lodestring.folder.pictures import picture_points, views

        if view in views(assessment):
            return picture_points(assessment, view, width, kept)
        from lodestring.web.board_parts import readout

        return readout(assessment, view)

    def why(self, assessment: Assessment, key: str) -> Reason:
        from lodestring.folder.board import why

        if key not in assessment.facts:
            raise LodestringError("a reason is asked for a figure the set has", f'"{key}"', "one that the page shows")
        return why(assessment, key)

    def hand_over(self, assessment: Assessment, kind: str, choice: str) -> Handed:
        from lodestring.folder.handed import hand_over

        return hand_over(assessment, kind, choice)
