"""The first start: whoever sits at this machine, and has the link that its terminal shows, becomes the owner.

Without that link a proxy on this machine that tells nothing of whom it asks for could let anybody in.
"""

from __future__ import annotations

import hmac

from flask import Response, abort, current_app, render_template, request, url_for

from intake.i18n import _
from intake.screens.access.blueprint import blueprint
from intake.screens.access.enrolment import sent_code
from intake.screens.access.sign_in import let_in
from intake.store import events, passwords, people
from intake.store.events import By
from intake.store.people import NameTakenError
from intake.store.weak_passwords import is_weak
from intake.web.context import current_context
from intake.web.origin import from_this_machine
from intake.web.redirects import see_other


@blueprint.get("/setup")
def set_up_page() -> Response:
    """Name and password of the owner, while there is none."""
    return _closed() or _page()


@blueprint.post("/setup")
def set_up() -> Response:
    """Make the owner and sign them in."""
    closed = _closed()
    if closed:
        return closed
    ctx, name = current_context(), request.form.get("name", "")
    problem = password_problem(name)
    try:
        people.clean_name(name)
    except ValueError:
        problem = _("Write a name of up to 60 letters.")
    if problem:
        return _page(problem, name)
    kept = passwords.hashed(request.form["password"])
    try:
        with ctx.store.writing() as db:
            number = people.add(db, name, "owner", ctx.now(), password_hash=kept)
            owner = people.find(db, number)
            assert owner is not None
            events.record(db, "owner made", ctx.now(), by=By(owner.id, owner.name))
    except NameTakenError:
        return see_other("access.sign_in")
    return let_in(owner, None)


def password_problem(name: str) -> str:
    """What is wrong with the new password of that owner in this form, in a sentence; empty if nothing is."""
    password = request.form.get("password", "")
    if len(password) < passwords.LEAST:
        return _("The password needs at least {number} characters.", number=passwords.LEAST)
    if len(password) > passwords.LONGEST:
        return _("The password is longer than can be kept.")
    if is_weak(password, (name, current_context().book.shop.name)):
        return _("This password is among those that are guessed first. Three words of your own are better.")
    if password != request.form.get("again", ""):
        return _("The two passwords are not the same.")
    return ""


def _closed() -> Response | None:
    """Once there is an owner, from any other machine and without the code, nothing can be set up here."""
    if people.owner(current_context().store.db):
        return see_other("access.sign_in")
    if not from_this_machine(request):
        abort(403, _("The owner is made at the shop’s own computer, not from here."))
    code = sent_code()
    if hmac.compare_digest(code, current_app.config["SETUP_CODE"]):
        return None
    problem = _("This is not the code that the program showed when it was last started.") if code else ""
    page = render_template("access/setup_code.html", problem=problem)
    return Response(page, 403 if problem or request.method == "POST" else 200)


def _page(problem: str = "", name: str = "") -> Response:
    page = render_template(
        "access/setup.html",
        problem=problem,
        name=name,
        code=current_app.config["SETUP_CODE"],
        next=url_for("access.people_page"),
    )
    return Response(page, 422 if problem else 200)
