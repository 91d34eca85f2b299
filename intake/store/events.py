"""Who did what, on which phone, when."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp


@dataclass(frozen=True)
class By:
    """A member of staff and an enrolled phone, by id and by the name of the day; nobody for a customer."""

    person: int | None = None
    who: str = ""
    phone: int | None = None
    device: str = ""


NOBODY = By()


def record(
    db: Database, what: str, now: datetime, *, ticket: str | None = None, by: By = NOBODY, **detail: Any
) -> None:
    """Append an event, in the transaction that it tells of."""
    sql.insert(
        db,
        "events",
        {
            "at": stamp(now),
            "who": by.who,
            "device": by.device,
            "what": what,
            "ticket": ticket,
            "detail": json.dumps(detail, ensure_ascii=False),
            "person": by.person,
            "phone": by.phone,
        },
    )


def of_ticket(db: Database, ticket: str) -> list[dict[str, Any]]:
    """A ticket's events, oldest first, with `detail` read."""
    rows = sql.select(db, "events", "ticket = ?", [ticket], order_by="id")
    return [{**row, "detail": json.loads(row["detail"])} for row in rows]
