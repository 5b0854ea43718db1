"""What an open set hands over as a file: build sheet, template, figures, netlist. As bytes."""

from __future__ import annotations

import json
from dataclasses import dataclass

from lodestring.assess.circuit_net import position_names
from lodestring.assess.report import Assessment, as_json
from lodestring.errors import LodestringError
from lodestring.making.spice_netlist import spice_netlist
from lodestring.paper.sheet import sheet_pdf
from lodestring.paper.template import template_pdf

KINDS = ("sheet", "template", "figures", "netlist")


@dataclass(frozen=True, slots=True)
class Handed:
    """The bytes of a file, and what they are."""

    raw: bytes
    media: str


def hand_over(assessment: Assessment, kind: str, choice: str = "") -> Handed:
    """One of KINDS. `choice`: paper of sheet and template ("a4", "letter"), position of a netlist; "" is the first.

    Raises LodestringError and its kinds for what the set does not have.
    """
    if kind == "sheet":
        return Handed(sheet_pdf(assessment, choice or "a4").pdf, "application/pdf")
    if kind == "template":
        return Handed(template_pdf(assessment, choice or "a4").pdf, "application/pdf")
    if kind == "figures":
        text = json.dumps(as_json(assessment), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        return Handed(text.encode(), "application/json")
    if kind == "netlist":
        return Handed(_netlist(assessment, choice).encode("ascii"), "text/plain; charset=us-ascii")
    raise LodestringError("a set hands over a file it has", f'"{kind}"', f"one of {', '.join(KINDS)}")


def _netlist(assessment: Assessment, choice: str) -> str:
    names = position_names(assessment.model)
    if choice and choice not in names:
        raise LodestringError(
            "the position must be one of the selector's",
            f'"{choice[:60]}"',
            f"one of {', '.join(names)}" if names else "",
        )
    return spice_netlist(assessment.model, choice or (names[0] if names else ""))
