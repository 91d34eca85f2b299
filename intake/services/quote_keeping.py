"""Keeping a quote: the document, the row, and what the board says of it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass

from sqlite_utils import Database

from intake import __version__
from intake.i18n import _
from intake.quoting.model import Discount
from intake.quoting.serialise import dumps, loads
from intake.quoting.to_json import quote_json
from intake.services.context import Context
from intake.services.discount_limit import discount_as_kept
from intake.services.errors import ConflictError
from intake.services.estimates import Estimate
from intake.services.ready_days import keep_plan
from intake.services.ticket_view import TicketView
from intake.services.walkins import as_json
from intake.store import events, quotes, tickets
from intake.store.events import By
from intake.store.files import write_durably
from intake.store.quotes import FrozenQuote
from intake.store.ticket_state import TicketState
from intake.store.timestamps import stamp


@dataclass(frozen=True)
class Draft:
    """A quote ready to be kept, printed before the store is locked."""

    walkin: str
    summary: Estimate
    revision: int
    pdf: bytes
    by: By


def still_holds(ctx: Context, frozen: FrozenQuote, walkin: str, discount: Discount | None) -> bool:
    """The same words, the same book, the same discount, and not past its day."""
    if (frozen.walkin, frozen.book_digest) != (walkin, ctx.book.digest):
        return False
    quote = loads(frozen.exact)
    same = discount_as_kept(discount, quote.discount) == quote.discount
    return same and ctx.today <= quote.valid_until


def keep(ctx: Context, db: Database, ticket: str, draft: Draft) -> int:
    """Write the revision; its number. Another request may have been quicker: its revision then stands for
    this one too. Raises ConflictError where the ticket has changed; then nothing is kept."""
    last = quotes.latest(db, ticket)
    if last and still_holds(ctx, last, draft.walkin, draft.summary.quote.discount):
        return last.revision
    newest = last.revision + 1 if last else 1
    sheet = TicketView.of(ctx, db, ticket)
    same = as_json(sheet.walkin) == draft.walkin and sheet.discount == draft.summary.quote.discount
    if not same or sheet.clashes or newest != draft.revision:
        raise ConflictError(
            _("The ticket changed while the quote was being written. Look at it and try again.")
        )
    found = tickets.find(db, ticket)
    assert found is not None
    sha256 = hashlib.sha256(draft.pdf).hexdigest()
    file = f"{found.number}-{draft.revision}-{sha256[:12]}.pdf"
    write_durably(ctx.store.quotes / file, draft.pdf)
    now, made = ctx.now(), draft.summary.quote
    kept = FrozenQuote(
        ticket=ticket,
        revision=draft.revision,
        made_at=stamp(now),
        book_digest=made.book_digest,
        app_version=__version__,
        walkin=draft.walkin,
        quote=json.dumps(quote_json(made), ensure_ascii=False),
        exact=dumps(made),
        pdf_sha256=sha256,
        pdf_file=file,
        staff=draft.by.who,
        version=sheet.life.version,
    )
    quotes.keep(db, kept)
    tickets.change(db, ticket, now, state=TicketState.QUOTED, **draft.summary.board_price())
    keep_plan(db, ticket, draft.summary.usual)
    events.record(db, "quote frozen", now, ticket=ticket, by=draft.by, revision=draft.revision)
    return draft.revision
