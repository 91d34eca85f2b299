"""What a customer says, checked and written down: choosing, a question, a yes, a no."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Protocol

from sqlite_utils import Database

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


class Form(Protocol):
    """What was posted: one value of a name, or all of them."""

    def get(self, key: str, default: str, /) -> str: ...

    def getlist(self, key: str, /) -> list[str]: ...


@dataclass(frozen=True)
class Said:
    """How an answer came, and which member of staff took it, if one did."""

    way: str = "link"
    by: By = NOBODY
    link: int = 0


def changed_choice(visit: QuoteView, form: Form) -> frozenset[str]:
    """What the form's button makes of the choice that the form showed. Raises InvalidRequestError for
    unknown jobs."""
    picked = frozenset(form.getlist("jobs"))
    offer, added, dropped = (form.get(name, "") for name in ("offer", "add", "drop"))
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


def ask(ctx: Context, db: Database, visit: QuoteView, said: Said, form: Form) -> bool:
    """Keep a question to the shop; false if it is empty or one too many."""
    words, name = _words(form, "question"), _line(form, "name")
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


def refuse(ctx: Context, db: Database, visit: QuoteView, said: Said, form: Form) -> None:
    """A no, with its reason if one was given; said again and again it is kept once, and has an end."""
    ticket, now, words = visit.ticket.id, ctx.now(), _words(form, "reason")
    if not decisions.may_say(db, ticket, "refused", words, now):
        return
    answer = Answer(
        ticket,
        visit.frozen.revision,
        "refused",
        said.way,
        name=_line(form, "name"),
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
    """Why a yes was not kept: 422 for something missing in the form, 409 for something that has changed."""

    sentence: str
    status: int = 422


def agree(ctx: Context, db: Database, visit: QuoteView, said: Said, form: Form) -> Problem | None:
    """A yes to exactly what the form showed: quote, sum and ready day; None when it stands.

    Raises ConflictError when the quote or the sum on the form is no longer that of the store.
    """
    _ = visit.formats.gettext
    picked = frozenset(form.getlist("jobs"))
    if not picked <= set(visit.menu.jobs):
        raise InvalidRequestError
    offer = visit.menu.select(picked).offer
    if (form.get("quote", ""), form.get("total", "")) != (visit.sha256, str(offer.total)):
        raise ConflictError(_("The quote changed while you were reading. Please look at it once more."))
    name, drawn = _line(form, "name"), signature.read(form.get("drawn", ""))
    if visit.ticket.state == TicketState.COLLECTED:
        return Problem(_("The instrument was handed back. Please call, and bring it in again."), 409)
    if not offer.jobs:
        return Problem(_("Choose at least one job, or say no below."))
    if _too_much_off(db, visit):
        words = _("The discount on this quote is more than may be given; the shop makes a new one.")
        return Problem(words, 409)
    if _later_than_shown(form, offer.first_day):
        day = visit.formats.day(offer.first_day)
        return Problem(_("The ready day has moved to {day}. Please look at it once more.", day=day), 409)
    if not name:
        return Problem(_("Please write your name."))
    if not (form.get("agreed", "") or drawn):
        return Problem(_("Please tick the box, or sign with a finger."))
    words = _words(form, "note")
    if said.way == "telephone" and not words:
        return Problem(_("Please note who said what on the telephone."))
    _keep_yes(ctx, db, visit, said, visit.menu.planned_now(picked), picked, name, drawn, words)
    return None


def _later_than_shown(form: Form, ready: date) -> bool:
    """The form showed an earlier day, or none. An emptier bench may bring a day forward."""
    try:
        return ready > date.fromisoformat(form.get("ready", ""))
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
    ctx: Context,
    db: Database,
    visit: QuoteView,
    said: Said,
    offer: Offer,
    picked: frozenset[str],
    name: str,
    drawn: str,
    words: str,
) -> None:
    ticket, revision, now = visit.ticket.id, visit.frozen.revision, ctx.now()
    yes = Answer(
        ticket,
        revision,
        "goahead",
        said.way,
        name=name,
        words=words,
        signature=drawn or "typed",
        quote_sha256=visit.sha256,
        jobs=json.dumps(list(offer.jobs)),
        offer=agreed(visit, offer, picked),
        total=str(offer.total),
        currency=visit.quote.currency,
        deposit=str(offer.deposit),
        ready=offer.ready.isoformat(),
        who=said.by.who,
        link=said.link,
    )
    decisions.say(db, yes, now)
    events.record(
        db, "go-ahead", now, ticket=ticket, by=said.by, revision=revision, way=said.way, total=yes.total
    )
    bench.put(db, ticket, _pieces(visit, offer), offer.ready)
    tickets.change(
        db, ticket, now, state=TicketState.SIGNED, total=yes.total, currency=yes.currency, ready=yes.ready
    )


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


def _words(form: Form, name: str) -> str:
    return form.get(name, "").replace("\r\n", "\n").strip()[:LONGEST]


def _line(form: Form, name: str) -> str:
    return " ".join(form.get(name, "").split())[:LONGEST_NAME]
