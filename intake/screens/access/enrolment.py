"""Enrolling a phone: the owner shows a code, the phone sends it back once and is known from then on."""

from __future__ import annotations

import re

from flask import Response, render_template, request

from intake.i18n import _
from intake.screens.access.blueprint import blueprint
from intake.screens.access.sign_in import DEVICE_LIVES, drop_cookie, set_cookie
from intake.store import devices, events, people, sessions
from intake.store.events import By
from intake.web.context import current_context
from intake.web.identity import cookie, current_identity
from intake.web.redirects import see_other

NOT_CODE = re.compile(r"[^a-z2-7]")


@blueprint.get("/enrol")
def enrol_page() -> Response:
    """Ask what the phone is called. Looking at the address uses nothing up: phones look ahead at links."""
    code, here = sent_code(), current_context()
    good = devices.offered_by(here.store.db, code, here.now()) is not None
    return _page(code, good, "" if good or not code else _gone())


@blueprint.post("/enrol")
def enrol() -> Response:
    """Use the code up and know this phone; what it was enrolled as before is over."""
    code, here, name = sent_code(), current_context(), request.form.get("name", "")
    with here.store.writing() as db:
        made_by = people.find(db, devices.offered_by(db, code, here.now()) or 0)
        try:
            enrolled = devices.enrol(db, code, name, here.now())
        except ValueError:
            return _page(code, True, _("Give the phone a name of up to 60 letters."))
        if enrolled is None or made_by is None:
            return _page(code, False, _gone())
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


def sent_code() -> str:
    """The code, from the address, from a whole address that was pasted, or typed with gaps."""
    return NOT_CODE.sub("", request.values.get("code", "")[:1000].rpartition("code=")[2].lower())


def _gone() -> str:
    return _(
        "This code works no longer: each enrols one phone, within ten minutes. Ask the owner for another."
    )


def _page(code: str, good: bool, problem: str) -> Response:
    number = len(devices.every(current_context().store.db)) + 1
    page = render_template(
        "access/enrol.html",
        code=code,
        good=good,
        problem=problem,
        suggested=_("Phone {number}", number=number),
    )
    return Response(page, 410 if problem and not good else 422 if problem else 200)
