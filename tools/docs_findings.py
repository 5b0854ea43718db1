"""docs/findings.md: every finding there is."""

from __future__ import annotations

from lodestring.assess.findings.codes import CODES
from lodestring.parts.codes import CODES as PARTS

INTRO = """# Findings

What the figures say that you should know while a cure is still possible. A **blocker** keeps the pickup from working or
from being built as drawn; a **warning** will probably cost an evening; a **note** is good to know. Each finding says
what
to do, and until which stage that can still be done: drawn, parts made, wound, potted, fitted. Where the cure is a
value, the finding carries it as `change`.

| code | weight | until | what |
| --- | --- | --- | --- |
"""


OF_PARTS = """

## Of the parts

What is found on the parts themselves, once they are drawn (see [parts](parts.md)).

| code | weight | until | what |
| --- | --- | --- | --- |
"""


def page() -> str:
    """The whole page."""
    figures, parts = (
        "\n".join(f"| `{c.code}` | {', '.join(c.severities)} | {c.until} | {c.help} |" for c in codes)
        for codes in (CODES, PARTS)
    )
    return INTRO + figures + OF_PARTS + parts
