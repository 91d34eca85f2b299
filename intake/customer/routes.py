"""The customer's addresses: all begin with a link's token, and none needs an account or a cookie."""

from __future__ import annotations

import logging
import re
from datetime import date, datetime

from flask import Blueprint, Response, abort, redirect, request, send_file, url_for
from sqlite_utils import Database

from intake.counter import printing
from intake.counter.desk import Desk, desk
from intake.counter.local import shop_address
from intake.customer import answering, pages
from intake.customer.answering import Problem, Said
from intake.customer.calendar_file import ready_day
from intake.customer.document import pdf_of
from intake.customer.visit import Visit
from intake.store import events, links, photos
from intake.store.links import Link

customer = Blueprint("customer", __name__)
LONGEST_TOKEN = 200
TOKEN = re.compile(r"(/q/)[^/?#\s\"']+")


class _NoTokens(logging.Filter):
    """Flask writes the address of a request that failed into the log; a customer's is a key."""

    def filter(self, record: logging.LogRecord) -> bool:
        if isinstance(record.msg, str):
            record.msg = TOKEN.sub(r"\1…", record.msg)
        return True


_no_tokens = _NoTokens()
customer.record_once(lambda state: state.app.logger.addFilter(_no_tokens))


class Gone(Exception):
    """The link shows nothing (any more); `why` is unknown, withdrawn, expired, revised or agreed."""

    def __init__(self, why: str, visit: Visit | None = None) -> None:
        super().__init__(why)
        self.why, self.visit = why, visit


@customer.errorhandler(Gone)
def gone(error: Gone) -> Response:
    """Kindly, and with the shop's telephone."""
    here = desk()
    shop = here.book.shop
    language = _wanted_language(here, error.visit.language if error.visit else "")
    status = 404 if error.why == "unknown" else 410
    return pages.answer(pages.render("customer/gone.html", language, why=error.why, shop=shop), status)


@customer.get("/q/<token>")
def quote(token: str) -> Response:
    """The quote, the choice and the answer."""
    here = desk()
    with here.store.reading() as db:
        visit, _ = _visit(here, db, token)
        return _page(here, db, visit, token)


@customer.post("/q/<token>/seen")
def seen(token: str) -> Response:
    """A person's browser has the page open; what only fetches links runs no script."""
    here = desk()
    with here.store.writing() as db:
        visit, link = _visit(here, db, token)
        _see(here, db, visit, link)
    return Response(status=204)


@customer.post("/q/<token>/choice")
def choose(token: str) -> Response:
    """A job added or dropped, or a whole offer: price and day follow at once."""
    here = desk()
    with here.store.writing() as db:
        visit, link = _answerable(here, db, token)
        jobs = answering.changed_choice(visit)
        _see(here, db, visit, link)
        answering.choose(here, db, visit, jobs, Said(link=link.id))
        if "HX-Request" in request.headers:
            part = pages.choice(visit, here=_base(token), shop=visit.book.shop)
            return pages.answer(pages.render("customer/_choice.html", visit.language, staff=False, **part))
    return _back(token, visit, "choice")


@customer.post("/q/<token>/question")
def question(token: str) -> Response:
    """A question to the shop."""
    here = desk()
    with here.store.writing() as db:
        visit, link = _visit(here, db, token)
        _see(here, db, visit, link)
        answering.ask(here, db, visit, Said(link=link.id))
    return _back(token, visit, "question")


@customer.post("/q/<token>/yes")
def say_yes(token: str) -> Response:
    """The go-ahead, to what the form showed and nothing else."""
    here = desk()
    with here.store.writing() as db:
        visit, link = _answerable(here, db, token)
        _see(here, db, visit, link)
        problem = answering.agree(here, db, visit, Said(link=link.id))
        if problem:
            answering.choose(here, db, visit, request.form.getlist("jobs"), Said(link=link.id))
            return _page(here, db, visit, token, problem)
    return _back(token, visit, "answer")


@customer.post("/q/<token>/no")
def say_no(token: str) -> Response:
    """A no, with a reason if the customer likes."""
    here = desk()
    with here.store.writing() as db:
        visit, link = _answerable(here, db, token)
        _see(here, db, visit, link)
        answering.refuse(here, db, visit, Said(link=link.id))
    return _back(token, visit, "answer")


@customer.get("/q/<token>/ready.ics")
def ready(token: str) -> Response:
    """The day on which the instrument is ready, for a calendar."""
    here = desk()
    with here.store.reading() as db:
        visit, _ = _visit(here, db, token)
    yes, say, shop = visit.go_ahead, visit.formats.say, visit.book.shop
    if yes is None:
        raise Gone("unknown", visit)
    content = ready_day(
        uid=f"ready-{visit.ticket.id}",
        day=date.fromisoformat(yes.ready),
        made=datetime.fromisoformat(yes.at),
        sequence=yes.revision,
        summary=say("{shop}: your instrument is ready").format(shop=shop.name),
        place=", ".join((shop.name, *shop.address)),
        note=say("Ticket {number}. Please call before you come: {phone}").format(
            number=visit.ticket.number, phone=shop.phone
        ),
    )
    answer = pages.answer("")
    answer.set_data(content)
    answer.mimetype = "text/calendar"
    answer.headers["Content-Disposition"] = f'attachment; filename="ready-{visit.ticket.number}.ics"'
    return answer


@customer.get("/q/<token>/quote.pdf")
def pdf(token: str) -> Response:
    """The kept PDF, as a file."""
    here = desk()
    with here.store.reading() as db:
        visit, _ = _visit(here, db, token)
        content = pdf_of(visit, shop_address())
    answer = pages.answer("")
    answer.set_data(content)
    answer.mimetype = "application/pdf"
    answer.headers["Content-Disposition"] = f'attachment; filename="quote-{visit.number}.pdf"'
    return answer


@customer.get("/q/<token>/photos/<sha256>.jpg")
def photo(token: str, sha256: str) -> Response:
    """A photo of this ticket."""
    here = desk()
    with here.store.reading() as db:
        visit, _ = _visit(here, db, token)
        if sha256 not in {photo.sha256 for photo in photos.of_ticket(db, visit.ticket.id)}:
            raise Gone("unknown", visit)
    file = here.store.photos / f"{sha256}.jpg"
    if not file.is_file():
        abort(404)
    answer = send_file(file, mimetype="image/jpeg")
    answer.headers["Cache-Control"] = "no-store, private"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return answer


def _visit(here: Desk, db: Database, token: str) -> tuple[Visit, Link]:
    """The quote that the link shows. Raises Gone."""
    link = links.find(db, token) if len(token) <= LONGEST_TOKEN else None
    if link is None:
        raise Gone("unknown")
    visit = Visit.of(here, db, link.ticket, link.revision, _wanted_language(here, link.language))
    if visit is None:
        raise Gone("unknown")
    if link.withdrawn:
        raise Gone("withdrawn", visit)
    if not link.lives(here.today) and visit.go_ahead is None:
        raise Gone("expired", visit)
    return visit, link


def _answerable(here: Desk, db: Database, token: str) -> tuple[Visit, Link]:
    """The same, where an answer is still open. Raises Gone."""
    visit, link = _visit(here, db, token)
    if not visit.newest:
        raise Gone("revised", visit)
    if visit.go_ahead is not None:
        raise Gone("agreed", visit)
    return visit, link


def _see(here: Desk, db: Database, visit: Visit, link: Link) -> None:
    if links.see(db, link.id, here.now()):
        events.record(db, "quote seen", here.now(), ticket=link.ticket, revision=link.revision)
        answering.state(here, db, visit, "seen")


def _page(here: Desk, db: Database, visit: Visit, token: str, problem: Problem | None = None) -> Response:
    taken = photos.of_ticket(db, visit.ticket.id)[: printing.MOST_PHOTOS]
    said = problem.sentence if problem else ""
    context = pages.whole(visit, _base(token), taken, problem=said, typed=request.form, staff=False)
    return pages.answer(
        pages.render("customer/quote.html", visit.language, **context), problem.status if problem else 200
    )


def _base(token: str) -> str:
    return url_for("customer.quote", token=token)


def _back(token: str, visit: Visit, place: str) -> Response:
    """To the page again, in its language; 303, so that a reload sends nothing twice."""
    lang = request.values.get("lang", "")
    again = url_for("customer.quote", token=token, lang=lang or None, _anchor=place)
    answer: Response = pages.answer("", 303)
    answer.headers["Location"] = redirect(again).headers["Location"]
    return answer


def _wanted_language(here: Desk, usual: str) -> str:
    """As asked for in the address or form, else the link's, else what the browser likes."""
    known = here.book.shop.languages
    asked = request.values.get("lang", "")
    if asked in known:
        return asked
    if usual in known:
        return usual
    return request.accept_languages.best_match(known) or known[0]
