"""`tallyfret demo`."""

from __future__ import annotations

from pathlib import Path

import click

from intake.config import PORT


@click.command()
@click.option("--once", is_flag=True, help="Take the sample walk-in to a PDF and stop.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(0, 65535))
@click.pass_obj
def demo(data: Path | None, once: bool, port: int) -> None:
    """Show the demo shop: a sample walk-in to a PDF, then the counter."""
    from intake.demo.run import run

    run(data, once=once, port=port)
