"""`tallyfret service-file`: what makes systemd start the shop with the machine."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from intake.config import PACKAGE

DEPLOY = PACKAGE / "cli" / "deploy"
SERVICE_DATA = Path("/var/lib/tallyfret")


@click.command("service-file")
@click.pass_obj
def service_file(data: Path | None) -> None:
    """Print a unit of systemd's for this program and the shop's data; else for /var/lib/tallyfret."""
    program = Path(sys.executable).with_name("tallyfret")
    click.echo(unit(program, (data or SERVICE_DATA).absolute()), nl=False)


def unit(program: Path, data: Path) -> str:
    """The unit that serves that folder on the shop's network as the user `tallyfret`."""
    text = (DEPLOY / "tallyfret.service").read_text("utf-8")
    command = f"{_word(program)} --data {_word(data)}".replace("$", "$$")  # only commands know variables
    return text.replace("@COMMAND@", command).replace("@DATA@", _word(data))


def _word(path: Path) -> str:
    """One word of a unit file, whatever the path holds (the manuals systemd.syntax and systemd.unit)."""
    written = str(path).replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    return f'"{written}"'
