"""The bench: accepted tickets in the order in which they are due, and how one leaves it."""

from __future__ import annotations

import json
from datetime import date
from fractions import Fraction
from uuid import UUID

from flask import Response, abort, render_template, request
from sqlite_utils import Database

from intake.book.wording import labels_of
from intake.i18n import _
from intake.screens.bench.blueprint import blueprint
from intake.services.context import Context
from intake.services.erasure import refuse_erased
from intake.store import bench, decisions, tickets
from intake.store.decisions import Answer
from intake.store.ticket_state import TicketState
from intake.store.tickets import Ticket
from intake.web.context import current_context
from intake.web.idempotency import idempotent
from intake.web.identity import note
from intake.web.redirects import see_other


@blueprint.get("/bench")
def bench_page() -> str:
    """What is on the bench, and what waits to be collected."""
    ctx = current_context()
    with ctx.store.reading() as db:
        on_bench = bench.tickets_on(db, ctx.today)
        return render_template(
            "bench/bench.html",
            families=labels_of(ctx.book)["family"],
            today=ctx.today,
            on_bench=on_bench,
            promised=sum(one.left for one in on_bench),
            done=tickets.in_state(db, TicketState.DONE),
            refused=tickets.in_state(db, TicketState.REFUSED),
            handed=_named(db, "handed", TicketState.COLLECTED),
            part=_named(db, "part", TicketState.SIGNED),
        )


def _named(db: Database, argument: str, state: TicketState) -> Ticket | None:
    """The ticket that the address names, while it is in that state."""
    found = tickets.find(db, request.args.get(argument, ""))
    return found if found and found.state == state else None


@blueprint.post("/tickets/<uuid:ticket>/work/<what>")
@idempotent
def settle_work(db: Database, ticket: UUID, what: str) -> Response:
    """The work is done, the instrument is handed back, or one of them is not so after all."""
    ctx, id = current_context(), str(ticket)
    known = {"part": _part, "done": _done, "collected": _collected, "again": _again, "kept": _kept}
    settle = known.get(what) or abort(404)
    if tickets.find(db, id) is None:
        abort(404)
    refuse_erased(db, id)
    settle(ctx, db, id)
    handed, part = (id if what == done else None for done in ("collected", "part"))
    return see_other("bench.bench_page", handed=handed, part=part)


def _part(ctx: Context, db: Database, ticket: str) -> None:
    if bench.part_done(db, ticket, ctx.today):
        note(db, "part of the work done", ticket=ticket)


def _done(ctx: Context, db: Database, ticket: str) -> None:
    if bench.take_off(db, ticket):
        tickets.change(db, ticket, ctx.now(), state=TicketState.DONE)
        note(db, "work done", ticket=ticket)


def _collected(ctx: Context, db: Database, ticket: str) -> None:
    """Also without any work: who said no fetches the instrument too."""
    bench.take_off(db, ticket)
    tickets.change(db, ticket, ctx.now(), state=TicketState.COLLECTED)
    note(db, "handed back", ticket=ticket)


def _kept(ctx: Context, db: Database, ticket: str) -> None:
    """A slip of the thumb: it is still here, and waits to be collected."""
    said = [one.kind for one in decisions.of_ticket(db, ticket) if one.kind in ("goahead", "refused")]
    if not said:
        abort(409, _("Nobody has said yes or no to this ticket’s quote."))
    found = tickets.find(db, ticket)
    if found and found.state == TicketState.COLLECTED:
        tickets.change(
            db, ticket, ctx.now(), state=TicketState.DONE if said[-1] == "goahead" else TicketState.REFUSED
        )
        note(db, "not handed back after all", ticket=ticket)


def _again(ctx: Context, db: Database, ticket: str) -> None:
    yes = _yes(db, ticket)
    found = tickets.find(db, ticket)
    if found and found.state not in (TicketState.DONE, TicketState.SIGNED):
        abort(409, _("This ticket does not wait to be collected any more. Open the bench again."))
    planned = json.loads(yes.offer).get("bench", ())
    pieces = [(date.fromisoformat(day), Fraction(hours)) for day, hours in planned]
    bench.put(db, ticket, pieces, date.fromisoformat(yes.ready))
    tickets.change(db, ticket, ctx.now(), state=TicketState.SIGNED)
    note(db, "work not done after all", ticket=ticket)


def _yes(db: Database, ticket: str) -> Answer:
    """The customer's last yes. Aborts with 409 where there is none."""
    yes = next((one for one in reversed(decisions.of_ticket(db, ticket)) if one.kind == "goahead"), None)
    return yes or abort(409, _("Nobody has said yes to this ticket’s quote."))
