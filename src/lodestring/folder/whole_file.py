"""Writing a file whole or not at all: a temporary file in the same folder, synced, then renamed over the old one."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path

from lodestring.errors import FileProblem


def write_whole(path: Path, raw: bytes, begins: bytes, kind: str) -> None:
    """Write `raw` to `path`. A file that is there is replaced only if it begins with `begins`, as one of `kind` does.

    Raises FileProblem (nothing is then written or lost) for a folder, a missing folder, something that is no ordinary
    file, another kind of file, and where the system refuses.
    """
    check_target(path, begins, kind)
    target = Path(os.path.realpath(path))
    temporary = target.parent / f".{target.name[:80]}.{secrets.token_hex(6)}.tmp"
    try:
        with open(temporary, "xb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
        os.replace(temporary, target)
    except OSError as error:
        raise _refused(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def check_target(path: Path, begins: bytes, kind: str) -> None:
    """FileProblem unless `path` may be written: see `write_whole`."""
    try:
        if path.is_dir():
            raise FileProblem(
                f"the file to write must be a {kind}", f'"{path}", a folder', f"a name in it, {path / _example(kind)}"
            )
        parent = Path(os.path.realpath(path)).parent
        if not parent.is_dir():
            raise FileProblem(
                "the folder of the file to write must be there", f'"{parent}", which is not', "making it first"
            )
        if not path.exists():
            return
        if not stat.S_ISREG(path.stat().st_mode):
            raise FileProblem("the file to write must be an ordinary file", f'"{path}"', "another name")
        with open(path, "rb") as file:
            start = file.read(len(begins))
    except (OSError, ValueError) as error:
        raise _refused(path, error) from None
    if start != begins:
        raise FileProblem(
            f"only a {kind} is overwritten", f'"{path}", which is none', "another name, or moving that file away"
        )


def same_place(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file; False for a path that cannot be."""
    try:
        return os.path.realpath(one) == os.path.realpath(other)
    except (OSError, ValueError):
        return False


def _example(kind: str) -> str:
    return {"PDF": "out.pdf", "netlist": "out.cir", "table of curves": "out.csv"}.get(kind, "out.json")


def _refused(path: Path, error: Exception) -> FileProblem:
    came = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return FileProblem(f'"{path}" must be writable', came, "its name, its permissions and the space on the disk")
