"""What ends a command: one sentence on standard error, and exit code 2."""

from __future__ import annotations

import sys
from typing import Any

import click


class CommandError(click.ClickException):
    """What the person at the keyboard can mend."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        click.echo(self.message, file=file or sys.stderr)
