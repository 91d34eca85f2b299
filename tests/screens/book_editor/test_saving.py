"""From a draft to the book in force, and back; every page and thread changes over at once."""

from __future__ import annotations

import json
import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from intake.book.model import Book
from intake.config import demo_book
from intake.quoting.effect import Effect, effect
from intake.screens.book_editor import preview
from intake.services.current_book import load_files
from intake.services.ticket_view import TicketView
from intake.store import revisions


def usual(owner: Any, ticket: str) -> Decimal:
    """What “put right” costs just now."""
    summary = TicketView.of(owner.ctx, owner.ctx.store.db, ticket).summary
    assert summary
    return summary.usual.total


def raise_rate(owner: Any, rate: str = "90") -> None:
    assert owner.change("/book/money", labour_rate=rate).status_code == 303
    assert owner.save().status_code == 303


def test_a_save_is_a_revision_with_who_when_and_what(owner: Any, ctx: Any, clock: Any) -> None:
    clock.move(hours=1)
    raise_rate(owner)
    now, first = revisions.latest(ctx.store.db, 9)
    assert (now.number, now.replaced, now.kind, now.who) == (2, 1, "edit", "Mara Lindt")
    assert now.at == "2026-11-25T16:00:00.000Z" and now.changes == "Labour rate, an hour: 72 → 90"
    assert (first.kind, first.about) == ("start", "pricing_demo") and first.digest != now.digest
    *_rest, event = ctx.store.db.table("events").rows
    assert (event["what"], event["who"], event["device"]) == ("book saved", "Mara Lindt", "Front")
    assert json.loads(event["detail"]) == {"revision": 2, "replaced": 1, "kind": "edit"}
    page = owner.client.get("/book/?saved=2").text
    assert "Saved: book 2 is in force." in page and "Labour rate, an hour: 72 → 90" in page


def test_nothing_is_in_force_before_it_is_saved(owner: Any, ctx: Any, quoted: str) -> None:
    before = usual(owner, quoted)
    owner.change("/book/money", labour_rate="90")
    assert ctx.book.shop.labour_rate == 72 and usual(owner, quoted) == before
    owner.save()
    assert ctx.book.shop.labour_rate == 90 and usual(owner, quoted) > before


def test_every_thread_has_the_new_book_at_once(owner: Any, ctx: Any) -> None:
    def rate(_: int) -> Decimal:
        found: Decimal = ctx.book.shop.labour_rate
        ctx.store.close()
        return found

    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(rate, range(8))) == {72}
        raise_rate(owner)
        assert set(threads.map(rate, range(8))) == {90}


def test_the_effect_on_past_quotes_is_what_they_would_cost(owner: Any, phone: Any, quoted: str) -> None:
    answer = phone.client.post(f"/tickets/{quoted}/quotes")
    before = usual(owner, quoted)
    owner.change("/book/money", labour_rate="90")
    page = owner.page("/book/effect")
    sums = re.findall(r"\$[\d,]+\.\d\d", page.xpath("//p[@class='sum']")[0].text_content())
    raise_rate(owner)
    assert "The last quote would have been" in page.text_content()
    assert f"${before:,}" == sums[0] and f"${usual(owner, quoted):,}" == sums[1]
    frozen = phone.client.get(answer.headers["Location"]).text
    assert sums[0] in frozen and sums[1] not in frozen


def test_jobs_that_vanish_are_named(owner: Any, phone: Any, quoted: str) -> None:
    phone.client.post(f"/tickets/{quoted}/quotes")
    for row in owner.page("/book/tables/remedies.csv?q=neck-reset").xpath("//tbody/tr/@id")[::-1]:
        seen = owner.form(f"/book/rows/{row[1:]}/remedies.csv")["seen"]
        owner.client.post(f"/book/rows/{row[1:]}/move/remedies.csv", data={"do": "remove", "seen": seen})
    page = owner.page("/book/effect").text_content()
    assert "Jobs that vanish" in page and "Biggest falls" in page and "in 1 quote" in page


def test_a_draft_survives_going_away_and_gathers_changes(owner: Any, ctx: Any, clock: Any) -> None:
    owner.change("/book/money", labour_rate="90")
    clock.move(hours=3)
    assert owner.form("/book/money")["labour_rate"] == "90"
    owner.change("/book/hours", mon="10-18")
    owner.save()
    (now, _first) = revisions.latest(ctx.store.db, 9)
    assert now.changes.split("\n") == ["Labour rate, an hour: 72 → 90", "Monday: nothing → 10:00-18:00"]


def test_changing_back_leaves_no_draft(owner: Any) -> None:
    owner.change("/book/money", labour_rate="90")
    owner.change("/book/money", labour_rate="72")
    assert not owner.drafted and owner.client.get("/book/effect").headers["Location"] == "/book/"


def test_a_draft_can_be_dropped(owner: Any) -> None:
    owner.change("/book/money", labour_rate="90")
    owner.client.post("/book/drop")
    assert not owner.drafted and owner.form("/book/money")["labour_rate"] == "72" and owner.numbers == [1]


def test_taking_back_makes_a_revision_and_loses_none(owner: Any, ctx: Any) -> None:
    raise_rate(owner)
    answer = owner.client.post("/book/back/1")
    assert answer.headers["Location"] == "/book/effect" and ctx.book.shop.labour_rate == 90
    assert "Labour rate, an hour: 90 → 72" in owner.client.get("/book/effect").text
    owner.save()
    assert ctx.book.shop.labour_rate == 72 and owner.numbers == [3, 2, 1]
    assert owner.file("shop.toml") == (demo_book() / "shop.toml").read_text("utf-8")
    owner.client.post("/book/back/2")
    owner.save()
    assert ctx.book.shop.labour_rate == 90 and owner.numbers == [4, 3, 2, 1]


def test_taking_back_never_costs_a_draft(owner: Any, ctx: Any) -> None:
    raise_rate(owner)
    owner.change("/book/hours", mon="10-18")
    answer = owner.client.post("/book/back/1")
    assert answer.status_code == 409 and "Save them or drop them first" in answer.text
    assert owner.form("/book/hours")["mon"] == "10:00-18:00"
    assert owner.client.post("/book/back/99").status_code == 404
    owner.client.post("/book/drop")
    assert owner.client.post("/book/back/2").status_code == 409 and not owner.drafted


def test_what_is_saved_is_what_was_shown(owner: Any) -> None:
    """A second window changed the draft after the effect was shown; a second tap does nothing."""
    owner.change("/book/money", labour_rate="90")
    (form,) = [form for form in owner.page("/book/effect").forms if form.get("id") == "save"]
    owner.change("/book/money", labour_rate="9000")
    answer = owner.client.post("/book/save", data=dict(form.form_values()))
    assert answer.status_code == 409 and "moved on" in answer.text and owner.numbers == [1]
    owner.save()
    assert owner.client.post("/book/save", data={"mark": "x"}).status_code == 303 and owner.numbers == [2, 1]


def test_a_draft_whose_base_was_replaced_is_not_saved_over_it(owner: Any, ctx: Any) -> None:
    """The command line brought a book in meanwhile; the draft was of the one before."""
    owner.change("/book/money", labour_rate="90")
    files = revisions.files_of(ctx.store.db, 1) | {"README.md": b"another"}
    with ctx.store.writing() as db:
        revisions.put_in_force(db, ctx.book.digest, files, ctx.now(), "load")
    answer = owner.client.get("/book/effect")
    assert "Another book came into force" in answer.text and ">Save<" not in answer.text
    assert owner.client.post("/book/save", data={"mark": marked(owner)}).status_code == 409
    assert owner.numbers == [2, 1] and ctx.book.shop.labour_rate == 72


def marked(owner: Any) -> str:
    (form,) = [form for form in owner.page("/book/effect").forms if form.get("id") == "save"]
    return str(dict(form.form_values())["mark"])


def test_a_phone_with_an_older_checklist_goes_on(owner: Any, phone: Any, ctx: Any, ticket: str) -> None:
    """It still asks what the book no longer asks: its step is saved, and the rest of it counts."""
    files = revisions.files_of(ctx.store.db, 1)
    serial = re.compile(r'\[\[question\]\]\nid = "serial"\n(?:.+\n)+\n')
    files["checklist.toml"] = serial.sub("", files["checklist.toml"].decode()).encode()
    book = load_files(files)
    with ctx.store.writing() as db:
        revisions.put_in_force(db, book.digest, files, ctx.now(), "load")
    pairs = [("family", "archtop"), ("serial", "A 17")]
    answer = phone.save(ticket, "instrument", pairs)
    assert answer.status_code == 200 and answer.headers["Saved-Key"]
    assert "serial" not in ctx.book.questions and ctx.step("instrument")


def test_only_the_owner_gets_in(client: Any, badge: Any, app: Any, ctx: Any) -> None:
    bench = app.test_client(badge=badge(ctx, "bench", "Ida Moreau", "Back"))
    for one in (client, bench):
        assert one.get("/book/").status_code == 403
        assert one.post("/book/money", data={"labour_rate": "1"}).status_code == 403
        assert "/book/" not in one.get("/").text
    assert revisions.draft(ctx.store.db) is None


def test_an_old_quote_keeps_its_price_and_freezing_again_makes_the_next(
    owner: Any, phone: Any, quoted: str
) -> None:
    first = phone.client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    old = f"{usual(owner, quoted):,}"
    raise_rate(owner)
    second = phone.client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    assert first.endswith("/1") and second.endswith("/2")
    new = f"{usual(owner, quoted):,}"
    assert old in phone.client.get(first).text and new not in phone.client.get(first).text
    assert new in phone.client.get(second).text


def test_a_shop_without_quotes_tries_its_samples(owner: Any) -> None:
    owner.change("/book/money", labour_rate="90")
    page = owner.page("/book/effect").text_content()
    assert "No quote yet; 3 samples would have been" in page and "Biggest rises" in page


def test_a_book_that_cannot_quote_what_the_old_one_could_is_not_saved(
    owner: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last fence behind loader and checker, which no book that this test knows gets past."""

    def never(old: Book, new: Book, walkins: Any, today: date) -> Effect:
        return effect(old, replace(new, shop=replace(new.shop, open_hours={})), walkins, today)

    monkeypatch.setattr(preview, "effect", never)
    owner.change("/book/money", labour_rate="90")
    answer = owner.client.get("/book/effect")
    assert "they cannot be saved" in answer.text and ">Save<" not in answer.text
    assert owner.client.post("/book/save", data={"mark": marked(owner)}).status_code == 422
    assert owner.numbers == [1] and owner.form("/book/money")["labour_rate"] == "90"
