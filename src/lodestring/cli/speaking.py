"""How a command speaks: errors of ours become a sentence and exit code 2."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click

from lodestring.errors import LodestringError

F = TypeVar("F", bound=Callable[..., Any])
FILE = click.Path(path_type=Path, dir_okay=True)


def speaks(command: F) -> F:
    """Turn an error of ours, or of the disk, into its sentence on standard error and exit code 2. Never a traceback."""

    @wraps(command)
    def wrapped(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except LodestringError as error:
            click.echo(str(error), err=True)
        except BrokenPipeError:
            sys.stderr.close()
        except OSError as error:
            place = f"{error.filename}: " if error.filename else ""
            click.echo(f"{place}{error.strerror or error}; try another place, or look at its permissions", err=True)
        raise SystemExit(2)

    return wrapped  # type: ignore[return-value]
