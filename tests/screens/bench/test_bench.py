"""What is on the bench: every quote is dated behind it, and a ticket leaves it when somebody says so."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.quoting.quote import make_quote
from intake.quoting.serialise import loads
from intake.services.context import Context
from intake.services.walkins import from_json
from intake.store import bench, decisions, events, quotes, tickets

Pairs = list[tuple[str, str]]
Accept = Callable[[], str]


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No WeasyPrint."""
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF")


@pytest.fixture
def taken_down(client: FlaskClient, sample: Callable[[str], Pairs]) -> Callable[[str], str]:
    """`taken_down("03")` is a new ticket with that walk-in."""

    def take(number: str) -> str:
        ticket = str(uuid4())
        answer = client.post(f"/tickets/{ticket}", data=MultiDict(sample(number)))
        assert answer.status_code == 303, answer.text
        return ticket

    return take


@pytest.fixture
def accepted(client: FlaskClient, taken_down: Callable[[str], str], ctx: Context) -> Iterator[Accept]:
    """Makes a ticket whose quote somebody said yes to at the counter."""

    def accept() -> str:
        ticket = taken_down("03")
        say_yes(client, ctx, ticket)
        return ticket

    yield accept


def say_yes(client: FlaskClient, ctx: Context, ticket: str) -> None:
    place = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    text = client.get(f"{place}/goahead").text
    hidden = {
        name: text.split(f'name="{name}" value="')[1].split('"')[0] for name in ("quote", "total", "ready")
    }
    frozen = quotes.latest(ctx.store.db, ticket)
    assert frozen
    jobs = json.loads(frozen.quote)["offers"]["put_right"]["jobs"]
    form = {**hidden, "jobs": jobs, "name": "R. Okafor", "agreed": "yes"}
    answer = client.post(f"{place}/goahead", data=form)
    assert answer.status_code == 303, answer.text


def ready(ctx: Context, ticket: str) -> date:
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.ready
    return date.fromisoformat(found.ready)


def touch(phone: Any, ticket: str, based_on: int = 1) -> None:
    """A save that changes nothing which work asks for."""
    phone.save(ticket, "hardware-and-wiring", [("tuners", "good")], based_on=based_on)


def test_the_second_quote_is_dated_behind_the_first_yes(
    taken_down: Callable[[str], str], accepted: Accept, ctx: Context
) -> None:
    alone = ready(ctx, taken_down("05"))
    accepted()
    behind = ready(ctx, taken_down("05"))
    for _ in range(3):
        accepted()
    assert alone < behind < ready(ctx, taken_down("05"))


def test_all_pages_give_the_same_day(
    client: FlaskClient, taken_down: Callable[[str], str], accepted: Accept, ctx: Context
) -> None:
    """The running price, step 12, the frozen quote, and what the customer chooses from."""
    accepted()
    ticket = taken_down("05")
    day = f"{ready(ctx, ticket):%B %-d}"
    assert day in client.get(f"/tickets/{ticket}/summary").text
    place = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    assert day in client.get(place).text
    frozen = quotes.latest(ctx.store.db, ticket)
    assert frozen and json.loads(frozen.quote)["offers"]["put_right"]["ready_today"] == str(
        ready(ctx, ticket)
    )
    assert day in client.get(f"{place}/goahead").text


def test_a_frozen_quote_computes_again_with_its_days(
    client: FlaskClient, taken_down: Callable[[str], str], accepted: Accept, ctx: Context
) -> None:
    accepted()
    ticket = taken_down("05")
    client.post(f"/tickets/{ticket}/quotes")
    accepted()
    frozen = quotes.latest(ctx.store.db, ticket)
    assert frozen
    kept = loads(frozen.exact)
    assert kept.booked
    book, walkin = ctx.book_of(frozen.book_digest), from_json(frozen.walkin)
    again = make_quote(book, walkin, kept.made_on, booked=kept.booked, adjust=kept.discount)
    assert (again.offers, again.jobs) == (kept.offers, kept.jobs)


def test_the_day_is_computed_again_at_the_yes(
    client: FlaskClient, taken_down: Callable[[str], str], accepted: Accept, ctx: Context
) -> None:
    """Between quote and yes others said yes: what is agreed is the later day, what was printed stays."""
    ticket = taken_down("05")
    client.post(f"/tickets/{ticket}/quotes")
    printed = ready(ctx, ticket)
    for _ in range(3):
        accepted()
    say_yes(client, ctx, ticket)
    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    frozen = quotes.latest(ctx.store.db, ticket)
    assert yes and frozen
    assert date.fromisoformat(yes.ready) == ready(ctx, ticket) > printed
    assert json.loads(frozen.quote)["offers"]["put_right"]["ready_today"] == printed.isoformat()


def test_a_ticket_does_not_stand_in_its_own_way(phone: Any, accepted: Accept, ctx: Context) -> None:
    ticket = accepted()
    promised = ready(ctx, ticket)
    touch(phone, ticket)
    assert ready(ctx, ticket) == promised


def test_work_done_frees_the_bench_and_can_be_taken_back(
    client: FlaskClient, taken_down: Callable[[str], str], accepted: Accept, ctx: Context
) -> None:
    alone = ready(ctx, taken_down("05"))
    ticket = accepted()
    before = bench.taken(ctx.store.db, "", ctx.today)
    assert client.post(f"/tickets/{ticket}/work/done").headers["Location"] == "/bench"
    assert bench.taken(ctx.store.db, "", ctx.today) == ()
    assert ready(ctx, taken_down("05")) == alone
    client.post(f"/tickets/{ticket}/work/again")
    assert bench.taken(ctx.store.db, "", ctx.today) == before
    client.post(f"/tickets/{ticket}/work/done")
    client.post(f"/tickets/{ticket}/work/done")
    client.post(f"/tickets/{ticket}/work/collected")
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "collected"
    said = [event for event in events.of_ticket(ctx.store.db, ticket) if "done" in event["what"]]
    assert [event["what"] for event in said] == ["work done", "work not done after all", "work done"]
    assert {event["who"] for event in said} == {"Noor Amari"} and {e["device"] for e in said} == {"Front"}


def test_a_slip_on_handed_back_can_be_taken_back_on_the_page_that_follows(
    client: FlaskClient, accepted: Accept, taken_down: Callable[[str], str], ctx: Context
) -> None:
    ticket = accepted()
    kept, undo = f"/tickets/{ticket}/work/kept", f'action="/tickets/{ticket}/work/kept"'
    client.post(kept)  # nothing was handed back: nothing to take back
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "signed" and undo not in client.get(f"/bench?handed={ticket}").text
    client.post(f"/tickets/{ticket}/work/done")
    onward = client.post(f"/tickets/{ticket}/work/collected").headers["Location"]
    assert undo in client.get(onward).text and undo not in client.get("/bench").text
    client.post(kept)
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "done" and undo not in client.get(onward).text
    assert f"/tickets/{ticket}/work/collected" in client.get("/bench").text
    assert events.of_ticket(ctx.store.db, ticket)[-1]["what"] == "not handed back after all"
    refused = taken_down("05")
    client.post(f"/tickets/{refused}/work/collected")
    assert client.post(f"/tickets/{refused}/work/kept").status_code == 409


@pytest.mark.parametrize("moves", [[], ["done"], ["done", "collected"]], ids=["signed", "done", "collected"])
def test_what_was_agreed_stands_whatever_is_measured_later(
    client: FlaskClient, accepted: Accept, phone: Any, ctx: Context, moves: list[str]
) -> None:
    ticket = accepted()
    for move in moves:
        client.post(f"/tickets/{ticket}/work/{move}")
    before = tickets.find(ctx.store.db, ticket)
    phone.save(ticket, "action", [("action_bass_12", "9/64 in")])
    after = tickets.find(ctx.store.db, ticket)
    assert before and after and (after.total, after.ready) == (before.total, before.ready)


def test_who_said_no_fetches_the_instrument(
    client: FlaskClient, taken_down: Callable[[str], str], ctx: Context
) -> None:
    ticket = taken_down("03")
    place = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    assert client.post(f"{place}/goahead/no", data={"words": "", "way": "counter"}).status_code == 303
    back = f"/tickets/{ticket}/work/collected"
    assert back in client.get("/bench").text.partition("Said no, to be collected")[2]
    client.post(back)
    assert back not in client.get("/bench").text
    client.post(f"/tickets/{ticket}/work/kept")
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "refused"


def test_a_page_from_before_puts_nothing_back_on_the_bench(
    client: FlaskClient, accepted: Accept, ctx: Context
) -> None:
    ticket = accepted()
    client.post(f"/tickets/{ticket}/work/done")
    client.post(f"/tickets/{ticket}/work/collected")
    assert client.post(f"/tickets/{ticket}/work/again").status_code == 409
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "collected"


def test_the_page_lists_what_is_promised_and_what_waits(
    client: FlaskClient, accepted: Accept, clock: Any, app: Flask, badge: Any, ctx: Context
) -> None:
    first, second = accepted(), accepted()
    client.post(f"/tickets/{first}/work/done")
    text = client.get("/bench").text
    promised, _, done = text.partition("Done, to be collected")
    assert f"/tickets/{second}/work/done" in promised and f"/tickets/{first}/work/done" not in promised
    assert f"/tickets/{first}/work/collected" in done
    assert "late" not in promised
    clock.move(days=120)
    assert "late" in app.test_client(badge=badge(ctx)).get("/bench").text


def hours_booked(ctx: Context, day: date) -> int:
    """What other tickets find on the bench on that day, in seconds."""
    return sum(seconds for _, seconds in bench.taken(ctx.store.db, "", day))


def test_what_slips_stays_on_the_bench_until_somebody_says_that_it_is_done(
    accepted: Accept, ctx: Context
) -> None:
    """On the day after the last work before the ready day, nobody having said anything."""
    ticket = accepted()
    days = [date.fromisoformat(day) for day, _ in bench.taken(ctx.store.db, "", ctx.today)]
    after_the_last = max(day for day in days if day < ready(ctx, ticket)) + timedelta(days=1)
    whole = hours_booked(ctx, ctx.today)

    slipped = bench.taken(ctx.store.db, "", after_the_last)

    assert sum(seconds for _, seconds in slipped) == whole
    assert min(slipped)[0] == after_the_last.isoformat()


def test_a_part_that_is_done_leaves_the_bench_and_can_be_taken_back(
    client: FlaskClient, accepted: Accept, app: Flask, badge: Any, clock: Any, ctx: Context
) -> None:
    ticket = accepted()
    whole = hours_booked(ctx, ctx.today)
    (first, some), *_ = bench.taken(ctx.store.db, "", ctx.today)
    clock.move(days=(date.fromisoformat(first) - ctx.today).days)
    phone = app.test_client(badge=badge(ctx))
    part, again = f"/tickets/{ticket}/work/part", f"/tickets/{ticket}/work/again"
    assert f'action="{part}"' in phone.get("/bench").text

    onward = phone.post(part).headers["Location"]

    assert hours_booked(ctx, ctx.today) == whole - some
    page = phone.get(onward).text
    assert f'action="{again}"' in page and f'action="{part}"' not in page
    phone.post(again)
    assert hours_booked(ctx, ctx.today) == whole


def test_the_last_part_is_the_whole(client: FlaskClient, accepted: Accept, ctx: Context) -> None:
    """All that is left is not done in part: the ticket would be on no list any more."""
    ticket = accepted()
    db = ctx.store.db
    last = date.fromisoformat(bench.taken(db, "", ctx.today)[-1][0])

    assert not bench.part_done(db, ticket, last)

    assert hours_booked(ctx, ctx.today) > 0


def test_only_an_accepted_ticket_goes_back_to_the_bench(
    client: FlaskClient, taken_down: Callable[[str], str]
) -> None:
    ticket = taken_down("01")
    assert client.post(f"/tickets/{ticket}/work/again").status_code == 409
    assert client.post(f"/tickets/{uuid4()}/work/done").status_code == 404
    assert client.post(f"/tickets/{ticket}/work/lost").status_code == 404
