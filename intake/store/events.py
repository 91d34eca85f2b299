"""Who did what, when."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from intake.store.times import stamp


def record(
    db: Database,
    what: str,
    now: datetime,
    *,
    ticket: str | None = None,
    device: str = "",
    who: str = "",
    **detail: Any,
) -> None:
    """Append an event, in the transaction that it tells of."""
    db.table("events").insert(
        {
            "at": stamp(now),
            "who": who,
            "device": device,
            "what": what,
            "ticket": ticket,
            "detail": json.dumps(detail, ensure_ascii=False),
        }
    )


def of_ticket(db: Database, ticket: str) -> list[dict[str, Any]]:
    """A ticket's events, oldest first, with `detail` read."""
    rows = db.table("events").rows_where("ticket = ?", [ticket], order_by="id")
    return [{**row, "detail": json.loads(row["detail"])} for row in rows]
