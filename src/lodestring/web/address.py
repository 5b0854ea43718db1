"""The server's place on this machine: one port a folder, kept in the folder.

It is kept because what a browser stores belongs to an address, port included.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import socket
import stat
from pathlib import Path

from lodestring.errors import FileProblem, LodestringError

OWN = ".lodestring"
"""The folder, inside the maker's, for what is ours."""
PORT_FILE = "port"
LOOPBACK = "127.0.0.1"
LOWEST, HIGHEST = 20_000, 29_999
"""Below the ports that systems hand out to outgoing connections, so that none of those sits on ours."""
TRIES = 30


def own_folder(folder: Path) -> Path:
    """`folder/.lodestring`, made where it is missing. Raises FileProblem where the folder is none or is refused."""
    place = folder / OWN
    try:
        if not folder.is_dir():
            came = "something else of that name" if folder.exists() else "none of that name"
            raise FileProblem(f'"{folder}" must be a folder', came, "making it first, or the name of another")
        place.mkdir(mode=0o700, exist_ok=True)
    except (OSError, ValueError) as error:
        came = getattr(error, "strerror", None) or type(error).__name__
        raise FileProblem(f'"{folder}" must be a folder that can be written in', came, "its permissions") from None
    return place


def kept_port(own: Path) -> int | None:
    """The folder's port, None if it has none yet (or what is kept is none)."""
    try:
        if not stat.S_ISREG(os.stat(own / PORT_FILE).st_mode):
            return None
        with open(own / PORT_FILE, encoding="ascii") as file:
            text = file.read(8).strip()
    except (OSError, ValueError):
        return None
    return int(text) if text.isdigit() and 1024 <= int(text) <= 65535 else None


def keep_port(own: Path, port: int) -> None:
    """Write the port down, whole or not at all."""
    temporary = own / f"{PORT_FILE}.{secrets.token_hex(4)}.tmp"
    try:
        temporary.write_text(f"{port}\n", encoding="ascii")
        os.replace(temporary, own / PORT_FILE)
    except OSError as error:
        raise FileProblem(f'"{own}" must be writable', error.strerror or "", "its permissions and the disk") from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def listen(own: Path, port: int | None) -> socket.socket:
    """A listening socket at the port asked for, at the kept one, or at a free one that is kept from now on.

    Raises LodestringError where another program has it.
    """
    wanted = port or kept_port(own)
    if wanted is not None:
        try:
            found = _bound(wanted)
        except OSError as error:
            raise LodestringError(
                f"port {wanted} on this machine must be free for the workbench",
                f"{error.strerror or error}",
                "ending that program, or another port with --port",
            ) from None
    else:
        found = _free()
    if port or wanted is None:
        try:
            keep_port(own, found.getsockname()[1])
        except FileProblem:
            found.close()
            raise
    return found


def _free() -> socket.socket:
    for _ in range(TRIES):
        with contextlib.suppress(OSError):
            return _bound(LOWEST + secrets.randbelow(HIGHEST - LOWEST + 1))
    raise LodestringError("a port on this machine must be free", f"{TRIES} that are taken", "one with --port")


def _bound(port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows: without it another program may take the port over
            made.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:  # elsewhere: a port just closed may be bound again, one in use may not
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((LOOPBACK, port))
        made.listen(64)
    except BaseException:
        made.close()
        raise
    return made
