"""Files that must survive the power going off."""

from __future__ import annotations

import os
from pathlib import Path
from tempfile import NamedTemporaryFile


def write_durably(path: Path, content: bytes) -> None:
    """Write the whole file or none of it: a temporary neighbour, synced, then renamed."""
    with NamedTemporaryFile(dir=path.parent, prefix=".new-", delete=False) as handle:
        try:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
            os.replace(handle.name, path)
        except BaseException:
            os.unlink(handle.name)
            raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """A rename is only safe once the folder is on disk; Windows cannot sync one and need not."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
