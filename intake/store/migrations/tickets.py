"""The schema, as a list of changes in the order in which they were made. Never edit one that has been
released: add the next."""

from __future__ import annotations

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

MIGRATIONS = Migrations("tallyfret")


@MIGRATIONS()
def tickets_and_steps(db: Database) -> None:
    """A ticket's words for the board, and each step's entries: every save appends one."""
    db.table("tickets").create(
        {
            "id": str,
            "number": int,
            "created": str,
            "updated": str,
            "name": str,
            "phone": str,
            "family": str,
            "serial": str,
            "state": str,
            "language": str,
            "total": str,
            "currency": str,
            "ready": str,
        },
        pk="id",
        not_null={"number", "created", "updated", "name", "phone", "family", "serial", "state", "language"},
        strict=True,
    )
    db.table("tickets").create_index(["number"], unique=True)
    entry = {
        "ticket": str,
        "step": str,
        "revision": int,
        "fields": str,
        "passed": str,
        "device": str,
        "saved_at": str,
    }
    db.table("steps").create(
        entry,
        pk=("ticket", "step", "revision"),
        not_null=set(entry),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )


@MIGRATIONS()
def clashes(db: Database) -> None:
    """Entries that another device overtook; `revision` is the one each met, `settled_at` empty while open."""
    clash = {
        "id": int,
        "ticket": str,
        "step": str,
        "revision": int,
        "based_on": int,
        "fields": str,
        "passed": str,
        "device": str,
        "saved_at": str,
        "settled_at": str,
    }
    db.table("clashes").create(
        clash,
        pk="id",
        not_null=set(clash) - {"id"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("clashes").create_index(["ticket", "step"])


@MIGRATIONS()
def keys(db: Database) -> None:
    """Idempotency keys with the answer that each request got."""
    columns = {"key": str, "body_sha256": str, "status": int, "body": bytes, "headers": str, "created": str}
    db.table("keys").create(columns, pk="key", not_null=set(columns), strict=True)
    db.table("keys").create_index(["created"])


@MIGRATIONS()
def events(db: Database) -> None:
    """Who did what, when (UTC)."""
    columns = {
        "id": int,
        "at": str,
        "who": str,
        "device": str,
        "what": str,
        "ticket": str,
        "detail": str,
    }
    db.table("events").create(
        columns,
        pk="id",
        not_null={"at", "who", "device", "what", "detail"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("events").create_index(["ticket", "id"])


@MIGRATIONS()
def books_and_quotes(db: Database) -> None:
    """Each loaded book by content, and the frozen quotes that name it."""
    book = {"digest": str, "folder": bytes, "loaded_at": str}
    db.table("books").create(book, pk="digest", not_null=set(book), strict=True)
    quote = {
        "ticket": str,
        "revision": int,
        "made_at": str,
        "book_digest": str,
        "app_version": str,
        "walkin": str,
        "quote": str,
        "exact": str,
        "pdf_sha256": str,
        "pdf_file": str,
    }
    db.table("quotes").create(
        quote,
        pk=("ticket", "revision"),
        not_null=set(quote),
        foreign_keys=[("ticket", "tickets", "id"), ("book_digest", "books", "digest")],
        strict=True,
    )


@MIGRATIONS()
def photos(db: Database) -> None:
    """Photos by the hash of what is stored; the files lie in the folder `photos`."""
    photo = {
        "sha256": str,
        "ticket": str,
        "kind": str,
        "width": int,
        "height": int,
        "bytes": int,
        "created": str,
    }
    db.table("photos").create(
        photo,
        pk=("ticket", "sha256"),
        not_null=set(photo),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("photos").create_index(["sha256"])
