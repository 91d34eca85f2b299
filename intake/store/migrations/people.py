"""The schema of who is who: people, enrolled phones, sessions, tries. Never edit a released change: add the
next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.customers import MIGRATIONS


@MIGRATIONS()
def people(db: Database) -> None:
    """Staff. A hash is empty where the person has none; `active` is 0 for who was turned off."""
    person = {
        "id": int,
        "name": str,
        "role": str,
        "pin_hash": str,
        "password_hash": str,
        "active": int,
        "created": str,
    }
    db.table("people").create(person, pk="id", not_null=set(person) - {"id"}, strict=True)
    db.conn.execute("create unique index people_by_name on people (name collate nocase)")
    db.conn.execute("create unique index one_owner on people (role) where role = 'owner'")


@MIGRATIONS()
def devices(db: Database) -> None:
    """Enrolled phones by the hash of their token, and the codes that enrol one; empty moments are to come."""
    device = {
        "id": int,
        "name": str,
        "token_sha256": str,
        "enrolled_by": int,
        "enrolled_at": str,
        "last_seen": str,
        "revoked_at": str,
    }
    db.table("devices").create(
        device,
        pk="id",
        not_null=set(device) - {"id"},
        foreign_keys=[("enrolled_by", "people", "id")],
        strict=True,
    )
    db.table("devices").create_index(["token_sha256"], unique=True)
    code = {"code_sha256": str, "made_by": int, "expires": str, "used_at": str}
    db.table("enrolments").create(
        code,
        pk="code_sha256",
        not_null=set(code),
        foreign_keys=[("made_by", "people", "id")],
        strict=True,
    )


@MIGRATIONS()
def sessions(db: Database) -> None:
    """Who is signed in where, by the hash of a token; `device` is null for the owner's password elsewhere."""
    session = {
        "id": int,
        "token_sha256": str,
        "person": int,
        "device": int,
        "created": str,
        "last_seen": str,
        "ended": str,
    }
    db.table("sessions").create(
        session,
        pk="id",
        not_null=set(session) - {"id", "device"},
        foreign_keys=[("person", "people", "id"), ("device", "devices", "id")],
        strict=True,
    )
    db.table("sessions").create_index(["token_sha256"], unique=True)


@MIGRATIONS()
def attempts(db: Database) -> None:
    """Wrong PINs and passwords in a row, for each person, phone and address."""
    tries = {"kind": str, "about": str, "count": int, "last": str, "locked_until": str}
    db.table("attempts").create(tries, pk=("kind", "about"), not_null=set(tries), strict=True)


@MIGRATIONS()
def by_whom(db: Database) -> None:
    """Events name person and phone by id, beside the names of the day; a quote names who assessed."""
    db.conn.execute("alter table events add column person integer references people(id)")
    db.conn.execute("alter table events add column phone integer references devices(id)")
    db.conn.execute("alter table quotes add column staff text not null default ''")
