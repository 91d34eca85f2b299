"""The book as a file: downloaded as the zip of its folder, and brought in from one."""

from __future__ import annotations

from flask import Response, make_response, request, url_for

from intake.i18n import _
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.draft import onward
from intake.screens.book_editor.overview import overview_page, save_or_drop
from intake.screens.book_editor.validation import validate
from intake.screens.book_editor.zip_files import ZipError, read_zip
from intake.store import revisions
from intake.store.books import pack
from intake.web.context import current_context
from intake.web.identity import note


@blueprint.get("/export/<int:number>")
def export(number: int) -> Response:
    """The folder of a revision, byte for byte, as a zip."""
    try:
        content = pack(revisions.files_of(current_context().store.db, number))
    except KeyError:
        return make_response(overview_page(_("There is no book of that number.")), 404)
    headers = {
        "Content-Disposition": f'attachment; filename="book-{number}.zip"',
        "Cache-Control": "no-store",
    }
    return Response(content, mimetype="application/zip", headers=headers)


@blueprint.post("/import")
def bring_in() -> Response:
    """Take a zip up as the draft, if loader and checker let it pass."""
    ctx, sent = current_context(), request.files.get("zip")
    if sent is None or not sent.filename:
        return make_response(overview_page(_("Choose the zip of a book first.")), 422)
    try:
        files = read_zip(sent.read())
    except ZipError as error:
        return make_response(overview_page(str(error)), 422)
    verdict = validate(files, ctx.book)
    if verdict.errors:
        return make_response(overview_page(_("This book was not taken in:"), verdict.errors), 422)
    with ctx.store.writing() as db:
        held = revisions.in_force(db)
        assert held
        if revisions.is_drafted(db):
            refusal = save_or_drop()
        elif files == revisions.files_of(db, held.number):
            refusal = _("The book in force is the same already.")
        else:
            refusal = ""
            revisions.keep_draft(db, held.number, files, ctx.now(), "import", sent.filename[:100])
            note(db, "book drafted", brought_in=sent.filename[:100])
    return (
        make_response(overview_page(refusal), 409) if refusal else onward(url_for("book_editor.effect_page"))
    )
