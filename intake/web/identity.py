"""Who is there: the enrolled phone and the member of staff signed in on it, looked up once a request."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Flask, g, request
from sqlite_utils import Database

from intake.store import devices, events, people, sessions
from intake.store.devices import Device
from intake.store.events import By
from intake.store.people import Person
from intake.store.sessions import Session
from intake.web.context import current_context


@dataclass(frozen=True)
class Identity:
    """`device` is the phone in use, `revoked` true for one that was; `person` is None while nobody has signed
    in, or may not any more."""

    device: Device | None = None
    revoked: bool = False
    person: Person | None = None
    session: Session | None = None

    @property
    def by(self) -> By:
        """What events say of the visitor."""
        person, phone = self.person, self.device
        return By(
            person.id if person else None,
            person.name if person else "",
            phone.id if phone else None,
            phone.name if phone else "",
        )


def install(app: Flask) -> None:
    """Tell the templates who is there."""
    app.context_processor(lambda: {"identity": current_identity})


def cookie(kind: str) -> str:
    """The cookie's name; over https with the prefix that keeps other hosts and plain http from setting it."""
    return f"__Host-{kind}" if request.is_secure else kind


def current_identity() -> Identity:
    """Whoever makes this request."""
    if "visitor" not in g:
        g.visitor = _look_up(current_context().store.db)
    found: Identity = g.visitor
    return found


def note(db: Database, what: str, *, ticket: str | None = None, **detail: object) -> None:
    """Append an event, by whoever makes this request."""
    events.record(db, what, current_context().now(), ticket=ticket, by=current_identity().by, **detail)


def _look_up(db: Database) -> Identity:
    token = request.cookies.get(cookie("device"), "")
    known = devices.with_token(db, token) if token else None
    revoked = bool(known and known.revoked_at)
    device = None if revoked else known
    token = request.cookies.get(cookie("session"), "")
    session = sessions.living(db, token, current_context().now()) if token else None
    if session is None or session.device not in (None, device.id if device else None):
        return Identity(device, revoked)
    person = people.find(db, session.person)
    if person is None or not person.active or (session.device is None and person.role != "owner"):
        return Identity(device, revoked)
    return Identity(device, revoked, person, session)
