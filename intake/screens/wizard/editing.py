"""Edits as a phone sends them: up to fifty of one ticket, each answered with what became of it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from flask import Response, abort, render_template, request
from sqlite_utils import Database
from wtforms import FieldList, Form, FormField, IntegerField, StringField
from wtforms.validators import InputRequired, Length, NumberRange, Regexp

from intake.book.model import Book
from intake.book.parts import PASSED, question_of
from intake.i18n import N_, _
from intake.screens.wizard.blueprint import blueprint
from intake.screens.wizard.context import page_context
from intake.screens.wizard.steps import device_name
from intake.services.edits import Sent, Taken
from intake.services.saving import take_edits, write_words
from intake.services.ticket_view import TicketView
from intake.store import tickets
from intake.store.edits import Life, Row
from intake.web.context import current_context
from intake.web.forms import PageForm, posted_pairs
from intake.web.idempotency import answered_once
from intake.web.identity import current_identity, note

MOST = 50
NAME = r"^[0-9A-Za-z-]{1,64}$"
FIELD = re.compile(r"edits-[0-9]{1,3}-[a-z]+")
WHY = {
    "part": N_("This names no answer that a walk-in has."),
    "long": N_("This is too long to be kept: write it shorter."),
    "many": N_("This ticket holds as many answers as one can."),
    "values": N_("So many values wait here already that one of them has to be chosen first."),
    "used": N_("The id of this answer was used before for something else."),
    "usual": N_("This may not be taken as usual: somebody has to look."),
}


class EditForm(Form):
    """One edit."""

    id = StringField(validators=[InputRequired(), Regexp(NAME)])
    log = StringField(default="", validators=[Regexp(NAME.replace("{1,", "{0,"))])
    seq = IntegerField(default=0, validators=[NumberRange(0, 2**53)])
    part = StringField(default="", validators=[InputRequired()])
    value = StringField(default="")
    base = StringField(default="", validators=[Regexp(r"^[0-9A-Za-z. -]*$"), Length(max=6000)])
    by = StringField(default="hand", validators=[Length(max=20)])
    act = StringField(default="", validators=[Length(max=64)])

    def edit(self) -> Sent:
        """What was sent; lines end alike whoever typed them."""
        data: dict[str, Any] = self.data
        base = tuple(data.pop("base").split())
        return Sent(**{**data, "value": data["value"].replace("\r\n", "\n")}, base=base)


class EditsForm(PageForm):
    """What a phone holds of one ticket, and the version of the page that sends it."""

    version = IntegerField(default=0, validators=[NumberRange(0, 2**53)])
    epoch = StringField(default="")
    edits = FieldList(FormField(EditForm))


@blueprint.post("/tickets/<uuid:ticket>/edits")
def take_in_edits(ticket: UUID) -> Response:
    """Take the edits in: 200, whatever became of each."""
    named = all(FIELD.fullmatch(name) for name, _text in posted_pairs() if name.startswith("edits-"))
    form = EditsForm.posted() if named else EditsForm()
    if not form.validate() or not 0 < len(form.edits) <= MOST:
        abort(400, _("These are not edits that this program made."))
    sent = [entry.edit() for entry in form.edits.entries]
    shown = form.version.data or 0
    return answered_once(lambda db: _take(db, str(ticket), sent, shown))


def _take(db: Database, ticket: str, sent: list[Sent], shown: int) -> Response:
    ctx = current_context()
    taken = take_edits(ctx, db, ticket, sent, current_identity().by, device_name())
    fates = sorted({became.fate for became in taken.edits})
    note(db, "answers taken", ticket=ticket, parts=sorted(taken.parts), fates=fates)
    sheet = TicketView.of(ctx, db, ticket)
    write_words(ctx, db, ticket, sheet)
    told = {part for part, held in sheet.parts.items() if held.at > shown} | taken.parts
    became = json.dumps(
        {
            **as_json(taken, sheet.life),
            "parts": {part: _part(sheet, part) for part in sorted(told & sheet.parts.keys())},
        },
        ensure_ascii=False,
    )
    if request.accept_mimetypes.best == "application/json":
        return Response(became, mimetype="application/json")
    page = render_template(
        "wizard/saved.html",
        ticket=tickets.find(db, ticket),
        ticket_id=ticket,
        became=became,
        views=[sheet.view(step) for step in ctx.book.steps if step.id in _steps(ctx.book, taken.parts)],
        **page_context(sheet),
    )
    return Response(page)


def as_json(taken: Taken, life: Life) -> dict[str, Any]:
    """What became of each edit."""
    whys = {why: _(sentence) for why, sentence in WHY.items()}
    return {
        "epoch": life.epoch,
        "version": life.version,
        "backed_up": life.backed_up,
        "edits": [{**vars(became), "why": whys.get(became.why, "")} for became in taken.edits],
        "from": taken.gaps,
        "copied": taken.copied,
    }


def _part(sheet: TicketView, part: str) -> dict[str, Any]:
    held = sheet.parts[part]
    return {
        "base": " ".join(held.heads),
        "value": held.value,
        "at": held.at,
        "by": held.by,
        "clash": [_side(sheet.lost[id]) for id in held.heads] if held.is_open else [],
    }


def _side(row: Row) -> dict[str, Any]:
    told = {name: getattr(row, name) for name in ("id", "value", "by", "who", "phone", "device", "at")}
    return {**told, "when": row.taken_at}


def _steps(book: Book, parts: Iterable[str]) -> set[str]:
    """The steps on which those parts stand."""
    asked = {book.questions[id].step for part in parts if (id := question_of(part)) in book.questions}
    return asked | {part.removeprefix(PASSED) for part in parts if part.startswith(PASSED)}
