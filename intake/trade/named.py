"""Answers that code knows by name: a checklist that renames one would switch a rule off in silence."""

from __future__ import annotations

from collections.abc import Iterable

NAMED: dict[str, dict[str, None]] = {}


def named(question: str, answers: Iterable[str]) -> frozenset[str]:
    """These answers to a question (or its `kind` or `state`, for places), noted for the book's checker."""
    known = tuple(answers)
    NAMED.setdefault(question, {}).update(dict.fromkeys(known))
    return frozenset(known)
