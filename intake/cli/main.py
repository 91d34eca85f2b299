"""The command line. Errors go to standard error with exit code 2, naming file and place."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import click

from intake.cli.errors import CommandError, expected, sentence
from intake.cli.lazy import LazyGroup
from intake.config import DATA_VARIABLE

DATA = "--data"
FOLDER = click.Path(path_type=Path)
PLACES = {
    "backup": "intake.cli.backup:backup",
    "book": "intake.cli.book:book",
    "customer": "intake.cli.customer:customer",
    "demo": "intake.cli.demo:demo",
    "doctor": "intake.cli.backup:doctor",
    "export": "intake.cli.backup:export",
    "quote": "intake.cli.quote:quote",
    "restore": "intake.cli.backup:restore",
    "serve": "intake.cli.serve:serve",
    "service-file": "intake.cli.service_file:service_file",
    "staff": "intake.cli.staff:staff",
}


class Commands(LazyGroup):
    """Turns the errors that a person can mend into sentences, and takes --data wherever it is written: after
    `backup` the nearest option that exists is --to, which means something else."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        for at, word in enumerate(args):
            if word.partition("=")[0] == DATA:
                end = at + (1 if "=" in word else 2)
                args = [*args[at:end], *args[:at], *args[end:]]
                break
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            raise
        except Exception as error:
            if not isinstance(error, expected()):
                raise
            raise CommandError(sentence(error)) from error


@click.group(cls=Commands, places=PLACES)
@click.version_option(package_name="tallyfret")
@click.option(
    DATA,
    envvar=DATA_VARIABLE,
    type=FOLDER,
    help=f"The shop's data; else {DATA_VARIABLE}, else your data folder.",
)
@click.pass_context
def main(context: click.Context, data: Path | None) -> None:
    """Counter intake, assessment and quoting for fretted-instrument repair shops."""
    os.umask(0o077)  # whatever is written holds customers: it is for this user alone
    context.obj = data
