"""docs/commands.md: the help text of every command, as the program prints it."""

from __future__ import annotations

import click

from lodestring.cli.main import main

INTRO = """# Commands

What `lodestring COMMAND --help` prints. Without an installed script, `python -m lodestring COMMAND` does the same.
Errors go to standard error, one line each, and end with exit code 2.
"""


def page() -> str:
    """The whole page."""
    lines = [INTRO, "## lodestring", "", *_help(main, "lodestring", None)]
    for name, command in sorted(main.commands.items()):
        lines += [f"## lodestring {name}", "", *_help(command, name, click.Context(main, info_name="lodestring"))]
    return "\n".join(lines)


def _help(command: click.Command, name: str, parent: click.Context | None) -> list[str]:
    context = click.Context(command, info_name=name, parent=parent, max_content_width=80, terminal_width=80)
    return ["```text", command.get_help(context), "```", ""]
