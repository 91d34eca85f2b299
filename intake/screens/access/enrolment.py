"""Enrolling a phone: the owner shows a code, the phone sends it back once and is known from then on."""

from __future__ import annotations

from flask import Response, render_template, request

from intake.i18n import _
from intake.screens.access.blueprint import blueprint
from intake.screens.access.forms import CodeForm, EnrolForm
from intake.screens.access.sign_in import DEVICE_LIVES, drop_cookie, set_cookie
from intake.store import devices, events, people, sessions
from intake.store.events import By
from intake.web.context import current_context
from intake.web.identity import cookie, current_identity
from intake.web.redirects import see_other


@blueprint.get("/enrol")
def enrol_page() -> Response:
    """Ask what the phone is called. Looking at the address uses nothing up: phones look ahead at links."""
    code, here = CodeForm.asked().code.data or "", current_context()
    if devices.offered_by(here.store.db, code, here.now()) is not None:
        return _name_page(EnrolForm(code=code, name=_suggested()))
    return _code_page(_gone() if code else "")


@blueprint.post("/enrol")
def enrol() -> Response:
    """Use the code up and know this phone; what it was enrolled as before is over."""
    form, here = EnrolForm.posted(), current_context()
    code, named = form.code.data or "", form.validate()
    with here.store.writing() as db:
        made_by = people.find(db, devices.offered_by(db, code, here.now()) or 0)
        if made_by is None:
            return _code_page(_gone())
        enrolled = devices.enrol(db, code, form.name.data or "", here.now()) if named else None
        if enrolled is None:
            return _name_page(form)
        number, token = enrolled
        before = current_identity().device
        if before:
            devices.revoke(db, before.id, here.now())
        sessions.end(db, request.cookies.get(cookie("session"), ""), here.now())
        phone = devices.find(db, number)
        by = By(made_by.id, made_by.name, number, phone.name if phone else "")
        events.record(db, "phone enrolled", here.now(), by=by)
    answer = see_other("access.sign_in")
    set_cookie(answer, "device", token, DEVICE_LIVES)
    drop_cookie(answer, "session")
    return answer


def _gone() -> str:
    return _(
        "This code works no longer: each enrols one phone, within ten minutes. Ask the owner for another."
    )


def _suggested() -> str:
    return _("Phone {number}", number=len(devices.every(current_context().store.db)) + 1)


def _name_page(form: EnrolForm) -> Response:
    return Response(render_template("access/enrol.html", form=form), 422 if form.errors else 200)


def _code_page(problem: str) -> Response:
    form = CodeForm()
    if problem:
        form.refuse("code", problem)
    return Response(render_template("access/enrol_code.html", form=form), 410 if problem else 200)
