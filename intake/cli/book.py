"""`tallyfret book`."""

from __future__ import annotations

import click

from intake.cli.lazy import LazyGroup

PLACES = {
    "check": "intake.cli.book_review:check",
    "export": "intake.cli.book_revisions:export",
    "load": "intake.cli.book_revisions:load",
    "sources": "intake.cli.book_review:sources",
    "try": "intake.cli.book_review:try_",
}


@click.group(cls=LazyGroup, places=PLACES)
def book() -> None:
    """Read, try and check price books."""
