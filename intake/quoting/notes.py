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
    today: date,
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
        found += _wanted(date.fromisoformat(wanted), offers, today, answer_by)
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


def _wanted(wanted: date, offers: Mapping[Tier, Offer], today: date, answer_by: date) -> Iterator[Text]:
    """Whether each different offer can be ready by the day that the customer named: with a yes at once."""
    said: set[tuple[str, ...]] = set()
    for tier, offer in offers.items():
        if offer.jobs and offer.jobs not in said:
            said.add(offer.jobs)
            days = {"today": today, "answer_by": answer_by, "wanted": wanted}
            days |= {"first": offer.first_day, "ready": offer.ready}
            words = {name: long_day(day) for name, day in days.items()}
            yield phrase(_date_key(offer, wanted), offer=phrase(tier), **words)


def _date_key(offer: Offer, wanted: date) -> str:
    if offer.first_day > wanted:
        return "date_fails"
    return "date_holds" if offer.ready <= wanted else "date_holds_now"
