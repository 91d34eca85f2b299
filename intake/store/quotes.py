"""Frozen quotes. A quote never changes; a change to the ticket makes the next revision."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from sqlite_utils import Database

from intake.store import sql


@dataclass(frozen=True)
class FrozenQuote:
    """`quote` is the JSON for tools, `exact` the whole quote without rounding, both as text; `staff` is the
    name of who assessed. `version` is that of the answers; what came later is not in it."""

    ticket: str
    revision: int
    made_at: str
    book_digest: str
    app_version: str
    walkin: str
    quote: str
    exact: str
    pdf_sha256: str
    pdf_file: str
    staff: str = ""
    version: int = 0


def latest(db: Database, ticket: str) -> FrozenQuote | None:
    """The newest revision, if the ticket has a quote."""
    return _first(db, "ticket = ?", [ticket])


def find(db: Database, ticket: str, revision: int) -> FrozenQuote | None:
    """One revision."""
    return _first(db, "ticket = ? and revision = ?", [ticket, revision])


def keep(db: Database, frozen: FrozenQuote) -> None:
    """Write a revision. Raises sqlite3.IntegrityError if it stands already."""
    sql.insert(db, "quotes", asdict(frozen))


def _first(db: Database, where: str, values: list[str | int]) -> FrozenQuote | None:
    rows = sql.select(db, "quotes", where, values, order_by="revision desc", limit=1)
    return FrozenQuote(**rows[0]) if rows else None


def last_walkins(db: Database, most: int) -> list[tuple[str, int, str, str]]:
    """Of the tickets that were quoted last: id, number, name and the newest quote's walk-in; newest first."""
    rows = db.execute(
        "select q.ticket, t.number, t.name, q.walkin from quotes q join tickets t on t.id = q.ticket"
        " where q.revision = (select max(revision) from quotes where ticket = q.ticket)"
        " order by q.made_at desc limit ?",
        [most],
    )
    return [(ticket, number, name, walkin) for ticket, number, name, walkin in rows]
