"""Where templates and static files stand: beside the package in a checkout, in `_data` in a wheel."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent


def folder(name: str) -> Path:
    """The folder `name` (`templates`, `static`). Raises FileNotFoundError if it is nowhere."""
    for parent in (PACKAGE / "_data", PACKAGE.parent):
        if (parent / name).is_dir():
            return parent / name
    raise FileNotFoundError(f"no folder {name} inside or beside {PACKAGE}")
