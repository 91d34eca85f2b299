"""Signing in and out: a name and a PIN on an enrolled phone, or the owner's password on any browser.

Whatever was wrong (the name, the PIN, the phone, or too many tries), the sentence is the same; between a name
that is known, one that is not and one that is locked, so is the time that the answer takes.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from datetime import timedelta

from flask import Response, current_app, render_template, request, url_for

from intake.i18n import _
from intake.screens.access.blueprint import blueprint
from intake.screens.access.forms import LONGEST_SECRET, CodeForm, NextForm, PasswordForm, PinForm
from intake.services.bounded_work import BoundedWork
from intake.store import attempts, devices, events, passwords, people, sessions
from intake.store.attempts import Key
from intake.store.devices import Device
from intake.store.events import By
from intake.store.people import Person
from intake.web.access_control import inside
from intake.web.context import current_context
from intake.web.identity import cookie, current_identity
from intake.web.origin import from_this_machine, network_of
from intake.web.redirects import see_address, see_other

log = logging.getLogger(__name__)
DEVICE_LIVES = timedelta(days=400)
"""As long as browsers keep a cookie (RFC 6265bis, section 5.5); it starts anew with every sign-in."""
HASHING, HASHING_OF_STRANGERS = BoundedWork(running=1, waiting=2), BoundedWork(running=1, waiting=1)
"""Argon2id takes a core and 64 MB for each. What strangers send takes no turn of the shop's own people."""


@blueprint.get("/signin")
def sign_in() -> Response:
    """The names to choose from on an enrolled phone; elsewhere, how a phone is enrolled, and the password."""
    db, who = current_context().store.db, current_identity()
    return _page(
        "access/signin.html",
        staff=people.with_pin(db) if who.device else [],
        owner=people.owner(db),
        form=PasswordForm(),
        code_form=CodeForm(),
    )


@blueprint.get("/signin/<int:number>")
def pin_page(number: int) -> Response:
    """The PIN of the person whose name was tapped."""
    person = _on_this_phone(number)
    if person is None:
        return see_other("access.sign_in", next=_next())
    return _page("access/pin.html", person=person, number=number, form=PinForm())


@blueprint.post("/signin/<int:number>")
def give_pin(number: int) -> Response:
    """Sign in with a PIN."""
    person, device = _on_this_phone(number), current_identity().device
    names, place = [("person", str(number))], _place(device)
    form = PinForm.posted()
    pin = form.pin.data or ""
    if device and _is_right(names, place, person.pin_hash if person else "", pin) and person:
        return let_in(person, device, [*names, place])
    form.refuse("pin", _problem())
    return _page("access/pin.html", 401, person=person, number=number, form=form)


@blueprint.get("/signin/owner")
def password_page() -> Response:
    """The owner's password, on a phone that shows names first."""
    owner = people.owner(current_context().store.db)
    known = owner.name if owner and current_identity().device else ""
    return _page("access/password.html", form=PasswordForm(name=known))


@blueprint.post("/signin/owner")
def give_password() -> Response:
    """Sign in with name and password."""
    form = PasswordForm.posted()
    found = people.named(current_context().store.db, (form.name.data or "")[:LONGEST_SECRET])
    person = found if found and found.active and found.role == "owner" else None
    device = current_identity().device
    place = _place(device)
    names = _counted(person, place) if person else []
    password = form.password.data or ""
    if _is_right(names, place, person.password_hash if person else "", password) and person:
        return let_in(person, device, [*names, place])
    return _page("access/password.html", 401, form=form.refuse("password", _problem()))


@blueprint.post("/signout")
def sign_out() -> Response:
    """End the session, here and in the store."""
    ctx = current_context()
    with ctx.store.writing() as db:
        if current_identity().person:
            events.record(db, "signed out", ctx.now(), by=current_identity().by)
        sessions.end(db, request.cookies.get(cookie("session"), ""), ctx.now())
    answer = see_other("access.sign_in")
    drop_cookie(answer, "session")
    return answer


def let_in(person: Person, device: Device | None, keys: Sequence[Key] = ()) -> Response:
    """Start a session in place of the one that was, and go on to where the visitor wanted."""
    ctx = current_context()
    with ctx.store.writing() as db:
        attempts.clear(db, keys)
        sessions.end(db, request.cookies.get(cookie("session"), ""), ctx.now())
        token = sessions.start(db, person.id, device.id if device else None, ctx.now())
        by = By(person.id, person.name, device.id if device else None, device.name if device else "")
        events.record(db, "signed in", ctx.now(), by=by)
        if device:
            devices.see(db, device.id, ctx.now())
    answer = see_address(_next())
    set_cookie(answer, "session", token, sessions.LONGEST)
    if device:
        set_cookie(answer, "device", request.cookies[cookie("device")], DEVICE_LIVES)
    return answer


def set_cookie(answer: Response, kind: str, token: str, lives: timedelta) -> None:
    """A cookie that no script reads and no other site's request carries."""
    answer.set_cookie(
        cookie(kind),
        token,
        max_age=lives,
        path="/",
        secure=request.is_secure,
        httponly=True,
        samesite="Strict",
    )


def drop_cookie(answer: Response, kind: str) -> None:
    """Take the cookie back."""
    answer.delete_cookie(cookie(kind), path="/", secure=request.is_secure, httponly=True, samesite="Strict")


def _is_right(names: Sequence[Key], place: Key, kept: str, secret: str) -> bool:
    """Count the try, then look at it. While place or name has to wait, nothing is right; a name that has to
    costs the same work as any other, or the time would tell that it is there."""
    ctx = current_context()
    if not 0 < len(secret) <= LONGEST_SECRET:
        return False
    with (HASHING_OF_STRANGERS if place[0] == "address" else HASHING).turn():  # before it counts
        with ctx.store.writing() as db:
            at_place = attempts.begin(db, [place], ctx.now())
            may_try = at_place and attempts.begin(db, names, ctx.now())
        right = at_place and passwords.matches(kept if may_try else "", secret)
    if not right:
        _write_down([*names, place], may_try)
    return right


def _write_down(keys: Sequence[Key], looked_at: bool) -> None:
    """A refused try: as an event, and while a lock lasts only in the log, which strangers cannot fill the
    store with. Neither has the address."""
    tried = [[kind, "" if kind == "address" else about] for kind, about in keys]
    if not looked_at:
        log.warning("sign-in while it has to wait", extra={"fields": {"tried": tried}})
        return
    ctx = current_context()
    with ctx.store.writing() as db:
        events.record(db, "sign-in refused", ctx.now(), by=_phone_alone(), tried=tried)


def _on_this_phone(number: int) -> Person | None:
    """The person, if this phone is enrolled and they may sign in on it."""
    person = people.find(current_context().store.db, number) if current_identity().device else None
    return person if person and person.active and person.pin_hash else None


def _place(device: Device | None) -> Key:
    """Where tries are counted: the enrolled phone, this machine, else the network that they come from."""
    if device:
        return "device", str(device.id)
    if from_this_machine(request):
        return "machine", ""
    return "address", network_of(request.remote_addr or "")


def _counted(person: Person, place: Key) -> list[Key]:
    """What counts for the name itself: nothing on this machine, for unknown browsers a count of theirs."""
    kinds = {"device": "person", "address": "stranger"}
    return [(kinds[place[0]], str(person.id))] if place[0] in kinds else []


def _phone_alone() -> By:
    device = current_identity().device
    return By(phone=device.id, device=device.name) if device else By()


def _problem() -> str:
    return _("That did not work. Check what you typed; after several wrong tries each has to wait longer.")


def _next() -> str:
    asked = NextForm.posted().next.data or NextForm.asked().next.data
    return inside(asked or url_for("board.board"))


def _page(template: str, status: int = 200, **context: object) -> Response:
    origin = current_app.config.get("ORIGIN")
    page = render_template(template, next=_next(), origin=origin, **context)
    return Response(page, status)
