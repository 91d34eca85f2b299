"""Files that nobody but the shop's own user may read."""

from __future__ import annotations

import os
import shlex
from contextlib import suppress
from pathlib import Path

from intake.lan.errors import AuthorityError

POSIX = os.name == "posix"
OTHERS = 0o077


def private_folder(folder: Path) -> None:
    """Make the folder if it is not there, for this user alone. Raises AuthorityError if others may enter."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    refuse_others(folder, "700")


def refuse_others(path: Path, mode: str) -> None:
    """Raise AuthorityError, with the command that mends it, where others have rights or own it.

    On Windows nothing is asked: a folder in the user's profile is closed to others by its parent's rights.
    """
    if not POSIX:
        return
    found = path.stat()
    if found.st_uid != os.geteuid():
        raise AuthorityError(
            f"{path} belongs to another user; start Tallyfret as that user, or give it back: "
            f'sudo chown "$USER" {shlex.quote(str(path))}'
        )
    if found.st_mode & OTHERS:
        raise AuthorityError(
            f"Other users of this machine may open {path}, which guards the key that phones trust. "
            f"Close it: chmod {mode} {shlex.quote(str(path))}"
        )


def read_private(path: Path) -> bytes:
    """The file's bytes. Raises AuthorityError where others may read it."""
    refuse_others(path, "600")
    return path.read_bytes()


def write_private(path: Path, content: bytes) -> None:
    """Put the whole content in place at once, readable by this user only, from its first byte on."""
    new = path.with_name(f".{path.name}.new")
    with suppress(FileNotFoundError):
        new.unlink()
    handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(new, path)
    if POSIX:  # the name in its folder, too, is to outlast a power cut
        held = os.open(path.parent, os.O_RDONLY)
        os.fsync(held)
        os.close(held)
