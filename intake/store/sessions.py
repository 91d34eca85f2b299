"""Who is signed in where. A session lives here, not in its cookie, so that it can be ended from here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp
from intake.store.tokens import digest, new_token

IDLE = timedelta(hours=12)
LONGEST = timedelta(days=30)
AHEAD = timedelta(minutes=5)
"""A stamp further ahead is of a clock that once ran wrong, and counts for nothing."""
NOTED_EVERY = timedelta(minutes=5)
"""How exactly a session's last use is known: reading a page writes no more often than this."""


@dataclass(frozen=True)
class Session:
    """`device` is None where the owner signed in with the password on a browser that is not enrolled."""

    id: int
    person: int
    device: int | None
    created: str
    last_seen: str


def start(db: Database, person: int, device: int | None, now: datetime) -> str:
    """A new session's token, given out only here; sessions that ended long ago are forgotten."""
    sql.delete(db, "sessions", "created < ?", [stamp(now - 2 * LONGEST)])
    token = new_token()
    row = {
        "token_sha256": digest(token),
        "person": person,
        "device": device,
        "created": stamp(now),
        "last_seen": stamp(now),
        "ended": "",
    }
    sql.insert(db, "sessions", row)
    return token


def living(db: Database, token: str, now: datetime) -> Session | None:
    """The session with that token, unless it was ended, idle for 12 hours, or is 30 days old, or used in
    what is still to come."""
    rows = sql.query(
        db,
        "select id, person, device, created, last_seen from sessions"
        " where token_sha256 = ? and ended = '' and last_seen > ? and created > ? and last_seen < ?",
        [digest(token), stamp(now - IDLE), stamp(now - LONGEST), stamp(now + AHEAD)],
    )
    return next((Session(**row) for row in rows), None)


def worth_noting(session: Session, now: datetime) -> bool:
    """Whether its last use should be written down again."""
    return session.last_seen <= stamp(now - NOTED_EVERY)


def see(db: Database, id: int, now: datetime) -> None:
    """It was used."""
    sql.update(db, "sessions", id, {"last_seen": stamp(now)})


def end(db: Database, token: str, now: datetime) -> None:
    """End the session with that token."""
    db.execute(
        "update sessions set ended = ? where token_sha256 = ? and ended = ''", [stamp(now), digest(token)]
    )


def end_of(db: Database, whose: Literal["person", "device"], id: int, now: datetime) -> None:
    """End every session of a person, or on a phone."""
    where = {"person": "person = ?", "device": "device = ?"}[whose]
    for row in sql.select(db, "sessions", f"{where} and ended = ''", [id]):
        sql.update(db, "sessions", row["id"], {"ended": stamp(now)})
