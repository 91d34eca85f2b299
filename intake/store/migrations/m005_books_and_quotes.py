"""Change 5 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


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
