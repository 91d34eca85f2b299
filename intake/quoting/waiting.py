"""What happens if a job waits, by the book's waiting.csv."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from intake.book.model import Book, Job
from intake.book.text import Text


def if_it_waits(job: Job, facts: Mapping[str, Any], book: Book) -> tuple[str, Text | None]:
    """Worsens, holds or dangerous, and in words; nothing where the book does not say."""
    if book.waiting is None:
        return "", None
    item = {"job": job.id, "group": job.group}
    for hit in book.waiting.evaluate(facts, item):
        return hit.outputs["waits"], hit.outputs["says"]
    return "", None
