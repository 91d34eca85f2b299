"""The book as a file: downloaded as the zip of its folder, and brought in from one."""

from __future__ import annotations

from flask import Response, make_response, request, url_for

from intake.counter.desk import desk
from intake.counter.owner.blueprint import owner
from intake.counter.owner.hand import onward
from intake.counter.owner.judging import judge
from intake.counter.owner.overview import overview_page, save_or_drop
from intake.counter.owner.zips import ZipRefused, read_zip
from intake.counter.who import note
from intake.counter.words import _
from intake.store import revisions
from intake.store.books import pack


@owner.get("/export/<int:number>")
def export(number: int) -> Response:
    """The folder of a revision, byte for byte, as a zip."""
    try:
        content = pack(revisions.files_of(desk().store.db, number))
    except KeyError:
        return make_response(overview_page(_("There is no book of that number.")), 404)
    headers = {
        "Content-Disposition": f'attachment; filename="book-{number}.zip"',
        "Cache-Control": "no-store",
    }
    return Response(content, mimetype="application/zip", headers=headers)


@owner.post("/import")
def bring_in() -> Response:
    """Take a zip up as the draft, if loader and checker let it pass."""
    here, sent = desk(), request.files.get("zip")
    if sent is None or not sent.filename:
        return make_response(overview_page(_("Choose the zip of a book first.")), 422)
    try:
        files = read_zip(sent.read())
    except ZipRefused as error:
        return make_response(overview_page(str(error)), 422)
    verdict = judge(files, here.book)
    if verdict.errors:
        return make_response(overview_page(_("This book was not taken in:"), verdict.errors), 422)
    with here.store.writing() as db:
        held = revisions.in_force(db)
        assert held
        if revisions.is_drafted(db):
            refusal = save_or_drop()
        elif files == revisions.files_of(db, held.number):
            refusal = _("The book in force is the same already.")
        else:
            refusal = ""
            revisions.keep_draft(db, held.number, files, here.now(), "import", sent.filename[:100])
            note(db, "book drafted", brought_in=sent.filename[:100])
    return make_response(overview_page(refusal), 409) if refusal else onward(url_for("owner.effect_page"))
