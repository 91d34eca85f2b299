"""`tallyfret customer`: what the shop holds about somebody, handed out or erased."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from intake.store.db import Store

NOBODY = "No ticket has exactly that name, telephone, mail address or #number."
HELD = (
    "Not all of it is off the disk yet: another program still reads the shop's file as it was. "
    "Close it, then: tallyfret doctor --mend"
)
BACKUPS = (
    "Backups made before today, and folders that a restore set aside (replaced-…), still hold the data; "
    "what was mailed or printed is not reached either."
)


@click.group()
def customer() -> None:
    """Hand out or erase what the shop holds about a customer."""


@customer.command()
@click.argument("who")
@click.option("--to", "target", type=click.Path(dir_okay=False, path_type=Path), required=True)
@click.pass_obj
def export(data: Path | None, who: str, target: Path) -> None:
    """Write everything about WHO (name, telephone, mail address or #number) to a zip."""
    from intake.store import privacy

    store = _store(data)
    ids = _found(store, who)
    target.write_bytes(privacy.export(store, ids))
    click.echo(f"{len(ids)} tickets are in {target}.")
    store.close()


@customer.command()
@click.argument("who")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def erase(data: Path | None, who: str, yes: bool) -> None:
    """Erase names, contacts, words, photos and PDFs of WHO; numbers, totals and days stay as bookkeeping."""
    from intake.config import utc_now
    from intake.store import privacy, tickets

    store = _store(data)
    ids = _found(store, who)
    for id in ids:
        found = tickets.find(store.db, id)
        click.echo(f"#{found.number} {found.name} {found.phone}" if found else id)
    if not yes:
        click.confirm("Erase these? This cannot be undone.", abort=True)
    done = privacy.erase(store, ids, utc_now())
    store.close()
    click.echo(f"Erased. {BACKUPS}")
    if not done:
        raise click.ClickException(HELD)


def _store(data: Path | None) -> Store:
    from intake.config import data_folder
    from intake.operations.backup_settings import open_store
    from intake.store.opening import shop_in

    return open_store(shop_in(data_folder(data)))


def _found(store: Store, who: str) -> list[str]:
    from intake.store import privacy

    ids = privacy.find(store.db, who)
    if not ids:
        store.close()
        raise click.ClickException(NOBODY)
    return ids
