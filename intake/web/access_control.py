"""The one gate before every route: an enrolled phone and somebody signed in on it, or the way to become so.

A page is sent to the sign-in page and comes back to where it was asked for. What a script sends gets 401 and
a sentence, never a key, so that the phone keeps what it holds.
"""

from __future__ import annotations

import sqlite3
from contextlib import suppress

from flask import Flask, Response, abort, make_response, render_template, request, url_for

from intake.i18n import _
from intake.store import devices, people, sessions
from intake.web.context import current_context
from intake.web.forms import posted_pairs
from intake.web.identity import Identity, cookie, current_identity
from intake.web.origin import from_this_machine
from intake.web.permissions import may
from intake.web.redirects import see_other

READS = frozenset({"GET", "HEAD"})
LONGEST_ADDRESS = 1000


def install(app: Flask) -> None:
    """Put the gate before every route."""
    app.before_request(check)


def check() -> Response | None:
    """Let the request through (None), or say what it needs. An address that is none has its own answer."""
    endpoint = request.endpoint
    if endpoint is None or may(None, endpoint):
        return None
    who = current_identity()
    if who.person is None:
        return turn_away(who)
    if not may(who.person.role, endpoint):
        abort(403, _("Only the owner may do this."))
    _note_use(who)
    return None


def turn_away(who: Identity) -> Response:
    """Nobody is signed in here."""
    if not _is_page():
        return _unauthorised(who, Response(_sentence(who), mimetype="text/plain"))
    if request.method not in READS:
        back = url_for("access.sign_in", next=url_for("board.board"))
        typed = posted_pairs() if _is_walkin() else []
        page = render_template(
            "shared/again.html", sentence=_sentence(who), signin=back, typed=typed, here=here_again()
        )
        return _unauthorised(who, Response(page))
    if request.headers.get("Sec-Fetch-Site") == "cross-site" and not request.cookies.get(cookie("session")):
        return make_response(render_template("shared/onward.html"))
    if people.owner(current_context().store.db) is None and from_this_machine(request):
        return see_other("access.set_up_page")
    return see_other("access.sign_in", next=here_again())


def _is_walkin() -> bool:
    """Whether what was posted is a walk-in, which comes back filled in; no other form is written down."""
    return request.endpoint in ("wizard.save_new", "wizard.save_all") and not request.files


def here_again() -> str:
    """The address that was asked for, to come back to."""
    return request.script_root + (request.full_path if request.query_string else request.path)


def inside(address: str) -> str:
    """The address if it leads to a place in this program and nowhere else, else the board's.

    Browsers read `//host` and `/\\host` as other hosts, and drop tabs and line ends before they look.
    """
    leads_in = address.startswith("/") and not address.startswith("//") and "\\" not in address
    return address if leads_in and address.isprintable() and len(address) <= LONGEST_ADDRESS else "/"


def _is_page() -> bool:
    """Whether a person's browser is going there, rather than a script or a picture on a page."""
    headers = request.headers
    by_script = "HX-Request" in headers or "Idempotency-Key" in headers
    return not by_script and headers.get("Sec-Fetch-Mode", "navigate") == "navigate"


def _sentence(who: Identity) -> str:
    if who.revoked:
        return _("The owner has withdrawn this phone: it can send nothing any more.")
    return _("Nobody is signed in here, so nothing was changed. Sign in to send what was typed.")


def _unauthorised(who: Identity, answer: Response) -> Response:
    answer.status_code = 401
    answer.headers["Cache-Control"] = "no-store"
    if who.revoked:
        answer.headers["Revoked"] = "yes"
    return answer


def _note_use(who: Identity) -> None:
    """Write down now and then that the session is in use. A busy file or a full disk stops no reader."""
    ctx, session = current_context(), who.session
    if session is None or not sessions.worth_noting(session, ctx.now()):
        return
    with suppress(sqlite3.OperationalError), ctx.store.writing() as db:
        sessions.see(db, session.id, ctx.now())
        if who.device:
            devices.see(db, who.device.id, ctx.now())
