"""Enrolled phones, and the codes with which the owner enrols one. Token and code are kept as hashes."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlite_utils import Database

from intake.store import sessions, sql
from intake.store.people import clean_name
from intake.store.timestamps import stamp
from intake.store.tokens import digest, new_code, new_token

CODE_LIVES = timedelta(minutes=10)


@dataclass(frozen=True)
class Device:
    """`revoked_at` is empty while the phone may be used."""

    id: int
    name: str
    enrolled_by: int
    enrolled_at: str
    last_seen: str
    revoked_at: str
    token_sha256: str = field(default="", repr=False)


def offer(db: Database, made_by: int, now: datetime) -> str:
    """A code that enrols one phone within ten minutes; codes that nobody used are forgotten."""
    sql.delete(db, "enrolments", "expires <= ?", [stamp(now)])
    code = new_code()
    row = {
        "code_sha256": digest(code),
        "made_by": made_by,
        "expires": stamp(now + CODE_LIVES),
        "used_at": "",
    }
    sql.insert(db, "enrolments", row)
    return code


def offered_by(db: Database, code: str, now: datetime) -> int | None:
    """Who made the code, while it can still be used."""
    found = db.execute(
        "select made_by from enrolments where code_sha256 = ? and used_at = '' and expires > ?",
        [digest(code), stamp(now)],
    ).fetchone()
    return int(found[0]) if found else None


def enrol(db: Database, code: str, name: str, now: datetime) -> tuple[int, str] | None:
    """Use the code up: the new phone's id, and its token, given out only here. None if the code is no good.

    Raises ValueError for a name that is none.
    """
    called, made_by = clean_name(name), offered_by(db, code, now)
    if made_by is None:
        return None
    db.execute("update enrolments set used_at = ? where code_sha256 = ?", [stamp(now), digest(code)])
    token = new_token()
    row = {
        "name": called,
        "token_sha256": digest(token),
        "enrolled_by": made_by,
        "enrolled_at": stamp(now),
        "last_seen": stamp(now),
        "revoked_at": "",
    }
    return sql.insert(db, "devices", row), token


def with_token(db: Database, token: str) -> Device | None:
    """The phone that holds the token, revoked or not. Looked up by hash, so timing tells nothing."""
    return _first(db, "token_sha256 = ?", [digest(token)])


def find(db: Database, id: int) -> Device | None:
    """One phone."""
    return _first(db, "id = ?", [id])


def every(db: Database) -> list[Device]:
    """All phones, those in use first, then the newest."""
    rows = sql.select(db, "devices", order_by="revoked_at <> '', id desc")
    return [Device(**row) for row in rows]


def see(db: Database, id: int, now: datetime) -> None:
    """It was here."""
    sql.update(db, "devices", id, {"last_seen": stamp(now)})


def revoke(db: Database, id: int, now: datetime) -> bool:
    """The phone is out, with whoever is signed in on it; false if it was already."""
    done = db.execute("update devices set revoked_at = ? where id = ? and revoked_at = ''", [stamp(now), id])
    sessions.end_of(db, "device", id, now)
    return done.rowcount == 1


def _first(db: Database, where: str, values: list[str | int]) -> Device | None:
    return next((Device(**row) for row in sql.select(db, "devices", where, values)), None)
