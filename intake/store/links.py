"""Links that show one quote to whoever holds them. The token itself is never stored, only its hash."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp
from intake.store.tokens import digest, new_token


@dataclass(frozen=True)
class Link:
    """`expires` is the last day (ISO date) on which it works; `withdrawn` and `seen` are moments or empty."""

    id: int
    ticket: str
    revision: int
    token_sha256: str
    language: str
    created: str
    expires: str
    withdrawn: str
    seen: str

    def lives(self, today: date) -> bool:
        """True while it may be used."""
        return not self.withdrawn and today.isoformat() <= self.expires


def make(
    db: Database, ticket: str, revision: int, expires: date, language: str, now: datetime
) -> tuple[int, str]:
    """A new link: its id, and the token (192 random bits, base64url), which is given out only here."""
    token = new_token()
    row = {
        "ticket": ticket,
        "revision": revision,
        "token_sha256": digest(token),
        "language": language,
        "created": stamp(now),
        "expires": expires.isoformat(),
        "withdrawn": "",
        "seen": "",
    }
    return sql.insert(db, "links", row), token


def find(db: Database, token: str) -> Link | None:
    """The link with that token, dead or alive. Looked up by hash, so timing tells nothing of the token."""
    rows = sql.select(db, "links", "token_sha256 = ?", [digest(token)])
    return Link(**rows[0]) if rows else None


def of_ticket(db: Database, ticket: str) -> list[Link]:
    """A ticket's links, oldest first."""
    return [Link(**row) for row in sql.select(db, "links", "ticket = ?", [ticket], order_by="id")]


def see(db: Database, link: int, now: datetime) -> bool:
    """Note that somebody has opened it; true the first time."""
    done = db.execute("update links set seen = ? where id = ? and seen = ''", [stamp(now), link])
    return done.rowcount == 1


def withdraw(db: Database, ticket: str, now: datetime, link: int | None = None) -> int:
    """Make one link of the ticket, or all, stop working; how many that were."""
    done = db.execute(
        "update links set withdrawn = ? where ticket = ? and withdrawn = '' and (? is null or id = ?)",
        [stamp(now), ticket, link, link],
    )
    return int(done.rowcount)


def drop(db: Database, link: int) -> None:
    """Forget a link that nobody was given."""
    sql.delete(db, "links", "id = ?", [link])
