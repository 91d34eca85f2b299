"""Photos: taken in one at a time, shown from their own address."""

from __future__ import annotations

from uuid import UUID

from flask import Response, abort, jsonify, request, send_file, url_for
from sqlite_utils import Database
from werkzeug.datastructures import FileStorage

from intake.i18n import _
from intake.screens.wizard.blueprint import blueprint
from intake.services.context import Context
from intake.services.erasure import refuse_erased
from intake.services.images import MOST_AT_ONCE, ImageError, Picture, as_jpeg
from intake.store import photos, tickets
from intake.store.photos import Photo
from intake.web.context import current_context
from intake.web.headers import MEDIA_POLICY
from intake.web.idempotency import Effect, prepared_once
from intake.web.identity import note
from intake.web.redirects import see_other


@blueprint.post("/tickets/<uuid:ticket>/photos")
def add_photo(ticket: UUID) -> Response:
    """Keep a photo and answer in JSON. A plain form may send several; it gets the wizard again."""
    sent = [file for file in request.files.getlist("photo") if file.filename]
    if not sent:
        abort(400, _("No photo came with this request."))
    if len(sent) > MOST_AT_ONCE:
        abort(413, _("Send at most {number} photos at once.", number=MOST_AT_ONCE))
    return prepared_once(lambda: _keep(str(ticket), sent))


def _keep(ticket: str, sent: list[FileStorage]) -> Effect:
    """Decode all of them, then keep all of them."""
    try:
        pictures = [as_jpeg(file.stream.read()) for file in sent]
    except ImageError as refused:
        abort(415, str(refused))

    def effect(db: Database) -> Response:
        kept = [take_photo(current_context(), db, ticket, picture) for picture in pictures]
        if not request.headers.get("Idempotency-Key"):
            return see_other("wizard.wizard", ticket=ticket)
        address = url_for("wizard.photo", sha=kept[-1].sha256)
        return jsonify(sha=kept[-1].sha256, url=address, width=kept[-1].width, height=kept[-1].height)

    return effect


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


def take_photo(ctx: Context, db: Database, ticket: str, picture: Picture) -> Photo:
    """Keep file and row of a picture that `as_jpeg` made: decoding has no place in a transaction."""
    jpeg, width, height = picture
    refuse_erased(db, ticket)
    now = ctx.now()
    if tickets.ensure(db, ticket, now):
        note(db, "ticket opened", ticket=ticket)
    sha256 = photos.write(ctx.store.photos, jpeg)
    kept = photos.keep(db, ticket, sha256, (width, height), len(jpeg), now)
    tickets.change(db, ticket, now)
    note(db, "photo kept", ticket=ticket, sha256=sha256)
    return kept
