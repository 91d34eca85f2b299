"""`tallyfret staff`: who works here, from the shop's own computer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import click
from sqlite_utils import Database

from intake.config import data_folder, utc_now
from intake.operations.backup_settings import open_store
from intake.store import attempts, events, passwords, people
from intake.store.backup.archive import DATABASE
from intake.store.db import Store, connect
from intake.store.errors import StoreError
from intake.store.events import By
from intake.store.opening import shop_in
from intake.store.people import NameTakenError, Person
from intake.store.weak_passwords import is_weak

HERE = By(device="command line")


@click.group()
def staff() -> None:
    """Who may sign in: the owner with a password, everybody else with a PIN."""


@staff.command()
@click.argument("name", required=False)
@click.pass_obj
def owner(data: Path | None, name: str | None) -> None:
    """Make the owner, NAME, or give the owner a new password."""
    with store_of(data, new=True) as store:
        known = people.owner(store.db)
        if known:
            click.echo(f"{known.name} is the owner; this sets a new password.")
        called = known.name if known else _name(name or click.prompt("Name"))
        kept = passwords.hashed(_password(called))
        with store.writing() as db:
            if known:
                people.set_password(db, known.id, kept, utc_now())
            else:
                _add(db, called, "owner", password_hash=kept)
            events.record(db, "password set", utc_now(), by=HERE, of=called)
    click.echo(f"{called} can sign in with that password on any browser.")


@staff.command()
@click.argument("name")
@click.option("--role", type=click.Choice(people.STAFF_ROLES), default="counter", show_default=True)
@click.pass_obj
def add(data: Path | None, name: str, role: people.Role) -> None:
    """Add NAME, and ask for a PIN."""
    with store_of(data) as store:
        called = _name(name)
        if people.named(store.db, called):
            raise click.ClickException(f"There is somebody called {called} already, or there was.")
        kept = passwords.hashed(_pin())
        with store.writing() as db:
            _add(db, called, role, pin_hash=kept)
            events.record(db, "staff added", utc_now(), by=HERE, name=called, role=role)
    click.echo(f"{called} can sign in on an enrolled phone.")


@staff.command("list")
@click.pass_obj
def list_(data: Path | None) -> None:
    """Everybody, with their roles."""
    with store_of(data) as store:
        locked = attempts.locked(store.db, utc_now())
        for person in people.everybody(store.db):
            notes = [] if person.active else ["off"]
            notes += ["locked"] if locked & {*attempts.of_person(person.id)} else []
            click.echo("  ".join((f"{person.role:<8}{person.name}", *notes)))


@staff.command()
@click.argument("name")
@click.pass_obj
def pin(data: Path | None, name: str) -> None:
    """Give NAME a new PIN."""
    with store_of(data) as store:
        person = _member(store.db, name)
        kept = passwords.hashed(_pin())
        with store.writing() as db:
            people.set_pin(db, person.id, kept, utc_now())
            events.record(db, "PIN set", utc_now(), by=HERE, of=person.name)
    click.echo(f"{person.name} has a new PIN.")


@staff.command()
@click.argument("name")
@click.pass_obj
def off(data: Path | None, name: str) -> None:
    """Let NAME in no more, from this moment."""
    with store_of(data) as store, store.writing() as db:
        person = _member(db, name)
        people.set_active(db, person.id, False, utc_now())
        events.record(db, "staff turned off", utc_now(), by=HERE, of=person.name)
    click.echo(f"{person.name} can no longer sign in.")


@staff.command()
@click.argument("name")
@click.pass_obj
def on(data: Path | None, name: str) -> None:
    """Let NAME in again."""
    with store_of(data) as store, store.writing() as db:
        person = _member(db, name)
        people.set_active(db, person.id, True, utc_now())
        events.record(db, "staff turned on", utc_now(), by=HERE, of=person.name)
    click.echo(f"{person.name} can sign in again.")


@staff.command()
@click.argument("name")
@click.pass_obj
def unlock(data: Path | None, name: str) -> None:
    """Let NAME try again at once after too many wrong PINs or passwords, everywhere."""
    with store_of(data) as store, store.writing() as db:
        person = people.named(db, name) or _nobody(name)
        attempts.clear(db, attempts.of_person(person.id))
        attempts.clear_places(db)
        events.record(db, "staff unlocked", utc_now(), by=HERE, of=person.name)
    click.echo(f"{person.name} may try again.")


def has_owner(data: Path) -> bool:
    """Whether the shop that is open in that folder has an owner."""
    with closing(connect(data / DATABASE)) as db:
        return people.owner(db) is not None


@contextmanager
def store_of(data: Path | None, new: bool = False) -> Iterator[Store]:
    """The shop's store, closed afterwards; with `new` it may be made here."""
    folder = data_folder(data)
    try:
        store = open_store(folder if new else shop_in(folder))
    except StoreError as error:
        raise click.ClickException(str(error)) from error
    try:
        yield store
    finally:
        store.close()


def _add(db: Database, name: str, role: people.Role, *, pin_hash: str = "", password_hash: str = "") -> None:
    try:
        people.add(db, name, role, utc_now(), pin_hash=pin_hash, password_hash=password_hash)
    except NameTakenError as error:
        raise click.ClickException(f"There is somebody called {name} already, or there was.") from error


def _member(db: Database, name: str) -> Person:
    """Somebody with a PIN."""
    person = people.named(db, name) or _nobody(name)
    if person.role == "owner":
        raise click.ClickException(f"{person.name} is the owner: tallyfret staff owner sets the password.")
    return person


def _nobody(name: str) -> Person:
    raise click.ClickException(f"There is nobody called {name}; tallyfret staff list shows everybody.")


def _name(name: str) -> str:
    try:
        return people.clean_name(name)
    except ValueError as error:
        raise click.ClickException(f"This does not do as a name: {error}.") from error


def _password(name: str) -> str:
    def checked(text: str) -> str:
        if not passwords.LEAST <= len(text) <= passwords.LONGEST:
            raise click.BadParameter(f"{passwords.LEAST} characters or more; {passwords.ADVISED} are better.")
        if is_weak(text, [name]):
            raise click.BadParameter("this is among those that are guessed first.")
        return text

    return _secret(f"Password ({passwords.LEAST} characters or more, better {passwords.ADVISED})", checked)


def _pin() -> str:
    def checked(text: str) -> str:
        if not passwords.is_pin(text):
            raise click.BadParameter("four to six digits.")
        return text

    return _secret("PIN (four to six digits)", checked)


def _secret(words: str, checked: Callable[[str], str]) -> str:
    return click.prompt(words, hide_input=True, confirmation_prompt=True, value_proc=checked)
