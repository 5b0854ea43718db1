"""docs/set-file.md and docs/workshop-file.md: every field, from the records."""

from __future__ import annotations

from pydantic import BaseModel

from lodestring.design.describe import FieldRow, rows
from lodestring.design.pickup_set import PickupSet
from lodestring.design.workshop import Workshop
from lodestring.folder.examples import example_text

SET_INTRO = """# The set file, field by field

A set file describes all pickups of one instrument, their wiring and what you want of them. It is
[TOML](https://toml.io), format 1. The key path in the first column is also what errors, findings and figures name.

- `NAME` stands for a name of yours: a small letter, then small letters, digits or `-`, 32 at most.
- `N` stands for the number of a list item, counted from 1.
- A quantity is text with its unit: `"10.5 mm"`, `"1 9/16 in"`, `"7.5k"`; what may be typed is on the page
  [Quantities](quantities.md). Bare numbers are only for counts, ratios and percentages.
- `±` gives the half-width of a 90 per cent interval: `"4.8 mm ± 0.05"`. Left out, a usual spread is assumed and shown.
- Axes: x to the right seen from above with the nut up, y from bridge to nut, z out of the body. A pickup's own frame
  has its origin at the pickup's middle on the top plate's upper face.
- Unknown keys are refused. A file of a later format is refused; this format is read for ever.

`lodestring schema` prints the JSON Schema. Comments and the order of keys survive when the program changes a value.
"""
WORKSHOP_INTRO = """# The workshop file, field by field

`workshop.toml` lies beside your set files and holds what belongs to you and not to one set. The first winder is the one
the winding plan is made for. `lodestring schema --workshop` prints the JSON Schema.
"""


def set_page() -> str:
    """The page of the set file."""
    return "\n".join([SET_INTRO, *_table(PickupSet), "", "## A whole one", "", *_fence(example_text("heron"))])


def workshop_page() -> str:
    """The page of the workshop file."""
    return "\n".join([WORKSHOP_INTRO, *_table(Workshop), "", "## A whole one", "", *_fence(example_text("workshop"))])


def _fence(text: str) -> list[str]:
    return ["```toml", text.rstrip(), "```"]


def _table(model: type[BaseModel]) -> list[str]:
    lines: list[str] = []
    for name, field in model.model_fields.items():
        found = [row for row in rows(model) if row.path == name or row.path.startswith(f"{name}.")]
        lines += [f"## {name}", "", field.description or "", "", "| key path | takes | must | default | what |"]
        lines += ["| --- | --- | --- | --- | --- |", *(_line(row) for row in found), ""]
    return lines


def _line(row: FieldRow) -> str:
    must = "yes" if row.required else ""
    cells = (f"`{row.path}`", row.takes.replace("|", "\\|"), must, row.default, row.help.replace("|", "\\|"))
    return "| " + " | ".join(cells) + " |"
