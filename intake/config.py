"""Where things are: templates and the demo book beside the code, the shop's data on this machine."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import platformdirs

DATA_VARIABLE = "TALLYFRET_DATA"
SETTINGS_FILE = "tallyfret.toml"
PACKAGE = Path(__file__).resolve().parent


def data_root() -> Path:
    """The folder with `templates`, `static` and `pricing_demo`: in the wheel, else the checkout's top."""
    packed = PACKAGE / "_data"
    return packed if packed.is_dir() else PACKAGE.parent


def demo_book() -> Path:
    """The demo shop's book."""
    return data_root() / "pricing_demo"


def data_folder(given: str | Path | None = None) -> Path:
    """The shop's data: as given, else from TALLYFRET_DATA, else the user's data folder."""
    return Path(given or os.environ.get(DATA_VARIABLE) or platformdirs.user_data_path("tallyfret"))


class SettingsError(ValueError):
    """The settings file cannot be used: one sentence that names file and key."""


def settings_table(data: Path, name: str) -> dict[str, Any]:
    """One table of `tallyfret.toml` in the data folder; empty where it is not there. Raises SettingsError."""
    path = data / SETTINGS_FILE
    try:
        table = tomllib.loads(path.read_text("utf-8-sig")).get(name, {}) if path.is_file() else {}
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} is not TOML that can be read: {error}.") from None
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: {name} is a table, [{name}].")
    return table


def utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Settings:
    """`data` is the folder of the store, `book` that of the price book, `now` the clock."""

    data: Path
    book: Path = field(default_factory=demo_book)
    now: Callable[[], datetime] = utc_now
