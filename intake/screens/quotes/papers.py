"""What staff print of a ticket besides the quote: the bench sheet, the tag, the receipt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, cast
from uuid import UUID

from flask import Response, abort, request, url_for
from sqlite_utils import Database

from intake.book.model import TIERS, Shop, Tier
from intake.i18n import _, current_language
from intake.paper import SIZES, DocumentOptions, bench_html, receipt_html, tag_html
from intake.quoting.model import Offer, Walkin
from intake.quoting.phrases import phrase
from intake.quoting.selection import Menu
from intake.screens.quotes.blueprint import blueprint
from intake.screens.quotes.forms import LanguageForm
from intake.services import documents
from intake.services.commitments import bookings
from intake.services.context import Context, on_the_wall
from intake.services.languages import choices, language_of
from intake.services.quote_view import QuoteView
from intake.services.walkins import walkin_from
from intake.store import edits, events, quotes, tickets
from intake.store.decisions import Answer
from intake.store.tickets import Ticket
from intake.web import private_pages
from intake.web.context import current_context
from intake.web.identity import current_identity, note
from intake.web.numbers import whole_number
from intake.web.origin import ticket_address


@dataclass(frozen=True)
class Taken:
    """A ticket as it stands just now."""

    ticket: Ticket
    walkin: Walkin
    day: date


@blueprint.get("/tickets/<uuid:ticket>/papers")
def papers(ticket: UUID) -> Response:
    """Every document of the ticket, and the language that its customer reads."""
    ctx = current_context()
    with ctx.store.reading() as db:
        taken = _taken(ctx, db, ticket)
        last = quotes.latest(db, taken.ticket.id)
        visit = QuoteView.of(ctx, db, taken.ticket.id, last.revision, current_language()) if last else None
        page = private_pages.render("quotes/papers.html", current_language(), **_context(ctx, taken, visit))
    return private_pages.answer(page)


@blueprint.post("/tickets/<uuid:ticket>/language")
def choose_language(ticket: UUID) -> Response:
    """What the customer's page, mail, quote, receipt and calendar entry are written in."""
    ctx, id = current_context(), str(ticket)
    form = LanguageForm.posted()
    language = form.language.data or ""
    if language not in ctx.book.shop.languages:
        abort(400, _("This shop writes to its customers in other languages."))
    with ctx.store.writing() as db:
        found = tickets.find(db, id) or abort(404)
        remember_language(ctx, db, found, language)
    revision = whole_number(form.revision.data)
    place = (
        url_for("quotes.quote", ticket=id, revision=revision)
        if revision
        else url_for("quotes.papers", ticket=id)
    )
    return private_pages.see_other(place)


def remember_language(ctx: Context, db: Database, ticket: Ticket, language: str) -> None:
    """Keep what the customer reads; nothing is written where that stands already."""
    if ticket.language != language:
        tickets.change(db, ticket.id, ctx.now(), language=language)
        note(db, "language chosen", ticket=ticket.id, language=language)


@blueprint.get("/tickets/<uuid:ticket>/quotes/<int:revision>/bench.pdf")
def bench_sheet(ticket: UUID, revision: int) -> Response:
    """What was agreed, in order; before a yes, the offer that is asked for."""
    ctx = current_context()
    asked = request.args.get("offer", "")
    if asked not in ("", *TIERS):
        abort(400, _("There is no such offer."))
    with ctx.store.reading() as db:
        language = ctx.book.shop.languages[0]
        visit = QuoteView.of(ctx, db, str(ticket), revision, language) or abort(404)
        yes = visit.go_ahead
        offer = agreed_offer(visit, yes) if yes and not asked else None
        options = replace(
            _options(visit.ticket, visit.frozen.staff, language),
            paper=_paper(visit.book.shop),
            revision=revision,
        )
        html = bench_html(
            visit.quote, visit.book, visit.walkin, options, tier=cast(Tier, asked or "put_right"), offer=offer
        )
    what = f"bench-{revision}-{asked or ('agreed' if yes else 'put_right')}-{_paper(visit.book.shop)}"
    return _pdf(ctx, visit.ticket, what, html, f"bench-{visit.number}")


def agreed_offer(visit: QuoteView, yes: Answer) -> Offer:
    """The choice that was agreed, planned as on the day of the yes and ready on the day then promised.

    What later customers were promised lies in the gaps that this work left, so it moves nothing here.
    """
    moment = on_the_wall(datetime.fromisoformat(yes.at))
    booked = bookings(visit.db, visit.ticket.id, visit.book, moment)
    menu = Menu(visit.quote, visit.book, moment.date(), booked)
    offer = menu.planned_now(frozenset(yes.job_ids) & set(menu.jobs))
    return replace(offer, ready=date.fromisoformat(yes.ready))


@blueprint.get("/tickets/<uuid:ticket>/tag.pdf")
def tag(ticket: UUID) -> Response:
    """The tag, on a label or on a sheet to cut."""
    ctx = current_context()
    with ctx.store.reading() as db:
        taken = _taken(ctx, db, ticket)
    size = request.args.get("size", SIZES[0])
    if size not in SIZES:
        abort(400, _("There is no label of that size."))
    options = _options(taken.ticket, "", ctx.book.shop.languages[0])
    html = tag_html(ctx.book, taken.walkin, taken.day, options, size)
    return _pdf(ctx, taken.ticket, f"tag-{size}", html, f"tag-{taken.ticket.number}")


@blueprint.get("/tickets/<uuid:ticket>/receipt.pdf")
def receipt(ticket: UUID) -> Response:
    """What was handed in, in the customer's language."""
    ctx = current_context()
    with ctx.store.reading() as db:
        taken = _taken(ctx, db, ticket)
        shop, id = ctx.book.shop, taken.ticket.id
        options = replace(
            _options(taken.ticket, _who_took_it(db, id), language_of(taken.ticket, shop)),
            paper=_paper(shop),
            photos=documents.photographs(ctx, id),
        )
        html = receipt_html(ctx.book, taken.walkin, taken.day, options)
    return _pdf(ctx, taken.ticket, f"receipt-{_paper(shop)}", html, f"receipt-{taken.ticket.number}")


def _taken(ctx: Context, db: Database, ticket: UUID) -> Taken:
    found = tickets.find(db, str(ticket)) or abort(404)
    walkin = walkin_from(ctx.book, edits.standing(db, found.id).values())
    return Taken(found, walkin, datetime.fromisoformat(found.created).astimezone().date())


def _options(ticket: Ticket, staff: str, language: str) -> DocumentOptions:
    return DocumentOptions(str(ticket.number), ticket_address(ticket.id), staff, language=language)


def _who_took_it(db: Database, ticket: str) -> str:
    """Who made the ticket's first entry; whoever prints, where nobody was signed in then."""
    first = next((event["who"] for event in events.of_ticket(db, ticket) if event["who"]), "")
    return str(first or current_identity().by.who)


def _paper(shop: Shop) -> str:
    asked = request.args.get("paper", "") or documents.first_paper(shop)
    if asked not in documents.PAPERS:
        abort(400, _("The paper is letter or a4."))
    return asked


def _pdf(ctx: Context, ticket: Ticket, what: str, html: str, name: str) -> Response:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"', "Cache-Control": "private, no-cache"}
    return Response(documents.printed(ctx, ticket, what, html), mimetype="application/pdf", headers=headers)


def _context(ctx: Context, taken: Taken, visit: QuoteView | None) -> dict[str, Any]:
    shop, person = ctx.book.shop, current_identity().person
    yes = visit.go_ahead if visit else None
    usual = documents.first_paper(shop)
    return {
        "ticket": taken.ticket,
        "here": url_for("wizard.wizard", ticket=taken.ticket.id),
        "quote": visit and url_for(
            "quotes.quote", ticket=taken.ticket.id, revision=visit.frozen.revision
        ),
        "revision": visit.frozen.revision if visit else 0,
        "offers": _offers(visit) if visit and not yes else (),
        "agreed": yes is not None,
        "owner": bool(person and person.role == "owner"),
        "papers": sorted(documents.PAPERS, key=lambda paper: paper != usual),
        "sizes": SIZES,
        "reads": language_of(taken.ticket, shop),
        "languages": choices(shop),
    }  # fmt: skip


def _offers(visit: QuoteView) -> Sequence[tuple[str, str]]:
    """Tier and name of each offer with work in it, what the shop would do first."""
    shown = [
        ("put_right" if "put_right" in tiers else tiers[-1])
        for offer, tiers in visit.quote.distinct_offers()
        if offer.jobs
    ]
    return [
        (tier, phrase(tier).in_(current_language()))
        for tier in sorted(shown, key=lambda one: one != "put_right")
    ]
