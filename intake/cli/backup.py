"""`tallyfret backup`, `restore` and `doctor`."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click

from intake.config import SettingsError, data_folder, utc_now
from intake.operations.backup_settings import backup_settings, open_store
from intake.store.backup.archive import Archive
from intake.store.errors import StoreError, typed
from intake.store.opening import is_lost, lost, shop_in

FOLDER = click.Path(path_type=Path)


@click.command()
@click.option("--to", type=FOLDER, help="Folder for the backups; else as the settings say.")
@click.pass_obj
def backup(data: Path | None, to: Path | None) -> None:
    """Back up tickets, photos, PDFs and the book, also while the server runs, and read it all back."""
    from intake.store.backup.backup import back_up

    folder = _shop(data)
    try:
        settings = backup_settings(folder)
        archive = back_up(folder, to or settings.to, utc_now(), "asked", settings.rule)
    except (StoreError, SettingsError) as error:
        raise click.ClickException(str(error)) from error
    manifest = archive.manifest()
    click.echo(
        f"{archive.folder} holds the shop's tickets and {len(manifest.files)} files, and was read back."
    )
    if manifest.missing:
        raise click.ClickException(
            f"{len(manifest.missing)} files are missing or changed in {folder}."
            f" Which, and what can be brought back: {typed(folder, 'doctor')}"
        )


@click.command()
@click.argument("archive", type=FOLDER)
@click.option("--force", is_flag=True, help="Replace the data that is there; it is set aside, not deleted.")
@click.option("--without-damaged", is_flag=True, help="Leave out files that have gone bad in it.")
@click.pass_obj
def restore(data: Path | None, archive: Path, force: bool, without_damaged: bool) -> None:
    """Put the backup ARCHIVE in the place of the shop's data."""
    from intake.store.restore import restore as put_back

    folder = data_folder(data)
    try:
        done = put_back(Archive(archive), folder, utc_now(), force=force, without_damaged=without_damaged)
    except StoreError as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"{folder} is as it was when {archive} was made.")
    for name in done.left_out:
        click.echo(f"But without {name}.")
    for one in done.handed_out:
        agreed = "agreed to" if one.agreed else "handed out"
        click.echo(f"Not in it: quote {one.number}-{one.revision} for {one.name}, {agreed} since.")
    if done.aside:
        click.echo(f"What was there before is in {done.aside}.")
    if done.erased_again:
        click.echo(f"{done.erased_again} tickets whose customers were erased since were erased again.")


@click.command()
@click.option("--mend", is_flag=True, help="Do what is safe: bring back from backups, set aside, index anew.")
@click.pass_obj
def doctor(data: Path | None, mend: bool) -> None:
    """Look over database, photos, PDFs, disk and backups; ends with 1 if something needs doing."""
    from intake.operations.doctor import examine

    folder = _shop(data)
    try:
        found = list(examine(folder, backup_settings(folder), utc_now()))
    except SettingsError as error:
        raise click.ClickException(str(error)) from error
    left = 0
    for finding in found:
        click.echo(finding.says)
        if mend and finding.mend:
            click.echo(f"  {finding.mend()}")
        else:
            left += 1
    if left:
        can = sum(finding.mend is not None for finding in found)
        raise click.ClickException(
            f"{left} to look at." + (f" --mend does {can} of them." if can and not mend else "")
        )
    click.echo("Nothing else needs doing." if found else "Nothing needs doing.")


@click.command()
@click.argument("folder", type=FOLDER)
@click.pass_obj
def export(data: Path | None, folder: Path) -> None:
    """Write tickets, customers and quotes as CSV into FOLDER, also while the server runs."""
    from intake.operations.export import export as write

    with closing(open_store(_shop(data))) as store, store.reading() as db:
        counts = write(db, folder)
    for name, count in counts.items():
        click.echo(f"{folder / name}: {count} rows")


def _shop(data: Path | None) -> Path:
    folder = shop_in(data_folder(data))
    if is_lost(folder):
        raise StoreError(lost(folder, backup_settings(folder).to))
    return folder
