"""The customer's addresses: all begin with a link's token, and none needs an account or a cookie."""

from __future__ import annotations

import logging
import re
from datetime import date, datetime

from flask import Response, abort, request, send_file, url_for
from sqlite_utils import Database

from intake.screens.portal.blueprint import blueprint
from intake.services import decisions, documents, quote_page
from intake.services.calendar_file import ready_day
from intake.services.context import Context
from intake.services.decisions import Problem, Said
from intake.services.quote_pdf import pdf_of
from intake.services.quote_view import QuoteView
from intake.store import events, links, photos
from intake.store.links import Link
from intake.store.ticket_state import TicketState
from intake.web import private_pages
from intake.web.answer_forms import ChoiceForm, NoForm, QuestionForm, YesForm
from intake.web.context import current_context
from intake.web.forms import ReaderForm
from intake.web.origin import fixed_address

LONGEST_TOKEN = 200
TOKEN = re.compile(r"(/q/)[^/?#\s\"']+")


class _NoTokens(logging.Filter):
    """Flask writes the address of a request that failed into the log; a customer's is a key."""

    def filter(self, record: logging.LogRecord) -> bool:
        if isinstance(record.msg, str):
            record.msg = TOKEN.sub(r"\1…", record.msg)
        return True


_no_tokens = _NoTokens()
blueprint.record_once(lambda state: state.app.logger.addFilter(_no_tokens))


class GoneError(Exception):
    """The link shows nothing (any more); `why` is unknown, withdrawn, expired, revised or agreed."""

    def __init__(self, why: str, visit: QuoteView | None = None) -> None:
        super().__init__(why)
        self.why, self.visit = why, visit


@blueprint.errorhandler(GoneError)
def gone(error: GoneError) -> Response:
    """Kindly, and with the shop's telephone."""
    ctx = current_context()
    shop = ctx.book.shop
    language = _wanted_language(ctx, error.visit.language if error.visit else "")
    status = 404 if error.why == "unknown" else 410
    return private_pages.answer(
        private_pages.render("portal/gone.html", language, why=error.why, shop=shop), status
    )


@blueprint.get("/q/<token>")
def quote(token: str) -> Response:
    """The quote, the choice and the answer."""
    ctx = current_context()
    with ctx.store.reading() as db:
        visit, _ = _visit(ctx, db, token)
        return _page(ctx, db, visit, token, YesForm())


@blueprint.post("/q/<token>/seen")
def seen(token: str) -> Response:
    """A person's browser has the page open; what only fetches links runs no script."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit, link = _visit(ctx, db, token)
        _see(ctx, db, visit, link)
    return Response(status=204)


@blueprint.post("/q/<token>/choice")
def choose(token: str) -> Response:
    """A job added or dropped, or a whole offer: price and day follow at once."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit, link = _answerable(ctx, db, token)
        jobs = decisions.changed_choice(visit, ChoiceForm.posted().choice())
        _see(ctx, db, visit, link)
        decisions.choose(ctx, db, visit, jobs, Said(link=link.id))
        if "HX-Request" in request.headers:
            part = quote_page.choice(visit, here=_base(token), shop=visit.book.shop, form=YesForm())
            return private_pages.answer(
                private_pages.render("shared/_choice.html", visit.language, staff=False, **part)
            )
    return _back(token, visit, "choice")


@blueprint.post("/q/<token>/question")
def question(token: str) -> Response:
    """A question to the shop."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit, link = _visit(ctx, db, token)
        _see(ctx, db, visit, link)
        form = QuestionForm.posted()
        decisions.ask(ctx, db, visit, Said(link=link.id), form.question.data or "", form.name.data or "")
    return _back(token, visit, "question")


@blueprint.post("/q/<token>/yes")
def say_yes(token: str) -> Response:
    """The go-ahead, to what the form showed and nothing else."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit, link = _answerable(ctx, db, token)
        _see(ctx, db, visit, link)
        form = YesForm.posted()
        problem = decisions.agree(ctx, db, visit, Said(link=link.id), form.yes())
        if problem:
            decisions.choose(ctx, db, visit, form.yes().picked, Said(link=link.id))
            return _page(ctx, db, visit, token, form.told(problem), problem)
    return _back(token, visit, "answer")


@blueprint.post("/q/<token>/no")
def say_no(token: str) -> Response:
    """A no, with a reason if the customer likes."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit, link = _answerable(ctx, db, token)
        _see(ctx, db, visit, link)
        form = NoForm.posted()
        decisions.refuse(ctx, db, visit, Said(link=link.id), form.reason.data or "", form.name.data or "")
    return _back(token, visit, "answer")


@blueprint.get("/q/<token>/ready.ics")
def ready(token: str) -> Response:
    """The day on which the instrument is ready, for a calendar."""
    ctx = current_context()
    with ctx.store.reading() as db:
        visit, _ = _visit(ctx, db, token)
    yes, gettext, shop = visit.go_ahead, visit.formats.gettext, visit.book.shop
    if yes is None:
        raise GoneError("unknown", visit)
    content = ready_day(
        uid=f"ready-{visit.ticket.id}",
        day=date.fromisoformat(yes.ready),
        made=datetime.fromisoformat(yes.at),
        sequence=yes.revision,
        summary=gettext("{shop}: your instrument is ready", shop=shop.name),
        place=", ".join((shop.name, *shop.address)),
        note=gettext(
            "Ticket {number}. Please call before you come: {phone}",
            number=visit.ticket.number,
            phone=shop.phone,
        ),
    )
    answer = private_pages.answer("")
    answer.set_data(content)
    answer.mimetype = "text/calendar"
    answer.headers["Content-Disposition"] = f'attachment; filename="ready-{visit.ticket.number}.ics"'
    return answer


@blueprint.get("/q/<token>/quote.pdf")
def pdf(token: str) -> Response:
    """The kept PDF, as a file."""
    ctx = current_context()
    with ctx.store.reading() as db:
        visit, _ = _visit(ctx, db, token)
    content = pdf_of(visit, fixed_address())
    answer = private_pages.answer("")
    answer.set_data(content)
    answer.mimetype = "application/pdf"
    answer.headers["Content-Disposition"] = f'attachment; filename="quote-{visit.number}.pdf"'
    return answer


@blueprint.get("/q/<token>/photos/<sha256>.jpg")
def photo(token: str, sha256: str) -> Response:
    """A photo of this ticket."""
    ctx = current_context()
    with ctx.store.reading() as db:
        visit, _ = _visit(ctx, db, token)
        if sha256 not in {photo.sha256 for photo in photos.shown(db, visit.ticket.id)}:
            raise GoneError("unknown", visit)
    file = ctx.store.photos / f"{sha256}.jpg"
    if not file.is_file():
        abort(404)
    answer = send_file(file, mimetype="image/jpeg")
    answer.headers["Cache-Control"] = "no-store, private"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return answer


def _visit(ctx: Context, db: Database, token: str) -> tuple[QuoteView, Link]:
    """The quote that the link shows. Raises Gone."""
    link = links.find(db, token) if len(token) <= LONGEST_TOKEN else None
    if link is None:
        raise GoneError("unknown")
    visit = QuoteView.of(ctx, db, link.ticket, link.revision, _wanted_language(ctx, link.language))
    if visit is None:
        raise GoneError("unknown")
    if link.withdrawn:
        raise GoneError("withdrawn", visit)
    if not link.lives(ctx.today) and visit.go_ahead is None:
        raise GoneError("expired", visit)
    return visit, link


def _answerable(ctx: Context, db: Database, token: str) -> tuple[QuoteView, Link]:
    """The same, where an answer is still open. Raises Gone."""
    visit, link = _visit(ctx, db, token)
    if not visit.newest:
        raise GoneError("revised", visit)
    if visit.go_ahead is not None:
        raise GoneError("agreed", visit)
    return visit, link


def _see(ctx: Context, db: Database, visit: QuoteView, link: Link) -> None:
    if links.see(db, link.id, ctx.now()):
        events.record(db, "quote seen", ctx.now(), ticket=link.ticket, revision=link.revision)
        decisions.state(ctx, db, visit, TicketState.SEEN)


def _page(
    ctx: Context, db: Database, visit: QuoteView, token: str, form: YesForm, problem: Problem | None = None
) -> Response:
    taken = photos.shown(db, visit.ticket.id)[: documents.MOST_PHOTOS]
    said = problem.sentence if problem and not problem.field else ""
    context = quote_page.whole(visit, _base(token), taken, problem=said, form=form, staff=False)
    return private_pages.answer(
        private_pages.render("portal/quote.html", visit.language, **context),
        problem.status if problem else 200,
    )


def _base(token: str) -> str:
    return url_for("portal.quote", token=token)


def _back(token: str, visit: QuoteView, place: str) -> Response:
    """To the page again, in its language; 303, so that a reload sends nothing twice."""
    lang = ReaderForm.wanted()
    again = url_for("portal.quote", token=token, lang=lang or None, _anchor=place)
    return private_pages.see_other(again)


def _wanted_language(ctx: Context, usual: str) -> str:
    """As asked for in the address or form, else the link's, else what the browser likes."""
    known = ctx.book.shop.languages
    asked = ReaderForm.wanted()
    if asked in known:
        return asked
    if usual in known:
        return usual
    return request.accept_languages.best_match(known) or known[0]
