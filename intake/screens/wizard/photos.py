"""Photos: taken in one at a time, shown from their own address."""

from __future__ import annotations

from functools import partial
from uuid import UUID

from flask import Response, abort, jsonify, request, send_file, url_for
from sqlite_utils import Database
from werkzeug.datastructures import FileStorage
from wtforms import HiddenField
from wtforms.validators import Regexp

from intake.i18n import _
from intake.screens.wizard.blueprint import blueprint
from intake.screens.wizard.steps import device_name
from intake.services.context import Context
from intake.services.edits import Sender
from intake.services.erasure import refuse_erased
from intake.services.images import MOST_AT_ONCE, ImageError, Picture, as_jpeg
from intake.services.photos import add
from intake.store import photos, tickets
from intake.store.photos import Photo
from intake.web.context import current_context
from intake.web.forms import PageForm
from intake.web.headers import MEDIA_POLICY
from intake.web.idempotency import prepared_once
from intake.web.identity import current_identity, note
from intake.web.redirects import see_other


class PhotoForm(PageForm):
    """The id that a phone gave to a photo; a plain form gives none."""

    id = HiddenField(validators=[Regexp(r"^([0-9A-Za-z-]{1,64})?\Z")])


@blueprint.post("/tickets/<uuid:ticket>/photos")
def add_photo(ticket: UUID) -> Response:
    """Keep a photo and answer in JSON. A plain form may send several; it gets the wizard again."""
    sent = [file for file in request.files.getlist("photo") if file.filename]
    if not sent:
        abort(400, _("No photo came with this request."))
    if len(sent) > MOST_AT_ONCE:
        abort(413, _("Send at most {number} photos at once.", number=MOST_AT_ONCE))
    form = PhotoForm.posted()
    id = form.id.data or ""
    if not form.validate():
        abort(400, _("No photo came with this request."))
    own = id if len(sent) == 1 else ""
    return prepared_once(lambda: partial(_keep, str(ticket), _decoded(sent), own))


def _decoded(sent: list[FileStorage]) -> list[Picture]:
    try:
        return [as_jpeg(file.stream.read()) for file in sent]
    except ImageError as refused:
        return abort(415, str(refused))


def _keep(ticket: str, pictures: list[Picture], id: str, db: Database) -> Response:
    kept = [take_photo(current_context(), db, ticket, picture, id) for picture in pictures]
    if not request.headers.get("Idempotency-Key"):
        return see_other("wizard.wizard", ticket=ticket)
    photo = kept[-1]
    address = url_for("wizard.photo", sha=photo.sha256)
    return jsonify(id=photo.id, sha=photo.sha256, url=address, width=photo.width, height=photo.height)


@blueprint.get("/media/<sha>.jpg")
def photo(sha: str) -> Response:
    """A photo, as an image and nothing else."""
    ctx = current_context()
    file = ctx.store.photos / f"{sha}.jpg"
    if not photos.known(ctx.store.db, sha) or not file.is_file():
        abort(404)
    answer = send_file(file, mimetype="image/jpeg", etag=sha)
    answer.headers["Content-Security-Policy"] = MEDIA_POLICY
    answer.headers["Content-Disposition"] = f'inline; filename="{sha[:12]}.jpg"'
    answer.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer


def take_photo(ctx: Context, db: Database, ticket: str, picture: Picture, id: str = "") -> Photo:
    """Keep a picture that `as_jpeg` made: decoding has no place in a transaction."""
    refuse_erased(db, ticket)
    now, by = ctx.now(), current_identity().by
    if tickets.ensure(db, ticket, now):
        note(db, "ticket opened", ticket=ticket)
    kept = add(ctx, db, ticket, picture, Sender(by.who, by.device, device_name()), id)
    tickets.change(db, ticket, now)
    note(db, "photo kept", ticket=ticket, sha256=kept.sha256)
    return kept
