"""What may not be taken as usual: somebody has to look."""

from __future__ import annotations

from intake.book.model import Book
from intake.trade.registry import REGISTRY

ALWAYS_SEEN = frozenset({"rod", "neck_joint"})


def never_usual(book: Book) -> frozenset[str]:
    """The neck joint, the rod, and every question on which a finding rests that stops a quote."""
    tested: set[str] = set()
    for table in book.tables.values():
        for row in table.rows:
            if row.outputs.get("severity") == "stop":
                pairs = zip(table.inputs, row.tests, strict=True)
                tested |= {column.id for column, tests in pairs if not tests.is_any}
    facts = {id for fact in tested for id in sources(fact)}
    return ALWAYS_SEEN | (facts & book.questions.keys())


def sources(fact: str) -> set[str]:
    """The ids that a fact rests on: itself, and through readings all that they are computed from."""
    found: set[str] = set()
    waiting = [fact.split(".")[0]]
    while waiting:
        id = waiting.pop()
        if id not in found:
            found.add(id)
            waiting.extend((*REGISTRY[id].inputs, *REGISTRY[id].optional) if id in REGISTRY else ())
    return found
