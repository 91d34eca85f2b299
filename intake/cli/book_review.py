"""`tallyfret book check`, `try` and `sources`: what needs no shop."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from intake.book.checks.run import check_book
from intake.book.files.load import load_book
from intake.book.trial import try_table
from intake.cli.errors import CommandError
from intake.trade.checks import check_lines
from intake.trade.registry import REGISTRY

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(path_type=Path)


@click.command()
@click.argument("folder", type=FOLDER)
def check(folder: Path) -> None:
    """Read a book as a reviewer would; every finding names file, row and column."""
    problems = check_book(load_book(folder))
    for problem in problems:
        click.echo(str(problem))
    if problems:
        raise CommandError(f"{len(problems)} to look at.")
    click.echo("Nothing to mend.")


@click.command("try")
@click.argument("table", type=FILE)
@click.argument("inputs", type=FILE)
def try_(table: Path, inputs: Path) -> None:
    """Try one decision table on the facts of a JSON file."""
    click.echo(json.dumps(try_table(table, _inputs(inputs)), indent=2, ensure_ascii=False))


def _inputs(path: Path) -> dict[str, Any]:
    try:
        given = json.loads(path.read_text("utf-8-sig"), parse_float=Decimal)
    except json.JSONDecodeError as error:
        raise CommandError(
            f"{path}, row {error.lineno}: This is not JSON that can be read: {error.msg}."
        ) from None
    except UnicodeDecodeError:
        raise CommandError(f"{path}: This is not UTF-8 text.") from None
    if not isinstance(given, dict):
        raise CommandError(f"{path}: The inputs are one table, id to value.")
    return given


@click.command()
def sources() -> None:
    """What the maths was checked against: source, value there, value here, deviation; then each reading's."""
    for line in check_lines():
        click.echo(line)
    click.echo()
    for id, spec in sorted(REGISTRY.items()):
        unit = f" [{spec.unit}]" if spec.unit else ""
        click.echo(f"{id}{unit}: {spec.source}")
