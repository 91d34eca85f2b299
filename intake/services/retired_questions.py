"""What books before the one in force asked: a phone that was out of reach still asks it."""

from __future__ import annotations

import tomllib

from sqlite_utils import Database

from intake.store import revisions
from intake.store.revisions import Revision

MOST = 2**62
Asked = tuple[str, str, str]
_KNOWN: dict[str, tuple[Asked, ...]] = {}
"""Digest → what that book asked."""


def kinds_asked_before(db: Database, step: str = "") -> dict[str, str]:
    """Question id → kind, of every revision; with a step, only what was asked there. The newest says."""
    asked = [one for one in reversed(_asked(db)) if not step or one[1] == step]
    return {id: kind for id, _, kind in asked}


def steps_asked_before(db: Database) -> frozenset[str]:
    """Ids of the steps that any revision asked something on."""
    return frozenset(step for _, step, _ in _asked(db))


def _asked(db: Database) -> list[Asked]:
    """Newest first."""
    return [one for found in revisions.latest(db, MOST) for one in _questions_of(db, found)]


def _questions_of(db: Database, found: Revision) -> tuple[Asked, ...]:
    if found.digest not in _KNOWN:
        _KNOWN[found.digest] = _questions(revisions.files_of(db, found.number).get("checklist.toml", b""))
    return _KNOWN[found.digest]


def _questions(checklist: bytes) -> tuple[Asked, ...]:
    """(id, step, kind) of each question; none where the file cannot be read any more."""
    try:
        asked = tomllib.loads(checklist.decode("utf-8")).get("question", [])
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        return ()
    return tuple((str(one.get("id")), str(one.get("step")), str(one.get("kind"))) for one in asked)
