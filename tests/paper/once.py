"""Sheets and templates printed once for all the tests that look at them. Whoever asks whether printing again gives the
same prints again: with an assessment of its own (`assessed(..., fresh=True)`)."""

from __future__ import annotations

from functools import cache

from lodestring.assess.report import Assessment
from lodestring.assess.store import Store
from lodestring.paper import sheet, template
from lodestring.paper.press import Printed

SHARED = Store()
"""What was solved for one sheet is not solved again for the next."""


def sheet_pdf(assessment: Assessment, paper: str = "a4") -> Printed:
    """As sheet.sheet_pdf, from memory where this assessment was printed before."""
    return _sheet(assessment, paper)


def template_pdf(assessment: Assessment, paper: str = "a4") -> Printed:
    """As template.template_pdf, likewise."""
    return _template(assessment, paper)


@cache  # with paper named or left out, it is one print
def _sheet(assessment: Assessment, paper: str) -> Printed:
    return sheet.sheet_pdf(assessment, paper)


@cache
def _template(assessment: Assessment, paper: str) -> Printed:
    return template.template_pdf(assessment, paper)
