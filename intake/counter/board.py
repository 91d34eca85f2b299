"""The board: every ticket of late."""

from __future__ import annotations

from flask import Response, render_template, request

from intake.counter.blueprint import counter
from intake.counter.desk import desk
from intake.store import tickets


@counter.get("/")
def board() -> str:
    """Tickets, newest first; `q` filters by name, number or serial."""
    here, words = desk(), request.args.get("q", "").strip()[:100]
    found = tickets.board(here.store.db, words)
    return render_template("counter/board.html", book=here.book, tickets=found, q=words)


@counter.get("/ping")
def ping() -> Response:
    """Is the line up? Nothing may answer this but the server itself."""
    return Response(status=204, headers={"Cache-Control": "no-store"})
