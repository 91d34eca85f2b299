"""The book in force, what is not in force yet, and the history, any of it to be taken up again."""

from __future__ import annotations

from datetime import datetime

from babel.dates import format_datetime
from flask import Response, abort, make_response, render_template, request, url_for

from intake.book.problems import Problem
from intake.i18n import _, current_language
from intake.i18n.formats import locale_for
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.changelog import changes
from intake.screens.book_editor.draft import current_draft, onward
from intake.store import revisions
from intake.web.context import current_context
from intake.web.identity import note

A_PAGE = 20


@blueprint.app_template_filter("moment")
def moment(text: str) -> str:
    """A stored moment as the clock on the shop's wall had it."""
    when = datetime.fromisoformat(text).astimezone()
    locale = locale_for(current_language(), current_context().book.shop.locale)
    return format_datetime(when, "medium", tzinfo=when.tzinfo, locale=locale)


@blueprint.app_context_processor
def drafting() -> dict[str, object]:
    """Whether there are changes that are not in force, for the owner's pages."""
    return {"book_drafted": lambda: revisions.is_drafted(current_context().store.db)}


@blueprint.get("/")
def overview() -> str:
    """What is in force, and since when."""
    return overview_page()


@blueprint.post("/back/<int:number>")
def take_back(number: int) -> Response:
    """Take an earlier revision up as the draft; nothing is in force before it is saved."""
    ctx = current_context()
    db = ctx.store.db
    if revisions.find(db, number) is None:
        abort(404)
    if revisions.is_drafted(db):
        return make_response(overview_page(save_or_drop()), 409)
    held = revisions.in_force(db)
    assert held
    files = revisions.files_of(db, number)
    if files == revisions.files_of(db, held.number):
        return make_response(overview_page(_("The book in force is the same already.")), 409)
    with ctx.store.writing() as db:
        revisions.keep_draft(db, held.number, files, ctx.now(), "back", str(number))
        note(db, "book drafted", back_to=number)
    return onward(url_for("book_editor.effect_page"))


def save_or_drop() -> str:
    """Why nothing may take the draft's place."""
    return _("There are changes that are not in force yet. Save them or drop them first.")


def overview_page(problem: str = "", problems: tuple[Problem, ...] = ()) -> str:
    """The page, with what was refused."""
    db = current_context().store.db
    before = request.args.get("before", type=int)
    listed = revisions.latest(db, A_PAGE + 1, before)
    hand = current_draft()
    return render_template(
        "book_editor/overview.html",
        problem=problem,
        problems=problems,
        now=revisions.in_force(db),
        shop=current_context().book.shop,
        hand=hand,
        changes=changes(hand.before(), hand.files) if hand.drafted else [],
        listed=listed[:A_PAGE],
        older=listed[A_PAGE - 1].number if len(listed) > A_PAGE else None,
        saved=request.args.get("saved", type=int),
    )
