"""Before saving: what the changed book would have made of the last quotes. Then saved, or dropped."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Response, make_response, render_template, url_for

from intake.book.model import Book
from intake.i18n import _
from intake.quoting.effect import Effect, effect
from intake.quoting.model import Walkin
from intake.quoting.walkin import WalkinError, load_walkin
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.changelog import changes
from intake.screens.book_editor.draft import Draft, current_draft, onward
from intake.screens.book_editor.forms import SeenForm, overtaken
from intake.screens.book_editor.validation import Verdict, validate
from intake.services.context import Context
from intake.services.current_book import load_files
from intake.services.walkins import from_json
from intake.store import quotes, revisions
from intake.store.books import Files
from intake.web.context import current_context
from intake.web.identity import current_identity, note

LAST = 50
SHOWN = 5


@dataclass(frozen=True)
class Past:
    """A quote given: the ticket's number, name and id; a sample walk-in has its title alone."""

    title: str
    ticket: str = ""


@blueprint.get("/effect")
def effect_page() -> Response:
    """The changes in words, and what they would have done to the last quotes."""
    return _page()


@blueprint.post("/save")
def save() -> Response:
    """Put the draft in force as the next revision, if it is what the page showed and the checker lets it."""
    ctx, hand = current_context(), current_draft()
    if not hand.drafted:
        return onward(url_for("book_editor.overview"))
    if SeenForm.posted().mark.data != hand.mark:
        return _page(_("The changes have moved on since this page was shown. Look at them again."), 409)
    said, verdict = changes(hand.before(), hand.files), validate(hand.files, ctx.book)
    found, _past = _weighed(hand, verdict)
    if verdict.book is None or verdict.errors or found is None or found.broken:
        return _page(code=422)
    ctx.remember(verdict.book)
    with ctx.store.writing() as db:
        held = current_draft(db)
        fresh = held.drafted and held.mark == hand.mark and not held.overtaken
        if fresh:
            number = revisions.put_in_force(
                db,
                verdict.book.digest,
                hand.files,
                ctx.now(),
                hand.kind,
                about=hand.about,
                changes="\n".join(said),
                by=current_identity().by,
            )
            revisions.drop_draft(db)
            note(db, "book saved", revision=number, replaced=hand.base.number, kind=hand.kind)
    return onward(url_for("book_editor.overview", saved=number)) if fresh else _page(code=409)


@blueprint.post("/drop")
def drop() -> Response:
    """Forget the changes that are not in force."""
    ctx = current_context()
    with ctx.store.writing() as db:
        if revisions.is_drafted(db):
            revisions.drop_draft(db)
            note(db, "book draft dropped")
    return onward(url_for("book_editor.overview"))


def weigh(ctx: Context, old: Book, new: Book, files: Files) -> tuple[Effect, dict[str, Past]]:
    """The last quotes with both books, and whose they are, by the same names; a shop without any has the
    book's samples."""
    walkins: dict[str, Walkin] = {}
    past: dict[str, Past] = {}
    for ticket, number, name, walkin in quotes.last_walkins(ctx.store.db, LAST):
        walkins[str(number)] = from_json(walkin)
        past[str(number)] = Past(f"{number} · {name}" if name else str(number), ticket)
    if not walkins:
        walkins = samples(files)
        past = {name: Past(walkin.title or name) for name, walkin in walkins.items()}
    return effect(old, new, walkins, ctx.today), past


def samples(files: Files) -> dict[str, Walkin]:
    """The first sample walk-ins of a book, by name, of those that can be read."""
    found: dict[str, Walkin] = {}
    with TemporaryDirectory() as folder:
        for name in sorted(name for name in files if name.startswith("walkins/") and name.endswith(".toml")):
            path = Path(folder) / "sample.toml"
            path.write_bytes(files[name])
            with suppress(WalkinError):
                found[name] = load_walkin(path)
            if len(found) == LAST:
                break
    return found


def _page(problem: str = "", code: int = 200) -> Response:
    ctx, hand = current_context(), current_draft()
    if not hand.drafted:
        return onward(url_for("book_editor.overview"))
    verdict = validate(hand.files, ctx.book)
    found, past = _weighed(hand, verdict)
    page = render_template(
        "book_editor/effect.html",
        hand=hand,
        problem=problem or (overtaken() if hand.overtaken else ""),
        verdict=verdict,
        changes=changes(hand.before(), hand.files),
        effect=found,
        past=past,
        samples=not any(one.ticket for one in past.values()),
        most=SHOWN,
        names=_names(ctx.book, verdict),
        may_save=not (verdict.errors or hand.overtaken or (found and found.broken)),
    )
    return make_response(page, code)


def _weighed(hand: Draft, verdict: Verdict) -> tuple[Effect | None, dict[str, Past]]:
    return weigh(current_context(), _base(hand), verdict.book, hand.files) if verdict.book else (None, {})


def _base(hand: Draft) -> Book:
    ctx = current_context()
    return ctx.book if hand.base.digest == ctx.book.digest else load_files(hand.before())


def _names(old: Book, verdict: Verdict) -> dict[str, str]:
    """The jobs of both books, by id."""
    books = (old, verdict.book) if verdict.book else (old,)
    return {id: str(job.name) for book in books for id, job in book.jobs.items()}
