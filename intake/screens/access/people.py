"""The owner's page: phones are enrolled and withdrawn, staff get names and PINs."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Response, abort, render_template, url_for
from sqlite_utils import Database

from intake.i18n import _
from intake.qr import qr_svg
from intake.screens.access.blueprint import blueprint
from intake.screens.access.forms import LONGEST_SECRET, ChangePasswordForm, NewPinForm, StaffForm
from intake.screens.access.sign_in import let_in
from intake.store import attempts, devices, passwords, people
from intake.store.attempts import Key
from intake.store.people import NameTakenError, Person
from intake.web.context import current_context
from intake.web.identity import current_identity, note
from intake.web.origin import is_loopback, shop_address
from intake.web.redirects import see_other


@blueprint.get("/people")
def people_page() -> Response:
    """Phones and staff."""
    return _page()


@blueprint.post("/people/phones")
def offer_enrolment() -> Response:
    """A code for one phone, shown this once: only its hash is kept."""
    ctx, owner = current_context(), current_identity().person
    assert owner is not None
    with ctx.store.writing() as db:
        code = devices.offer(db, owner.id, ctx.now())
        note(db, "enrolment offered")
    return _page(code=code, address=shop_address() + url_for("access.enrol_page", code=code))


@blueprint.post("/people/phones/<int:number>/<what>")
def settle_phone(number: int, what: str) -> Response:
    """Withdraw a phone, or let it try PINs again."""
    ctx = current_context()
    if what not in ("revoke", "unlock"):
        abort(404)
    with ctx.store.writing() as db:
        phone = devices.find(db, number) or abort(404)
        if what == "unlock":
            attempts.clear(db, [("device", str(number))])
            note(db, "phone unlocked", unlocked=phone.name)
        elif devices.revoke(db, number, ctx.now()):
            note(db, "phone revoked", revoked=phone.name, number=number)
    return _back()


@blueprint.post("/people/staff")
def add_staff() -> Response:
    """A new member of staff with a PIN."""
    ctx, form = current_context(), StaffForm.posted()
    if not form.validate():
        return _page(new=form)
    name, role = form.name.data or "", next(role for role in people.STAFF_ROLES if role == form.role.data)
    kept = passwords.hashed(form.pin.data or "")
    try:
        with ctx.store.writing() as db:
            number = people.add(db, name, role, ctx.now(), pin_hash=kept)
            note(db, "staff added", added=number, name=people.clean_name(name), role=role)
    except NameTakenError:
        taken = _("There is somebody of that name already, or there was. Choose another.")
        return _page(new=form.refuse("name", taken))
    return _back()


@blueprint.post("/people/staff/<int:number>/pin")
def give_new_pin(number: int) -> Response:
    """A PIN in place of the old one."""
    ctx, form, person = current_context(), NewPinForm.posted(), _staff(number)
    if not form.validate():
        return _page(pins={number: form})
    kept = passwords.hashed(form.pin.data or "")
    with ctx.store.writing() as db:
        people.set_pin(db, number, kept, ctx.now())
        note(db, "PIN set", of=person.name)
    return _back()


@blueprint.post("/people/staff/<int:number>/<what>")
def settle_staff(number: int, what: str) -> Response:
    """Let somebody in no more, let them in again, or let them try their PIN again."""
    ctx, person = current_context(), _staff(number)
    said = {"off": "staff turned off", "on": "staff turned on", "unlock": "staff unlocked"}
    if what not in said:
        abort(404)
    with ctx.store.writing() as db:
        if what == "unlock":
            attempts.clear(db, attempts.of_person(number))
        else:
            people.set_active(db, number, what == "on", ctx.now())
        note(db, said[what], of=person.name)
    return _back()


@blueprint.post("/people/password")
def change_password() -> Response:
    """The owner's new password. Every other session of the owner ends."""
    ctx, owner, session = current_context(), current_identity().person, current_identity().session
    assert owner is not None and session is not None
    key: Key = ("session", str(session.id))
    form = ChangePasswordForm.posted()
    form.owner = owner.name
    with ctx.store.writing() as db:
        may_try = attempts.begin(db, [key], ctx.now())
    if not may_try:
        wait = _("After several wrong tries each has to wait longer. Wait a moment, then try again.")
        return _page(password=form.refuse("old", wait))
    if not passwords.matches(owner.password_hash, (form.old.data or "")[:LONGEST_SECRET]):
        return _page(password=form.refuse("old", _("The present password is not that one.")))
    with ctx.store.writing() as db:
        attempts.clear(db, [key])
    if not form.validate():
        return _page(password=form)
    kept = passwords.hashed(form.password.data or "")
    with ctx.store.writing() as db:
        people.set_password(db, owner.id, kept, ctx.now())
        note(db, "password changed")
    return let_in(owner, current_identity().device)


def _staff(number: int) -> Person:
    """Somebody who is not the owner. Aborts with 404."""
    person = people.find(current_context().store.db, number)
    return person if person and person.role != "owner" else abort(404)


def _locked(db: Database) -> set[Key]:
    """The phones and people that are locked, wherever the wrong tries were made."""
    found = attempts.locked(db, current_context().now())
    return {("person" if kind == "stranger" else kind, about) for kind, about in found}


def _back() -> Response:
    return see_other("access.people_page")


def _page(
    *,
    code: str = "",
    address: str = "",
    new: StaffForm | None = None,
    pins: Mapping[int, NewPinForm] | None = None,
    password: ChangePasswordForm | None = None,
) -> Response:
    db = current_context().store.db
    staff = people.everybody(db)
    faulty = new or pins or password
    page = render_template(
        "access/people.html",
        new=new or StaffForm(role="counter"),
        pins={person.id: NewPinForm() for person in staff} | dict(pins or {}),
        password=password or ChangePasswordForm(),
        code=" ".join(code[at : at + 4] for at in range(0, len(code), 4)),
        address=address,
        picture=qr_svg(address, _("QR code of the address")) if address else "",
        here_only=bool(address) and is_loopback(address.split("/")[2]),
        phones=devices.every(db),
        staff=staff,
        locked=_locked(db),
        names={person.id: person.name for person in staff},
    )
    return Response(page, 422 if faulty else 200)
