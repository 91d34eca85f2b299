"""What every page and fragment of a ticket shows of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from intake.book.model import Book
from intake.i18n.messages import current_language
from intake.screens.wizard.targets import targets
from intake.services.clashes import label_of, words_of
from intake.services.ticket_view import TicketView


@dataclass(frozen=True)
class ToLookAt:
    """A refused answer: the step on which it stands, its question, and why."""

    step: str
    label: str
    sentence: str


def page_context(sheet: TicketView) -> dict[str, Any]:
    """The names that the wizard's templates use."""
    price: dict[str, Any] = {"summary": None, "problems": sheet.problems, "not_measured": {}}
    if sheet.summary:
        price = sheet.summary.context()
    return {
        "book": sheet.desk.book,
        "clashes": sheet.clashes,
        "life": sheet.life,
        "discount_problem": sheet.discount_problem,
        "targets": list(targets(sheet.summary)),
        "to_look_at": _to_look_at(sheet.desk.book, price["problems"]),
        "open_questions": sum(map(len, price["not_measured"].values())),
        **price,
    }


def unasked(sheet: TicketView) -> list[tuple[str, str]]:
    """What was answered and is not asked now, in words."""
    book = sheet.desk.book
    return [(label_of(book, held.part), words_of(book, held.part, held.value)) for held in sheet.unasked]


def _to_look_at(book: Book, problems: Mapping[str, str]) -> list[ToLookAt]:
    return [_refused(book, id, sentence) for id, sentence in problems.items()]


def _refused(book: Book, id: str, sentence: str) -> ToLookAt:
    question = book.questions.get(id.split(".")[0])
    if question is None:
        return ToLookAt("customer", id, sentence)
    return ToLookAt(question.step, question.label.in_(current_language()), sentence)
