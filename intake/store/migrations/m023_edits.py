"""Change 23 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS
from intake.store.step_conversion import convert


@MIGRATIONS()
def edits(db: Database) -> None:
    """Every edit, for good; what stands in each part; how far each log has come; and which life of the store
    this is.

    `at` is the version of the store with which an edit became part of the ticket. `base` and `heads` are ids
    with spaces between them. The entries of steps are taken over; their own tables stay as they are.
    """
    edit = {
        "at": int,
        "id": str,
        "ticket": str,
        "part": str,
        "value": str,
        "base": str,
        "by": str,
        "act": str,
        "log": str,
        "seq": int,
        "fate": str,
        "same_as": str,
        "why": str,
        "who": str,
        "phone": str,
        "device": str,
        "taken_at": str,
    }
    of_ticket = [("ticket", "tickets", "id")]
    db.table("edits").create(edit, pk="at", not_null=set(edit), foreign_keys=of_ticket, strict=True)
    db.table("edits").create_index(["id"], unique=True)
    db.table("edits").create_index(["ticket", "part"])
    part = {
        "ticket": str,
        "part": str,
        "value": str,
        "by": str,
        "heads": str,
        "sides": int,
        "first": int,
        "at": int,
    }
    db.table("parts").create(
        part, pk=("ticket", "part"), not_null=set(part), foreign_keys=of_ticket, strict=True
    )
    db.conn.execute("create index clashed_parts on parts (ticket) where sides > 1")
    log = {"log": str, "ticket": str, "taken": int}
    db.table("logs").create(log, pk=("ticket", "log"), not_null=set(log), foreign_keys=of_ticket, strict=True)
    life = {"id": int, "epoch": str, "version": int, "backed_up": int}
    db.table("lives").create(life, pk="id", not_null=set(life) - {"id"}, strict=True)
    db.table("quotes").add_column("version", int, not_null_default=0)
    convert(db)
