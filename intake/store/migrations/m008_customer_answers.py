"""Change 8 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


def _table(db: Database, name: str, columns: dict[str, type]) -> None:
    """A table with an `id` of its own, every column set, belonging to a ticket."""
    db.table(name).create(
        columns,
        pk="id",
        not_null=set(columns) - {"id"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table(name).create_index(["ticket", "id"])


@MIGRATIONS()
def customer_answers(db: Database) -> None:
    """What is chosen just now, and what was said for good: questions, a yes, a no."""
    choice = {"ticket": str, "revision": int, "jobs": str, "changed": str}
    db.table("choices").create(
        choice,
        pk=("ticket", "revision"),
        not_null=set(choice),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    answer = {
        "id": int,
        "ticket": str,
        "revision": int,
        "kind": str,
        "at": str,
        "way": str,
        "name": str,
        "words": str,
        "signature": str,
        "quote_sha256": str,
        "jobs": str,
        "offer": str,
        "total": str,
        "currency": str,
        "deposit": str,
        "ready": str,
        "who": str,
        "link": int,
    }
    _table(db, "answers", answer)
    db.conn.execute("create unique index one_go_ahead on answers (ticket, revision) where kind = 'goahead'")
