"""Change 18 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def book_revisions(db: Database) -> None:
    """Every book that was in force, the last one still; and the owner's changes that are not in force yet.

    `folder` is null where the bytes are those of `books`: two folders with the same digest may differ in line
    ends and sample walk-ins. `replaced` is null for the first. There is one draft at most, with id 1.
    """
    revision = {
        "number": int,
        "digest": str,
        "folder": bytes,
        "at": str,
        "kind": str,
        "about": str,
        "changes": str,
        "replaced": int,
        "person": int,
        "who": str,
        "device": str,
    }
    db.table("book_revisions").create(
        revision,
        pk="number",
        not_null=set(revision) - {"number", "folder", "replaced", "person"},
        foreign_keys=[
            ("digest", "books", "digest"),
            ("replaced", "book_revisions", "number"),
            ("person", "people", "id"),
        ],
        strict=True,
    )
    draft = {"id": int, "base": int, "folder": bytes, "kind": str, "about": str, "changed_at": str}
    db.table("book_draft").create(
        draft,
        pk="id",
        not_null=set(draft) - {"id"},
        foreign_keys=[("base", "book_revisions", "number")],
        strict=True,
    )
