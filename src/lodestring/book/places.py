"""Where a book should not lie: on a network's disk, where locks are promises, or in a folder that is synchronised."""

from __future__ import annotations

from pathlib import Path

NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "9p", "afs", "ncpfs", "davfs", "fuse.davfs2"}
MOUNTS = Path("/proc/mounts")
MARKS = (
    ".stfolder",
    ".dropbox",
    ".dropbox.cache",
    ".sync",
    ".owncloudsync.log",
    ".nextcloudsync.log",
    ".tmp.driveupload",
)
"""What synchronising programs leave in the folders they watch."""


def beside_the_disk(path: Path, mounts: Path = MOUNTS) -> tuple[str, ...]:
    """Warnings, in sentences, about where the book lies; none where nothing is known against it."""
    found = []
    kind = _file_system(path.resolve(), mounts)
    if kind in NETWORK:
        found.append(
            f"The book lies on a disk of the network ({kind}), which may lose its locks; "
            "keep the folder on this machine."
        )
    for parent in path.resolve().parents:
        if any((parent / mark).exists() for mark in MARKS):
            found.append(
                f'The book lies in "{parent.name}", which another program synchronises; it may copy half a book. '
                "Keep the folder elsewhere and let it copy the backups."
            )
            break
    return tuple(found)


def _file_system(path: Path, mounts: Path) -> str:
    """Type of the file system a path lies on, empty where the system does not tell."""
    try:
        rows = [row.split() for row in mounts.read_text(encoding="utf-8", errors="replace").splitlines()]
    except OSError:
        return ""
    places = [(Path(row[1].replace("\\040", " ")), row[2]) for row in rows if len(row) > 2]
    over = [(place, kind) for place, kind in places if place == path or place in path.parents]
    return max(over, key=lambda found: len(found[0].parts), default=(Path(), ""))[1]
