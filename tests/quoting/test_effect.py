"""What a changed book would have done to past walk-ins, and a past quote worked out again."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from intake.book.files.load import load_book
from intake.config import demo_book
from intake.quoting.calendar import NeverOpenError
from intake.quoting.effect import effect
from intake.quoting.model import Walkin
from intake.quoting.quote import make_quote
from intake.quoting.serialise import dumps, loads
from intake.quoting.walkin import load_walkin
from intake.services.walkins import as_json, from_json
from intake.store import books
from intake.store.db import Store
from tests.memo import sample_book

DAY = date(2026, 11, 24)
WALKINS = {path.stem: load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))}
SOME = dict(list(WALKINS.items())[::6])
BOOK = sample_book()


@pytest.fixture(params=[SOME, pytest.param(WALKINS, marks=pytest.mark.deep)], ids=["some", "all"])
def walkins(request):
    return request.param


def dearer(rate):
    return replace(BOOK, shop=replace(BOOK.shop, labour_rate=Decimal(rate)))


def test_the_same_book_changes_nothing(walkins):
    found = effect(BOOK, BOOK, walkins, DAY)
    assert len(found.changes) == len(walkins)
    assert found.before == found.after > 0
    assert not (found.rises() or found.falls() or found.appearing or found.vanishing)
    assert not (found.failed or found.refused)


def test_a_dearer_hour_makes_every_walkin_dearer_the_longest_most(walkins):
    found = effect(BOOK, dearer(80), walkins, DAY)
    quotes = {name: make_quote(BOOK, walkin, DAY).offers["put_right"] for name, walkin in walkins.items()}
    assert found.before == sum(offer.total for offer in quotes.values())
    assert found.after > found.before and not found.falls()
    longest = max(quotes, key=lambda name: quotes[name].labour)
    first, *others = found.rises(len(walkins))
    assert first.walkin == longest
    assert [change.by for change in (first, *others)] == sorted(
        (c.by for c in found.changes if c.by), reverse=True
    )
    assert found.falls() == effect(dearer(80), BOOK, {}, DAY).rises() == ()
    assert effect(dearer(80), BOOK, walkins, DAY).falls()[0].by == -first.by


def test_jobs_that_appear_and_vanish_are_counted(walkins):
    remedies = replace(
        BOOK.remedies, rows=tuple(row for row in BOOK.remedies.rows if row.outputs["job"] != "setup")
    )
    found = effect(BOOK, replace(BOOK, remedies=remedies), walkins, DAY)
    had = sum(
        "setup" in {job.id for job in make_quote(BOOK, walkin, DAY).jobs} for walkin in walkins.values()
    )
    assert found.vanishing["setup"] > 0 and found.vanishing["setup"] <= had
    back = effect(replace(BOOK, remedies=remedies), BOOK, walkins, DAY)
    assert back.appearing["setup"] == found.vanishing["setup"]


def test_answers_that_only_the_new_book_refuses_are_named():
    questions = {id: question for id, question in BOOK.questions.items() if id != "relief"}
    found = effect(
        BOOK, replace(BOOK, questions=questions), {"x": Walkin({"family": "banjo", "relief": "1 mm"})}, DAY
    )
    assert list(found.refused["x"]) == ["relief"]


def test_a_walkin_that_cannot_be_quoted_does_not_hide_the_others():
    never = replace(BOOK, shop=replace(BOOK.shop, open_hours={}))
    found = effect(BOOK, never, {"x": WALKINS["01-plain-restring"]}, DAY)
    assert not found.changes and "open hours" in found.failed["x"] and found.broken == ("x",)
    assert effect(never, BOOK, {"x": WALKINS["01-plain-restring"]}, DAY).broken == ()
    with pytest.raises(NeverOpenError):
        make_quote(never, WALKINS["01-plain-restring"], DAY)


def test_a_stored_walkin_and_book_give_the_same_quote_to_the_cent(tmp_path, walkins):
    """The book has changed since; the walk-in and the old book come back from their stored forms."""
    folder = tmp_path / "book"
    shutil.copytree(demo_book(), folder)
    store = Store(tmp_path / "data")
    first = load_book(folder)
    with store.writing() as db:
        books.keep(db, first.digest, folder, datetime.now(UTC))
    made = {name: dumps(make_quote(first, walkin, DAY)) for name, walkin in walkins.items()}
    stored = {name: as_json(walkin) for name, walkin in walkins.items()}
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text().replace('labour_rate = "72"', 'labour_rate = "90"'))
    changed = load_book(folder)
    books.unpack(store.db, first.digest, tmp_path / "again")
    again = load_book(tmp_path / "again")
    assert again.digest == first.digest != changed.digest
    for name, text in stored.items():
        quote = make_quote(again, from_json(text), DAY)
        assert loads(made[name]) == quote
        assert make_quote(changed, from_json(text), DAY).offers != quote.offers
