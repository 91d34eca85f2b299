"""What a quote says besides its findings and cautions: worth, wanted date, forecasts, held jobs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from intake.book.model import TIERS, Book, Tier
from intake.book.text import Text
from intake.book.wording import labels_of
from intake.quoting.complaints import complaints_of
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
    """The notes in a fixed order, each only where it applies; the headlines stand apart."""
    found: list[Text] = []
    if held:
        found.append(phrase("held", jobs=joined([book.jobs[id].name for id in held])))
    found += _may_follow(may_follow, book)
    if isinstance(wanted := assessment.facts.get("wanted_by"), str):
        found += _wanted(date.fromisoformat(wanted), offers, today, answer_by)
    if discount and discount.amount and len(jobs) > 1:
        found.append(share_note(discount, book.shop.currency))
    if any(job.forecast for job in jobs):
        found.append(phrase("forecast"))
    return tuple(found)


def headlines(
    assessment: Assessment,
    offers: Mapping[Tier, Offer],
    jobs: Sequence[PlannedJob],
    held: Sequence[str],
    book: Book,
) -> tuple[Text, ...]:
    """What stands before the offers: nothing wrong, a price beyond the worth, a complaint that is left."""
    return (
        *_nothing_wrong(assessment, jobs),
        *_worth(offers, book),
        *_left(offers, jobs, held, assessment, book),
    )


def share_note(discount: Discount, currency: str) -> Text:
    """An amount of discount is for all that the shop would do."""
    return phrase("discount_share", amount=money_text(discount.amount, currency))


def _may_follow(prices: Mapping[str, Decimal], book: Book) -> Iterator[Text]:
    for id, price in prices.items():
        yield phrase("may_follow", job=book.jobs[id].name, price=money_text(price, book.shop.currency))


def _nothing_wrong(assessment: Assessment, jobs: Sequence[PlannedJob]) -> Iterator[Text]:
    """One sentence where nothing was found and nothing more than a look or strings was asked for."""
    wrong = any(finding.severity != "fine" for finding in assessment.findings)
    if not wrong and set(complaints_of(assessment.facts)) <= {"checkup", "restring"} and jobs:
        yield phrase("nothing_wrong")


def _worth(offers: Mapping[Tier, Offer], book: Book) -> Iterator[Text]:
    share, limit = offers["put_right"].worth_share, book.shop.worth_warning
    if share is None or not limit or share <= limit:
        return
    smallest = offers.get("economy", offers["playable"])
    dear = smallest.worth_share is not None and smallest.worth_share > limit
    yield phrase("worth_leave" if dear else "worth_less", share=str(round(share * 100)),
                 offer=phrase(smallest.tier))  # fmt: skip


def _left(
    offers: Mapping[Tier, Offer], jobs: Sequence[PlannedJob], held: Sequence[str], assessment: Assessment,
    book: Book,
) -> Iterator[Text]:  # fmt: skip
    """What the smallest offer does not deal with, and why."""
    answers = {job.id: set(job.answers) for job in jobs}
    smallest = offers["playable"].jobs
    left = set(complaints_of(assessment.facts)).difference(*(answers[job] for job in smallest))
    if book.answering is None or not smallest or not left:
        return
    labels = labels_of(book).get("complaints", {})
    for complaint in complaints_of(assessment.facts):
        where = [tier for tier in TIERS if any(complaint in answers[job] for job in offers[tier].jobs)]
        words = {"complaint": labels.get(complaint, Text(en=complaint))}
        if not where:
            yield phrase(_why_left(complaint, held, assessment), **words)
        elif where[0] != "playable":
            yield phrase("left_fuller", offer=phrase("playable"), fuller=phrase(where[0]), **words)


def _why_left(complaint: str, held: Sequence[str], assessment: Assessment) -> str:
    """Which sentence says why no job deals with a complaint."""
    if held:
        return "left_held"
    return "left_explained" if assessment.facts.get(f"explained.{complaint}") else "left_unfound"


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
