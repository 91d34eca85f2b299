"""Files that must survive the power going off."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import NamedTemporaryFile

UNFINISHED = ".new-"
"""What the name of a file or folder begins with until the whole of it is on disk."""
BLOCK = 1024 * 1024


def open_to_others(path: Path) -> bool:
    """Whether other users of this machine may read the file. On Windows nothing is asked: what lies in the
    user's profile is closed to others by its folder."""
    return os.name == "posix" and bool(path.stat().st_mode & 0o077)


def write_durably(path: Path, content: bytes) -> None:
    """Write the whole file or none of it: a temporary neighbour, synced, then renamed."""
    _write(path, [content])


def copy_durably(source: Path, target: Path) -> None:
    """The same for a file that is copied, whatever its size."""
    _write(target, blocks(source))


def blocks(path: Path) -> Iterator[bytes]:
    """The file's bytes, a piece at a time."""
    with path.open("rb") as handle:
        while block := handle.read(BLOCK):
            yield block


def sha256_of(path: Path) -> str:
    """SHA-256 of the file, in hexadecimal."""
    digest = hashlib.sha256()
    for block in blocks(path):
        digest.update(block)
    return digest.hexdigest()


def sync_file(path: Path) -> None:
    """Wait until what was written to the file by others is on disk."""
    with path.open("rb+") as handle:
        os.fsync(handle.fileno())


def sync_folder(folder: Path) -> None:
    """A rename is only safe once the folder is on disk; Windows cannot sync one and need not."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _write(path: Path, content: Iterable[bytes]) -> None:
    handle = NamedTemporaryFile(dir=path.parent, prefix=UNFINISHED, delete=False)  # noqa: SIM115, closed below
    try:
        with handle:
            for block in content:
                handle.write(block)
            handle.flush()
            os.fsync(handle.fileno())
        os.replace(handle.name, path)
    except BaseException:
        os.unlink(handle.name)
        raise
    sync_folder(path.parent)
