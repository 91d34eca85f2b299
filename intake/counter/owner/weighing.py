"""Before saving: what the changed book would have made of the last quotes. Then saved, or dropped."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Response, make_response, render_template, request, url_for

from intake.book.model import Book
from intake.counter.desk import Desk, desk
from intake.counter.in_force import load_files
from intake.counter.owner.blueprint import owner
from intake.counter.owner.forms import overtaken
from intake.counter.owner.hand import Hand, in_hand, onward
from intake.counter.owner.judging import Verdict, judge
from intake.counter.owner.told import changes
from intake.counter.walkin import from_json
from intake.counter.who import note, visitor
from intake.counter.words import _
from intake.quoting.effect import Effect, effect
from intake.quoting.model import Walkin
from intake.quoting.walkin import WalkinError, load_walkin
from intake.store import quotes, revisions
from intake.store.books import Files

LAST = 50
SHOWN = 5


@dataclass(frozen=True)
class Past:
    """A quote given: the ticket's number, name and id; a sample walk-in has its title alone."""

    title: str
    ticket: str = ""


@owner.get("/effect")
def effect_page() -> Response:
    """The changes in words, and what they would have done to the last quotes."""
    return _page()


@owner.post("/save")
def save() -> Response:
    """Put the draft in force as the next revision, if it is what the page showed and the checker lets it."""
    here, hand = desk(), in_hand()
    if not hand.drafted:
        return onward(url_for("owner.overview"))
    if request.form.get("mark") != hand.mark:
        return _page(_("The changes have moved on since this page was shown. Look at them again."), 409)
    said, verdict = changes(hand.before(), hand.files), judge(hand.files, here.book)
    found, _past = _weighed(hand, verdict)
    if verdict.book is None or verdict.errors or found is None or found.broken:
        return _page(code=422)
    here.remember(verdict.book)
    with here.store.writing() as db:
        held = in_hand(db)
        fresh = held.drafted and held.mark == hand.mark and not held.overtaken
        if fresh:
            number = revisions.put_in_force(
                db,
                verdict.book.digest,
                hand.files,
                here.now(),
                hand.kind,
                about=hand.about,
                changes="\n".join(said),
                by=visitor().by,
            )
            revisions.drop_draft(db)
            note(db, "book saved", revision=number, replaced=hand.base.number, kind=hand.kind)
    return onward(url_for("owner.overview", saved=number)) if fresh else _page(code=409)


@owner.post("/drop")
def drop() -> Response:
    """Forget the changes that are not in force."""
    here = desk()
    with here.store.writing() as db:
        if revisions.is_drafted(db):
            revisions.drop_draft(db)
            note(db, "book draft dropped")
    return onward(url_for("owner.overview"))


def weigh(here: Desk, old: Book, new: Book, files: Files) -> tuple[Effect, dict[str, Past]]:
    """The last quotes with both books, and whose they are, by the same names; a shop without any has the
    book's samples."""
    walkins: dict[str, Walkin] = {}
    past: dict[str, Past] = {}
    for ticket, number, name, walkin in quotes.last_walkins(here.store.db, LAST):
        walkins[str(number)] = from_json(walkin)
        past[str(number)] = Past(f"{number} · {name}" if name else str(number), ticket)
    if not walkins:
        walkins = samples(files)
        past = {name: Past(walkin.title or name) for name, walkin in walkins.items()}
    return effect(old, new, walkins, here.today), past


def samples(files: Files) -> dict[str, Walkin]:
    """The sample walk-ins of a book, by name, those that can be read."""
    found: dict[str, Walkin] = {}
    with TemporaryDirectory() as folder:
        for name in sorted(name for name in files if name.startswith("walkins/") and name.endswith(".toml")):
            path = Path(folder) / "sample.toml"
            path.write_bytes(files[name])
            with suppress(WalkinError):
                found[name] = load_walkin(path)
    return dict(list(found.items())[:LAST])


def _page(problem: str = "", code: int = 200) -> Response:
    here, hand = desk(), in_hand()
    if not hand.drafted:
        return onward(url_for("owner.overview"))
    verdict = judge(hand.files, here.book)
    found, past = _weighed(hand, verdict)
    page = render_template(
        "counter/owner/effect.html",
        hand=hand,
        problem=problem or (overtaken() if hand.overtaken else ""),
        verdict=verdict,
        changes=changes(hand.before(), hand.files),
        effect=found,
        past=past,
        samples=not any(one.ticket for one in past.values()),
        most=SHOWN,
        names=_names(here.book, verdict),
        may_save=not (verdict.errors or hand.overtaken or (found and found.broken)),
    )
    return make_response(page, code)


def _weighed(hand: Hand, verdict: Verdict) -> tuple[Effect | None, dict[str, Past]]:
    return weigh(desk(), _base(hand), verdict.book, hand.files) if verdict.book else (None, {})


def _base(hand: Hand) -> Book:
    here = desk()
    return here.book if hand.base.digest == here.book.digest else load_files(hand.before())


def _names(old: Book, verdict: Verdict) -> dict[str, str]:
    """The jobs of both books, by id."""
    books = (old, verdict.book) if verdict.book else (old,)
    return {id: str(job.name) for book in books for id, job in book.jobs.items()}
