"""Schemas of the book by number, and how an older one is brought up: each step whole or not at all."""

from __future__ import annotations

import sqlite3
from functools import cache
from importlib.resources import files

from lodestring.book.problem import BookProblem

NEWEST = 1
MARK = 0x4C6F6465
"""The application id in the file's head: "Lode"."""


def version_of(connection: sqlite3.Connection) -> int:
    """The schema's number; 0 for a file without anything in it. Raises BookProblem for another program's database."""
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
    tables = int(connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])
    if tables and mark != MARK:
        raise BookProblem("the file must be a book", "another program's database", "moving it away")
    return version


def bring_up(connection: sqlite3.Connection, to: int = NEWEST) -> None:
    """Run the steps that are missing. Two programs at once: the second waits, and finds nothing to do."""
    for number in range(1, to + 1):
        connection.execute("BEGIN IMMEDIATE")
        try:
            if version_of(connection) < number:
                for statement in step(number):
                    connection.execute(statement)
                connection.execute(f"PRAGMA user_version = {number}")
                connection.execute(f"PRAGMA application_id = {MARK}")
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


@cache
def step(number: int) -> tuple[str, ...]:
    """The statements of one step."""
    text = files("lodestring.book").joinpath("migrations").joinpath(f"{number:03}.sql").read_text(encoding="utf-8")
    plain = "\n".join(row for row in text.splitlines() if not row.startswith("--"))
    return tuple(s.strip() for s in plain.split(";") if s.strip())
