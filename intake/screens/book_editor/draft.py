"""What the owner is working on: the draft if there is one, else the book in force."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from flask import Response
from sqlite_utils import Database

from intake.i18n import _
from intake.store import revisions
from intake.store.books import Files, mark_of
from intake.store.revisions import Kind, Revision
from intake.web.context import current_context
from intake.web.identity import note
from intake.web.redirects import see_address


@dataclass(frozen=True)
class Draft:
    """The files as the owner's screens show them; `drafted` while they are not in force."""

    base: Revision
    files: dict[str, bytes]
    kind: Kind
    about: str
    drafted: bool

    @property
    def mark(self) -> str:
        """Changes with any byte: a page says by it what it was made from."""
        return mark_of(self.files)

    @property
    def overtaken(self) -> bool:
        """Whether another revision came in force since the draft was begun."""
        now = revisions.in_force(current_context().store.db)
        return now is not None and now.number != self.base.number

    def before(self) -> dict[str, bytes]:
        """The files that the draft would replace."""
        return revisions.files_of(current_context().store.db, self.base.number)


def current_draft(db: Database | None = None) -> Draft:
    """The draft, else the book in force."""
    db = db or current_context().store.db
    draft = revisions.draft(db)
    if draft:
        base = revisions.find(db, draft.base)
        assert base
        return Draft(base, draft.files, draft.kind, draft.about, True)
    base = revisions.in_force(db)
    assert base
    return Draft(base, revisions.files_of(db, base.number), "edit", "", False)


def keep(hand: Draft, files: Files, what: str) -> None:
    """Keep the files as the draft; files that are those in force again need none."""
    ctx = current_context()
    with ctx.store.writing() as db:
        if dict(files) == revisions.files_of(db, hand.base.number):
            revisions.drop_draft(db)
        else:
            revisions.keep_draft(db, hand.base.number, files, ctx.now(), hand.kind, hand.about)
        note(db, "book drafted", changed=what)


def of_file(files: Files, name: str) -> str:
    """Changes with any byte of the file: a form says by it what it was filled from."""
    return hashlib.sha256(files.get(name, b"")).hexdigest()[:16]


def changed_meanwhile() -> str:
    """What a form says that was filled from another state than the present one."""
    return _(
        "This was changed in another window meanwhile. What you typed still stands here: "
        "look at it, and press again if it is right."
    )


def onward(address: str) -> Response:
    """See other."""
    return see_address(address)
