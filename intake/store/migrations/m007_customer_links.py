"""Change 7 of the schema. Never edit a released one: add the next."""

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
def customer_links(db: Database) -> None:
    """Links to one quote, by the hash of their token; `withdrawn` and `seen` are empty until then."""
    link = {
        "id": int,
        "ticket": str,
        "revision": int,
        "token_sha256": str,
        "language": str,
        "created": str,
        "expires": str,
        "withdrawn": str,
        "seen": str,
    }
    _table(db, "links", link)
    db.table("links").create_index(["token_sha256"], unique=True)
