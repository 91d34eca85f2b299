"""The receipt for what was handed in: what it is, what came with it, and what was damaged already."""

from __future__ import annotations

from datetime import date

from intake.book.answers import read_answers
from intake.book.model import Book, Question
from intake.paper.intake_summary import IntakeSummary
from intake.paper.options import DocumentOptions
from intake.paper.pages import formats_for, known_size, page, pictures
from intake.paper.terms import terms_of
from intake.quoting.model import Walkin

# The steps whose answers tell the condition at hand-in.
CONDITION = (
    "neck", "frets", "top-and-bridge", "cracks-and-braces", "hardware-and-wiring", "originality-and-photos",
)  # fmt: skip


def receipt_html(book: Book, walkin: Walkin, taken_on: date, options: DocumentOptions) -> str:
    """What was handed in, and in which state, with a line to sign. Needs no quote."""
    known_size(options.paper)
    formats = formats_for(book, options.language)
    taken = IntakeSummary(
        book, walkin.answers, read_answers(book, walkin.answers).values, formats, options.language
    )
    _ = formats.gettext
    return page(
        "receipt", book, options,
        folio=_("Receipt {number}", number=options.number),
        taken=taken,
        taken_on=formats.day(taken_on),
        condition=_condition(taken),
        not_assessed=taken.steps(walkin.not_assessed),
        places_unseen="cracks-and-braces" in walkin.not_assessed,
        by_eye=taken.by_step(walkin.by_eye),
        terms=terms_of(book.shop, options.language),
        photos=pictures(options.photos),
    )  # fmt: skip


def _condition(taken: IntakeSummary) -> list[tuple[str, list[tuple[str, str]]]]:
    """Each step that tells the condition, with what was chosen there: question and answer."""
    rows = []
    for step in taken.book.steps:
        if step.id not in CONDITION:
            continue
        asked = [question for question in taken.book.questions.values() if question.step == step.id]
        said = [(q.label.in_(taken.language), words) for q in asked if (words := _said(q, taken))]
        if said:
            rows.append((step.name.in_(taken.language), said))
    return rows


def _said(question: Question, taken: IntakeSummary) -> str:
    """What was chosen, in words; measures belong on the quote, places on the drawing."""
    _, value = taken.formats.gettext, taken.facts.get(question.id)
    if question.kind == "yes_no":
        return {True: _("yes"), False: _("no")}.get(bool(value), "") if value is not None else ""
    if question.kind in ("one", "several"):
        return ", ".join(taken.chosen(question.id))
    if question.kind == "frets" and value not in (None, ("none",)):
        return ", ".join(str(fret) for fret in value)
    return ""
