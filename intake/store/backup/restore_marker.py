"""A restore under way: if the power goes, nothing else opens, copies or examines the half of it."""

from __future__ import annotations

from pathlib import Path

from intake.store.errors import StoreError, typed
from intake.store.files import sync_folder, write_durably

MARK = "restoring"
"""A file in the data folder that stands for as long as the restore runs."""


def begin(data: Path, archive: Path, *options: str) -> None:
    """Note which archive is being put back, and with which options."""
    write_durably(data / MARK, "\n".join([str(archive), *options]).encode())


def end(data: Path) -> None:
    """The restore is whole."""
    (data / MARK).unlink()
    sync_folder(data)


def unfinished(data: Path) -> str:
    """The command that finishes a restore which was cut off; empty if none was."""
    try:
        archive, *options = (data / MARK).read_text("utf-8").splitlines()
    except FileNotFoundError:
        return ""
    return typed(data, "restore", archive, "--force", *options)


def refuse_half(data: Path) -> None:
    """Raises StoreError where a restore was cut off."""
    if command := unfinished(data):
        raise StoreError(f"A restore into {data} was cut off. Run it again: {command}")
