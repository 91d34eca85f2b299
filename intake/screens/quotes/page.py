"""A frozen quote as a page, and the PDF that was kept of it."""

from __future__ import annotations

from uuid import UUID

from flask import Response, abort, render_template, request

from intake.i18n import _
from intake.quoting.serialise import loads
from intake.screens.quotes.blueprint import blueprint
from intake.services import documents
from intake.services.estimates import Estimate
from intake.services.languages import choices, language_of
from intake.services.responses import responses_of
from intake.services.revision_diff import since
from intake.store import quotes, tickets
from intake.web.context import current_context
from intake.web.origin import ticket_address


@blueprint.get("/tickets/<uuid:ticket>/quotes/<int:revision>")
def quote(ticket: UUID, revision: int) -> str:
    """A frozen quote as a page."""
    ctx = current_context()
    frozen = quotes.find(ctx.store.db, str(ticket), revision) or abort(404)
    found = tickets.find(ctx.store.db, str(ticket)) or abort(404)
    last = quotes.latest(ctx.store.db, str(ticket))
    summary = Estimate(ctx.book_of(frozen.book_digest), loads(frozen.exact))
    changed = since(ctx.store.db, str(ticket), revision - 1, summary.quote, summary.book)
    return render_template(
        "quotes/quote.html",
        book=summary.book,
        ticket=found,
        ticket_id=str(ticket),
        frozen=frozen,
        revision=revision,
        newest=last is None or last.revision == revision,
        changed=changed,
        heard=responses_of(ctx.store.db, str(ticket)),
        languages=choices(ctx.book.shop),
        reads=language_of(found, ctx.book.shop),
        paper=documents.first_paper(summary.book.shop),
        **summary.context(),
    )


@blueprint.get("/tickets/<uuid:ticket>/quotes/<int:revision>.pdf")
def quote_pdf(ticket: UUID, revision: int) -> Response:
    """The PDF that was kept, or the same quote on the other size of paper and in the customer's language."""
    ctx = current_context()
    frozen = quotes.find(ctx.store.db, str(ticket), revision) or abort(404)
    found = tickets.find(ctx.store.db, str(ticket)) or abort(404)
    paper = request.args.get("paper", "")
    if paper not in ("", *documents.PAPERS):
        abort(400, _("The paper is letter or a4."))
    language = request.args.get("lang", "") or found.language
    known = language if language in ctx.book_of(frozen.book_digest).shop.languages else ""
    content = documents.stored_pdf(ctx, frozen, found, paper, ticket_address(str(ticket)), known)
    name = f"quote-{found.number}-{revision}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "private, no-cache"}
    return Response(content, mimetype="application/pdf", headers=headers)
