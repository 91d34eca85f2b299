"""The first start: whoever sits at this machine, and has the link that its terminal shows, becomes the owner.

Without that link a proxy on this machine that tells nothing of whom it asks for could let anybody in.
"""

from __future__ import annotations

import hmac

from flask import Response, abort, current_app, render_template, request, url_for

from intake.i18n import _
from intake.screens.access.blueprint import blueprint
from intake.screens.access.forms import CodeForm, SetUpForm
from intake.screens.access.sign_in import let_in
from intake.store import events, passwords, people
from intake.store.events import By
from intake.store.people import NameTakenError
from intake.web.context import current_context
from intake.web.origin import from_this_machine
from intake.web.redirects import see_other


@blueprint.get("/setup")
def set_up_page() -> Response:
    """Name and password of the owner, while there is none."""
    return _closed(CodeForm.asked()) or _page(SetUpForm())


@blueprint.post("/setup")
def set_up() -> Response:
    """Make the owner and sign them in."""
    closed = _closed(CodeForm.posted())
    if closed:
        return closed
    ctx, form = current_context(), SetUpForm.posted()
    if not form.validate():
        return _page(form)
    kept = passwords.hashed(form.password.data or "")
    try:
        with ctx.store.writing() as db:
            number = people.add(db, form.name.data or "", "owner", ctx.now(), password_hash=kept)
            owner = people.find(db, number)
            assert owner is not None
            events.record(db, "owner made", ctx.now(), by=By(owner.id, owner.name))
    except NameTakenError:
        return see_other("access.sign_in")
    return let_in(owner, None)


def _closed(given: CodeForm) -> Response | None:
    """Once there is an owner, from any other machine and without the code, nothing can be set up here."""
    if people.owner(current_context().store.db):
        return see_other("access.sign_in")
    if not from_this_machine(request):
        abort(403, _("The owner is made at the shop’s own computer, not from here."))
    code = given.code.data or ""
    if hmac.compare_digest(code, current_app.config["SETUP_CODE"]):
        return None
    form = CodeForm()
    if code:
        form.refuse("code", _("This is not the code that the program showed when it was last started."))
    page = render_template("access/setup_code.html", form=form)
    return Response(page, 403 if code or request.method == "POST" else 200)


def _page(form: SetUpForm) -> Response:
    page = render_template(
        "access/setup.html",
        form=form,
        code=current_app.config["SETUP_CODE"],
        next=url_for("access.people_page"),
    )
    return Response(page, 422 if form.errors else 200)
