"""Freezing a quote, and showing what was frozen."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from uuid import UUID

from flask import Response, abort, make_response, redirect, render_template, request, url_for
from sqlite_utils import Database

from intake import __version__
from intake.counter import printing
from intake.counter.blueprint import counter
from intake.counter.changes import since
from intake.counter.desk import Desk, desk
from intake.counter.discount_limit import discount_as_kept
from intake.counter.erased import refuse_erased
from intake.counter.frozen import freeze, thaw
from intake.counter.heard import heard
from intake.counter.local import shop_address
from intake.counter.once import answered_once
from intake.counter.reads import choices, language_of
from intake.counter.sheet import Sheet
from intake.counter.summary import Summary
from intake.counter.walkin import as_json
from intake.counter.who import note, visitor
from intake.counter.wizard import wizard_page
from intake.counter.words import _
from intake.quoting.model import Discount
from intake.quoting.to_json import quote_json
from intake.store import quotes, tickets
from intake.store.files import write_durably
from intake.store.quotes import FrozenQuote
from intake.store.times import stamp


@dataclass(frozen=True)
class Draft:
    """A quote ready to be kept, printed before the store is locked."""

    walkin: str
    summary: Summary
    revision: int
    pdf: bytes
    staff: str


@counter.post("/tickets/<uuid:ticket>/quotes")
def freeze_quote(ticket: UUID) -> Response:
    """Freeze the quote as it stands; an unchanged ticket keeps its revision while that is valid."""
    here, id = desk(), str(ticket)
    with here.store.reading() as db:
        refuse_erased(db, id)
        sheet = Sheet.of(here, db, id)
        found, last = tickets.find(db, id), quotes.latest(db, id)
        if found is None or sheet.summary is None or sheet.problems or sheet.discount_problem:
            return make_response(wizard_page(here, db, id, sheet, at="quote"), 422)
    walkin = as_json(sheet.walkin)
    if last and _still_holds(here, last, walkin, sheet.discount):
        return answered_once(lambda db: _to_quote(id, last.revision))
    revision = last.revision + 1 if last else 1
    price = sheet.summary
    staff = visitor().by.who
    job = printing.job_of(here, price.book, price.quote, sheet.walkin, found, revision, _address(id), staff)
    draft = Draft(walkin, price, revision, printing.first_pdf(job), staff)
    return answered_once(lambda db: _keep(here, db, id, draft))


@counter.get("/tickets/<uuid:ticket>/quotes/<int:revision>")
def quote(ticket: UUID, revision: int) -> str:
    """A frozen quote as a page."""
    here = desk()
    frozen = quotes.find(here.store.db, str(ticket), revision) or abort(404)
    found = tickets.find(here.store.db, str(ticket)) or abort(404)
    last = quotes.latest(here.store.db, str(ticket))
    summary = Summary(here.book_of(frozen.book_digest), thaw(frozen.exact))
    changed = since(here.store.db, str(ticket), revision - 1, summary.quote, summary.book)
    return render_template(
        "counter/quote.html",
        book=summary.book,
        ticket=found,
        ticket_id=str(ticket),
        frozen=frozen,
        revision=revision,
        newest=last is None or last.revision == revision,
        changed=changed,
        heard=heard(here.store.db, str(ticket)),
        languages=choices(here.book.shop),
        reads=language_of(found, here.book.shop),
        paper=printing.first_paper(summary.book.shop),
        **summary.context(),
    )


@counter.get("/tickets/<uuid:ticket>/quotes/<int:revision>.pdf")
def quote_pdf(ticket: UUID, revision: int) -> Response:
    """The PDF that was kept, or the same quote on the other size of paper and in the customer's language."""
    here = desk()
    frozen = quotes.find(here.store.db, str(ticket), revision) or abort(404)
    found = tickets.find(here.store.db, str(ticket)) or abort(404)
    paper = request.args.get("paper", "")
    if paper not in ("", *printing.PAPERS):
        abort(400, _("The paper is letter or a4."))
    language = request.args.get("lang", "") or found.language
    known = language if language in here.book_of(frozen.book_digest).shop.languages else ""
    content = printing.stored_pdf(here, frozen, found, paper, _address(str(ticket)), known)
    name = f"quote-{found.number}-{revision}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "private, no-cache"}
    return Response(content, mimetype="application/pdf", headers=headers)


def _still_holds(here: Desk, frozen: FrozenQuote, walkin: str, discount: Discount | None) -> bool:
    """The same words, the same book, the same discount, and not past its day."""
    if (frozen.walkin, frozen.book_digest) != (walkin, here.book.digest):
        return False
    quote = thaw(frozen.exact)
    same = discount_as_kept(discount, quote.discount) == quote.discount
    return same and here.today <= quote.valid_until


def _keep(here: Desk, db: Database, ticket: str, draft: Draft) -> Response:
    """Write the revision. Another request may have been quicker: its revision then stands for this one
    too, or the ticket has changed and nothing is kept (409)."""
    last = quotes.latest(db, ticket)
    if last and _still_holds(here, last, draft.walkin, draft.summary.quote.discount):
        return _to_quote(ticket, last.revision)
    newest = last.revision + 1 if last else 1
    sheet = Sheet.of(here, db, ticket)
    same = as_json(sheet.walkin) == draft.walkin and sheet.discount == draft.summary.quote.discount
    if not same or newest != draft.revision:
        abort(409, _("The ticket changed while the quote was being written. Look at it and try again."))
    found = tickets.find(db, ticket)
    assert found is not None
    sha256 = hashlib.sha256(draft.pdf).hexdigest()
    file = f"{found.number}-{draft.revision}-{sha256[:12]}.pdf"
    write_durably(here.store.quotes / file, draft.pdf)
    now, made = here.now(), draft.summary.quote
    kept = FrozenQuote(
        ticket=ticket,
        revision=draft.revision,
        made_at=stamp(now),
        book_digest=made.book_digest,
        app_version=__version__,
        walkin=draft.walkin,
        quote=json.dumps(quote_json(made), ensure_ascii=False),
        exact=freeze(made),
        pdf_sha256=sha256,
        pdf_file=file,
        staff=draft.staff,
    )
    quotes.keep(db, kept)
    tickets.change(db, ticket, now, state="quoted", **draft.summary.board_price())
    note(db, "quote frozen", ticket=ticket, revision=draft.revision)
    return _to_quote(ticket, draft.revision)


def _to_quote(ticket: str, revision: int) -> Response:
    return make_response(redirect(url_for("counter.quote", ticket=ticket, revision=revision), 303))


def _address(ticket: str) -> str:
    return shop_address() + url_for("counter.wizard", ticket=ticket)
