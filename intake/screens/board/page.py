"""The board: every ticket of late."""

from __future__ import annotations

from flask import Response, render_template, request

from intake.book.wording import labels_of
from intake.screens.board.blueprint import blueprint
from intake.services.ready_days import ready_days
from intake.store import edits, tickets
from intake.web.context import current_context
from intake.web.numbers import whole_number


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
    )


def _before() -> int:
    number = whole_number(request.args.get("before"))
    return tickets.LAST if number is None else number


@blueprint.get("/ping")
def ping() -> Response:
    """Is the line up? Nothing may answer this but the server itself."""
    return Response(status=204, headers={"Cache-Control": "no-store"})
