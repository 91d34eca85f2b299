"""The schema of what passes between shop and customer: links, choices, answers, mail. Never edit a released
change: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.tickets import MIGRATIONS


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


@MIGRATIONS()
def outbox(db: Database) -> None:
    """Mail to be sent. `link` is 0 until the sender has made the link that the message carries."""
    mail = {
        "id": int,
        "ticket": str,
        "revision": int,
        "message_id": str,
        "recipient": str,
        "language": str,
        "address": str,
        "note": str,
        "state": str,
        "attempts": int,
        "due": str,
        "created": str,
        "changed": str,
        "said": str,
        "link": int,
    }
    _table(db, "outbox", mail)
    db.table("outbox").create_index(["message_id"], unique=True)
    db.table("outbox").create_index(["state", "due"])


@MIGRATIONS()
def bookkeeping(db: Database) -> None:
    """What must stay of a ticket whose customer was erased: numbers, amounts and days."""
    kept = {
        "ticket": str,
        "revision": int,
        "number": int,
        "made_at": str,
        "currency": str,
        "totals": str,
        "agreed": str,
        "erased_at": str,
    }
    db.table("bookkeeping").create(
        kept,
        pk=("ticket", "revision"),
        not_null=set(kept),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )


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
