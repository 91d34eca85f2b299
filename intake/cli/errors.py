"""What ends a command: one sentence on standard error, and exit code 2."""

from __future__ import annotations

import sqlite3
import sys
from graphlib import CycleError
from typing import Any

import click


class CommandError(click.ClickException):
    """What the person at the keyboard can mend."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        click.echo(self.message, file=file or sys.stderr)


def expected() -> tuple[type[BaseException], ...]:
    """The errors that a person can mend. Imported here: a command that ends well needs none of them."""
    from intake.book.problems import BookError
    from intake.book.tables import TableError
    from intake.config import SettingsError
    from intake.lan.errors import LanError
    from intake.quoting.calendar import NeverOpenError
    from intake.quoting.walkin import WalkinError
    from intake.store.errors import StoreError
    from intake.trade.units import MeasureError

    ours = (
        BookError,
        TableError,
        WalkinError,
        MeasureError,
        NeverOpenError,
        SettingsError,
        StoreError,
        LanError,
    )
    return (*ours, CycleError, OSError, sqlite3.Error)


def sentence(error: BaseException) -> str:
    """What such an error says."""
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}." if error.filename else f"{error.strerror}."
    if isinstance(error, sqlite3.Error):
        return f"The shop's database cannot be used now: {error}. tallyfret doctor looks it over."
    if isinstance(error, CycleError):
        return f"jobs.csv, after: these jobs wait for each other in a circle: {' → '.join(error.args[1])}."
    return str(error)
