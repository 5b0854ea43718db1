"""docs/commands.md: the help text of every command, as the program prints it."""

from __future__ import annotations

import click
from click.testing import CliRunner

from lodestring.cli.main import main

INTRO = """# Commands

What `lodestring COMMAND --help` prints. Without an installed script, `python -m lodestring COMMAND` does the same.
Errors go to standard error, one line each, and end with exit code 2.
"""


def page() -> str:
    """The whole page."""
    lines = [INTRO, "## lodestring", "", *_help()]
    for name in sorted(main.commands):
        lines += [f"## lodestring {name}", "", *_help(name)]
        command = main.commands[name]
        for inner in sorted(command.commands) if isinstance(command, click.Group) else ():
            lines += [f"### lodestring {name} {inner}", "", *_help(name, inner)]
    return "\n".join(lines)


def _help(*command: str) -> list[str]:
    told = CliRunner().invoke(main, [*command, "--help"], prog_name="lodestring", terminal_width=80)
    return ["```text", told.output.rstrip(), "```", ""]
