"""The board: every ticket of late."""

from __future__ import annotations

from flask import Response, render_template, request

from intake.book.wording import labels_of
from intake.screens.board.blueprint import blueprint
from intake.services.context import Context
from intake.services.ready_days import ready_days
from intake.store import edits, handed_out, tickets
from intake.store.handed_out import HandedOut
from intake.web.context import current_context
from intake.web.identity import current_identity, note
from intake.web.numbers import whole_number
from intake.web.redirects import see_other


@blueprint.get("/")
def board() -> str:
    """Tickets, newest first; `q` finds by any words, also a number or serial; `before` turns the page."""
    ctx, words = current_context(), request.args.get("q", "").strip()[:100]
    found = tickets.board(ctx.store.db, words, before=_before())
    older = found[-1].number if len(found) >= tickets.PAGE else None
    return render_template(
        "board/board.html",
        families=labels_of(ctx.book)["family"],
        tickets=found,
        days=ready_days(ctx, ctx.store.db, found),
        clashed=edits.clashed(ctx.store.db, [ticket.id for ticket in found]),
        q=words,
        older=older,
        missing=_missing(ctx),
    )


def _missing(ctx: Context) -> list[tuple[HandedOut, str]]:
    """For the owner: what the backup that was put back does not hold, with the customer's name."""
    person = current_identity().person
    if person is None or person.role != "owner":
        return []
    found = [(one, tickets.find(ctx.store.db, one.ticket)) for one in handed_out.listed(ctx.store.folder)]
    return [(one, ticket.customer_name if ticket else "") for one, ticket in found]


@blueprint.post("/after-backup")
def settle_missing() -> Response:
    """The owner has dealt with what the backup does not hold."""
    ctx = current_context()
    with ctx.store.writing() as db:
        note(db, "list after the restore settled", quotes=len(handed_out.listed(ctx.store.folder)))
    handed_out.clear_list(ctx.store.folder)
    return see_other("board.board")


def _before() -> int:
    number = whole_number(request.args.get("before"))
    return tickets.LAST if number is None else number


@blueprint.get("/ping")
def ping() -> Response:
    """Is the line up? Nothing may answer this but the server itself."""
    return Response(status=204, headers={"Cache-Control": "no-store"})
