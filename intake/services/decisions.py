"""What a customer says, checked and written down: choosing, a question, a yes, a no."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from sqlite_utils import Database

from intake.book.plain_text import can_be_read
from intake.quoting.calendar import Bench
from intake.quoting.model import Offer
from intake.quoting.schedule import booked_by
from intake.services import signature
from intake.services.commitments import discount_on
from intake.services.context import Context
from intake.services.discount_limit import discount_as_kept, over_limit
from intake.services.errors import ConflictError, InvalidRequestError
from intake.services.quote_view import QuoteView
from intake.store import bench, decisions, events, tickets
from intake.store.decisions import Answer
from intake.store.events import NOBODY, By
from intake.store.ticket_state import ANSWERING, TicketState

LONGEST = 2000
LONGEST_NAME = 120


@dataclass(frozen=True)
class Choice:
    """The jobs that a page showed as chosen, and what its button does to them."""

    picked: frozenset[str]
    offer: str = ""
    added: str = ""
    dropped: str = ""


@dataclass(frozen=True)
class Yes:
    """What a yes is given to, as the form showed it, and by whom."""

    picked: frozenset[str]
    quote: str = ""
    total: str = ""
    ready: str = ""
    name: str = ""
    agreed: bool = False
    drawn: str = ""
    note: str = ""


@dataclass(frozen=True)
class Said:
    """How an answer came, and which member of staff took it, if one did."""

    way: str = "link"
    by: By = NOBODY
    link: int = 0


def changed_choice(visit: QuoteView, choice: Choice) -> frozenset[str]:
    """What the form's button makes of the choice that the form showed. Raises InvalidRequestError for
    unknown jobs."""
    picked, offer, added, dropped = choice.picked, choice.offer, choice.added, choice.dropped
    known = set(visit.menu.jobs)
    if not picked <= known or not {added, dropped} - {""} <= known:
        raise InvalidRequestError
    if offer:
        if offer not in visit.quote.offers:
            raise InvalidRequestError
        return frozenset(visit.quote.offers[offer].jobs)  # type: ignore[index]
    if added:
        return picked | {added}
    if dropped:
        return visit.menu.without(picked, dropped)[0]
    return picked


def choose(ctx: Context, db: Database, visit: QuoteView, jobs: Iterable[str], said: Said) -> None:
    """Keep the choice of the moment; the board hears of it."""
    ticket, revision, now = visit.ticket.id, visit.frozen.revision, ctx.now()
    ordered = [id for id in visit.menu.jobs if id in set(jobs)]
    if decisions.choose(db, ticket, revision, ordered, now):
        events.record(db, "offer chosen", now, ticket=ticket, by=said.by, revision=revision, way=said.way)
    state(ctx, db, visit, TicketState.CHOSEN)


def ask(ctx: Context, db: Database, visit: QuoteView, said: Said, words: str, name: str) -> bool:
    """Keep a question to the shop; false if it is empty or one too many."""
    ticket, now = visit.ticket.id, ctx.now()
    if not words or not decisions.may_say(db, ticket, "question", words, now):
        return False
    answer = Answer(
        ticket, visit.frozen.revision, "question", said.way, name=name, words=words, link=said.link
    )
    decisions.say(db, answer, now)
    events.record(db, "question asked", now, ticket=ticket, revision=visit.frozen.revision)
    state(ctx, db, visit, TicketState.QUESTION)
    return True


def refuse(ctx: Context, db: Database, visit: QuoteView, said: Said, words: str, name: str) -> None:
    """A no, with its reason if one was given; said again and again it is kept once, and has an end."""
    ticket, now = visit.ticket.id, ctx.now()
    if not decisions.may_say(db, ticket, "refused", words, now):
        return
    answer = Answer(
        ticket,
        visit.frozen.revision,
        "refused",
        said.way,
        name=name,
        words=words,
        quote_sha256=visit.sha256,
        who=said.by.who,
        link=said.link,
    )
    decisions.say(db, answer, now)
    events.record(db, "quote refused", now, ticket=ticket, by=said.by, revision=visit.frozen.revision)
    state(ctx, db, visit, TicketState.REFUSED)


@dataclass(frozen=True)
class Problem:
    """Why a yes was not kept: 422 for something missing in the form, 409 for something that has changed.
    `field` is the one of `Yes` that the sentence is about, if it is about one."""

    sentence: str
    status: int = 422
    field: str = ""


def agree(ctx: Context, db: Database, visit: QuoteView, said: Said, yes: Yes) -> Problem | None:
    """A yes to exactly what the form showed: quote, sum and ready day; None when it stands.

    Raises ConflictError when the quote or the sum on the form is no longer that of the store.
    """
    _ = visit.formats.gettext
    picked = yes.picked
    if not picked <= set(visit.menu.jobs):
        raise InvalidRequestError
    offer = visit.menu.select(picked).offer
    if (yes.quote, yes.total) != (visit.sha256, str(offer.total)):
        raise ConflictError(_("The quote changed while you were reading. Please look at it once more."))
    drawn = signature.read(yes.drawn)
    if visit.ticket.state == TicketState.COLLECTED:
        return Problem(_("The instrument was handed back. Please call, and bring it in again."), 409)
    if not offer.jobs:
        return Problem(_("Choose at least one job, or say no below."))
    if _too_much_off(db, visit):
        words = _("The discount on this quote is more than may be given; the shop makes a new one.")
        return Problem(words, 409)
    if _later_than_shown(yes.ready, offer.first_day):
        day = visit.formats.day(offer.first_day)
        return Problem(_("The ready day has moved to {day}. Please look at it once more.", day=day), 409)
    if not can_be_read(yes.name):
        return Problem(_("Please write your name."), field="name")
    if not (yes.agreed or drawn):
        return Problem(_("Please tick the box, or sign with a finger."), field="agreed")
    if said.way == "telephone" and not can_be_read(yes.note):
        return Problem(_("Please note who said what on the telephone."), field="note")
    _keep_yes(ctx, db, visit, said, visit.menu.planned_now(picked), yes, drawn)
    return None


def _later_than_shown(shown: str, ready: date) -> bool:
    """The form showed an earlier day, or none. An emptier bench may bring a day forward."""
    try:
        return ready > date.fromisoformat(shown)
    except ValueError:
        return True


def _too_much_off(db: Database, visit: QuoteView) -> bool:
    """The quote's discount is more than whoever gave it may give."""
    quote, shop = visit.quote, visit.book.shop
    if quote.discount is None:
        return False
    most = quote.discount.most
    if most is None:  # an earlier version did not write it down
        standing = discount_on(db, visit.ticket.id, shop)
        same = discount_as_kept(standing, quote.discount) == quote.discount
        most = (standing.most if standing and same else None) or shop.discount_most
    return over_limit(quote, visit.book, most)


def _keep_yes(
    ctx: Context, db: Database, visit: QuoteView, said: Said, offer: Offer, yes: Yes, drawn: str
) -> None:
    ticket, revision, now = visit.ticket.id, visit.frozen.revision, ctx.now()
    answer = Answer(
        ticket,
        revision,
        "goahead",
        said.way,
        name=yes.name,
        words=yes.note,
        signature=drawn or "typed",
        quote_sha256=visit.sha256,
        jobs=json.dumps(list(offer.jobs)),
        offer=agreed(visit, offer, yes.picked),
        total=str(offer.total),
        currency=visit.quote.currency,
        deposit=str(offer.deposit),
        ready=offer.ready.isoformat(),
        who=said.by.who,
        link=said.link,
    )
    decisions.say(db, answer, now)
    events.record(
        db, "go-ahead", now, ticket=ticket, by=said.by, revision=revision, way=said.way, total=answer.total
    )
    bench.put(db, ticket, _pieces(visit, offer), offer.ready)
    tickets.change(
        db, ticket, now,
        state=TicketState.SIGNED, total=answer.total, currency=answer.currency, ready=answer.ready,
    )  # fmt: skip


def agreed(visit: QuoteView, offer: Offer, picked: frozenset[str]) -> str:
    """What was agreed, as JSON: the name of the choice, its jobs and sums, and when the bench does them."""
    return json.dumps(
        {
            "name": visit.tier_name(offer),
            "picked": sorted(picked),
            "jobs": [[id, visit.names([id])] for id in offer.jobs],
            "sums": visit.sums(offer),
            "tax": str(offer.tax),
            "bench": [[day.isoformat(), str(hours)] for day, hours in _pieces(visit, offer)],
        },
        ensure_ascii=False,
    )


def _pieces(visit: QuoteView, offer: Offer) -> list[tuple[date, Fraction]]:
    """The offer's bench hours, each piece with the day that was planned for it."""
    booked = booked_by(offer, Bench(visit.book.shop))
    return [(one.not_before, one.hours) for one in booked if one.not_before]


def state(ctx: Context, db: Database, visit: QuoteView, new: TicketState) -> None:
    """Show it on the board, unless the ticket is further already or the revision is an old one."""
    if not visit.newest:
        return
    now = tickets.find(db, visit.ticket.id)
    reached = ANSWERING.index(now.state) if now and now.state in ANSWERING else -1
    forward = ANSWERING.index(new) > reached or (
        new in (TicketState.CHOSEN, TicketState.QUESTION) and now and now.state != TicketState.SIGNED
    )
    if now and now.state in (*ANSWERING, TicketState.STARTED) and forward:
        tickets.change(db, visit.ticket.id, ctx.now(), state=new)
