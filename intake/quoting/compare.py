"""What differs between two quotes for the same walk-in, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from intake.book.model import Book, Tier
from intake.book.text import Text
from intake.book.wording import labels_of, show_value, shown_units
from intake.i18n import languages
from intake.quoting.model import Offer, Quote
from intake.quoting.phrases import joined, long_day, money_text, phrase

T = TypeVar("T")
NOT_REPEATED = ("pins", "photos", "words")


def differences(old: Quote, new: Quote, book: Book) -> tuple[Text, ...]:
    """Sentences on price, day, jobs and answers, each in every language; none if the quotes say the same.

    `book` names the questions and shows their answers: that of the new quote.
    """
    return (
        *_prices(old, new),
        *_days(old, new),
        *_jobs(old, new),
        *_answers(old.assessment.facts, new.assessment.facts, book),
        *([phrase("book_changed")] if old.book_digest != new.book_digest else []),
    )


def _prices(old: Quote, new: Quote) -> Iterator[Text]:
    for (was, now), offers in _moved(old, new, lambda offer: offer.total):
        words = {"offers": offers, "was": money_text(was, old.currency), "now": money_text(now, new.currency)}
        if old.currency != new.currency:
            yield phrase("price_currency", **words)
        else:
            by = money_text(abs(now - was), new.currency)
            yield phrase("price_up" if now > was else "price_down", by=by, **words)


def _days(old: Quote, new: Quote) -> Iterator[Text]:
    for (was, now), offers in _moved(old, new, lambda offer: offer.first_day if offer.jobs else None):
        if isinstance(was, date) and isinstance(now, date):
            days = {"was": long_day(was), "now": long_day(now)}
            yield phrase("day_later" if now > was else "day_sooner", offers=offers, **days)


def _moved(old: Quote, new: Quote, value: Callable[[Offer], T]) -> Iterator[tuple[tuple[T, T], Text]]:
    """Old and new value where they differ, with the names of the offers for which they do so alike."""
    found: dict[tuple[T, T], list[Tier]] = {}
    for tier, offer in new.offers.items():
        found.setdefault((value(old.offers[tier]), value(offer)), []).append(tier)
    for (was, now), tiers in found.items():
        if was != now or (isinstance(was, Decimal) and old.currency != new.currency):
            yield (was, now), joined([phrase(tier) for tier in tiers])


def _jobs(old: Quote, new: Quote) -> Iterator[Text]:
    before, after = ({job.id: job for job in quote.jobs} for quote in (old, new))
    if added := [job.name for id, job in after.items() if id not in before]:
        yield phrase("jobs_added", jobs=joined(added))
    if gone := [job.name for id, job in before.items() if id not in after]:
        yield phrase("jobs_gone", jobs=joined(gone))
    for id, job in after.items():
        if id in before and before[id].quantity != job.quantity:
            counts = {"was": str(before[id].quantity), "now": str(job.quantity)}
            yield phrase("quantity_changed", job=job.name, **counts)


def _answers(before: Mapping[str, Any], after: Mapping[str, Any], book: Book) -> Iterator[Text]:
    """Answers changed, given or withdrawn, in the order of the checklist; long ones by name only."""
    labels = labels_of(book)

    units = shown_units(book.units, {}, book.shop.measures)

    def shown(id: str, facts: Mapping[str, Any]) -> Text:
        return Text({lang: show_value(id, facts.get(id), units, labels, lang) for lang in languages()})

    for id, question in book.questions.items():
        if before.get(id) != after.get(id):
            if question.kind in NOT_REPEATED:
                yield phrase("answer_changed", question=question.label)
            else:
                values = {"was": shown(id, before), "now": shown(id, after)}
                yield phrase("answer_moved", question=question.label, **values)
