"""Change 25 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from uuid import UUID, uuid5

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS
from intake.store.step_conversion import FIRST

NAMES = UUID("019acc12-3a5b-7c4d-9e21-5f6a7b8c9d0e")


@MIGRATIONS()
def photo_ids(db: Database) -> None:
    """A photo is a part of its ticket under an id, and an edit of that id says that it is there.

    Photos of before get an id and their edit.
    """
    db.table("photos").add_column("id", str, not_null_default="")
    (last,) = db.execute("select coalesce(max(at), ?) from edits", [FIRST]).fetchone()
    rows = db.execute("select ticket, sha256, created from photos order by created, sha256").fetchall()
    for at, (ticket, sha256, created) in enumerate(rows, last + 1):
        id = str(uuid5(NAMES, f"{ticket}/{sha256}"))
        part = {"ticket": ticket, "part": f"photos/{id}", "value": "there", "by": "hand", "at": at}
        words = dict.fromkeys(("base", "act", "log", "same_as", "why", "who", "phone", "device"), "")
        edit = {**part, **words, "id": id, "seq": 0, "fate": "stands", "taken_at": created}
        db.table("edits").insert(edit)
        db.table("parts").insert({**part, "heads": id, "sides": 1, "first": at})
        db.execute("update photos set id = ? where ticket = ? and sha256 = ?", [id, ticket, sha256])
    db.execute("update lives set version = max(version, ?)", [last + len(rows)])
