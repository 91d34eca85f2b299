"""What is wrong with the shop's data, as one sentence for whoever starts the program."""

from __future__ import annotations

import shlex
from pathlib import Path


class StoreError(Exception):
    """The data folder cannot be used as it is; the text says why, and what to do."""


def typed(data: Path, *words: str | Path) -> str:
    """The command on that data folder as it is to be typed, quoted where a shell would take it apart."""
    return shlex.join(["tallyfret", "--data", str(data), *map(str, words)])
