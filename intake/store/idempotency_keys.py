"""Idempotency keys: a request that comes twice gets the answer of the first, and acts once."""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp

PACKED = zlib.compress(b"")[:2]
"""What a packed body begins with, and no page, JSON or picture; those of earlier versions are not packed."""


@dataclass(frozen=True)
class Answer:
    """What a request was answered, without the headers that every answer has."""

    status: int
    body: bytes
    headers: dict[str, str]


def find(db: Database, key: str) -> tuple[str, Answer] | None:
    """The hash of the body that came with the key, and its answer."""
    rows = sql.select(db, "keys", "key = ?", [key])
    if not rows:
        return None
    row = rows[0]
    body = zlib.decompress(row["body"]) if row["body"].startswith(PACKED) else row["body"]
    return row["body_sha256"], Answer(row["status"], body, json.loads(row["headers"]))


def keep(db: Database, key: str, body_sha256: str, answer: Answer, now: datetime) -> None:
    """Write the answer down; call it in the transaction that has the effect."""
    sql.insert(
        db,
        "keys",
        {
            "key": key,
            "body_sha256": body_sha256,
            "status": answer.status,
            "body": zlib.compress(answer.body),
            "headers": json.dumps(answer.headers),
            "created": stamp(now),
        },
    )


def forget(db: Database, before: datetime) -> None:
    """Drop the keys of answers older than any outbox."""
    sql.delete(db, "keys", "created < ?", [stamp(before)])
