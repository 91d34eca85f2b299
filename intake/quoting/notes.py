"""What a quote says besides its findings and cautions: worth, wanted date, forecasts, held jobs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from intake.book.model import Book, Tier
from intake.book.text import Text
from intake.quoting.model import Assessment, Discount, Offer, PlannedJob
from intake.quoting.phrases import joined, long_day, money_text, phrase


def notes(
    assessment: Assessment,
    offers: Mapping[Tier, Offer],
    jobs: Sequence[PlannedJob],
    held: Sequence[str],
    may_follow: Mapping[str, Decimal],
    answer_by: date,
    book: Book,
    discount: Discount | None = None,
) -> tuple[Text, ...]:
    """The notes in a fixed order, each only where it applies."""
    found: list[Text] = []
    if held:
        found.append(phrase("held", jobs=joined([book.jobs[id].name for id in held])))
    found += _may_follow(may_follow, book)
    found += _worth(offers["put_right"], book)
    if isinstance(wanted := assessment.facts.get("wanted_by"), str):
        found += _wanted(date.fromisoformat(wanted), offers, answer_by)
    if discount and discount.amount and len(jobs) > 1:
        found.append(share_note(discount, book.shop.currency))
    if any(job.forecast for job in jobs):
        found.append(phrase("forecast"))
    return tuple(found)


def share_note(discount: Discount, currency: str) -> Text:
    """An amount of discount is for all that the shop would do."""
    return phrase("discount_share", amount=money_text(discount.amount, currency))


def _may_follow(prices: Mapping[str, Decimal], book: Book) -> Iterator[Text]:
    for id, price in prices.items():
        yield phrase("may_follow", job=book.jobs[id].name, price=money_text(price, book.shop.currency))


def _worth(offer: Offer, book: Book) -> Iterator[Text]:
    share, limit = offer.worth_share, book.shop.worth_warning
    if share is not None and limit and share > limit:
        yield phrase("worth", share=str(round(share * 100)))


def _wanted(wanted: date, offers: Mapping[Tier, Offer], answer_by: date) -> Iterator[Text]:
    """Whether each different offer can be ready by the day that the customer named."""
    said: set[tuple[str, ...]] = set()
    for tier, offer in offers.items():
        if offer.jobs and offer.jobs not in said:
            said.add(offer.jobs)
            key = "date_holds" if offer.ready <= wanted else "date_fails"
            days = {"answer_by": answer_by, "wanted": wanted, "ready": offer.ready}
            yield phrase(key, offer=phrase(tier), **{name: long_day(day) for name, day in days.items()})
