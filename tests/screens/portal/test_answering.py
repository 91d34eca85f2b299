"""Choosing, asking, saying yes or no: bound to what was shown, once, and seen at the counter."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.services.context import Context
from intake.store import decisions, quotes, tickets
from tests.fields import to_pairs

LINE = "10,20 30,40 50,60 70,80 90,100"


def state(ctx: Context, ticket: str) -> str:
    found = tickets.find(ctx.store.db, ticket)
    assert found
    return found.state


def offers(ctx: Context, ticket: str) -> dict[str, Any]:
    frozen = quotes.latest(ctx.store.db, ticket)
    assert frozen
    return json.loads(frozen.quote)["offers"]


def test_what_the_shop_would_do_is_chosen_at_first(customer: Any, ctx: Context, ticket: str) -> None:
    usual = offers(ctx, ticket)["put_right"]
    form = customer.form()
    assert form["total"] == usual["total"]
    assert set(form["jobs"]) == set(usual["jobs"])


def test_another_offer_is_its_total_to_the_cent(customer: Any, ctx: Context, ticket: str) -> None:
    for tier, offer in offers(ctx, ticket).items():
        answer = customer.post("choice", offer=tier)
        assert answer.status_code == 303
        assert customer.form()["total"] == offer["total"]
    assert state(ctx, ticket) == "chosen"


def test_a_dropped_job_takes_with_it_what_needs_it(customer: Any) -> None:
    before = customer.form()
    customer.post("choice", jobs=before["jobs"], drop="neck-reset")
    after = customer.form()
    gone = set(before["jobs"]) - set(after["jobs"])
    assert {"neck-reset", "fret-level-crown"} <= gone
    assert Decimal(after["total"]) < Decimal(before["total"])


def test_an_added_job_brings_what_it_needs_and_says_for_what(customer: Any) -> None:
    customer.post("choice", jobs=[], add="fret-level-crown")
    text = customer.get().text
    assert re.search(r'class="pick needed" data-job="neck-reset"', text)
    assert "Needed for: Level, crown" in text
    assert customer.form()["jobs"] == ["fret-level-crown"]


@pytest.mark.parametrize("brought", ["21-archtop-bridge-bottomed"])
def test_a_job_that_another_stands_in_place_of_says_so(customer: Any) -> None:
    """The set-up would need the floating bridge refitted; the reset does away with that."""
    customer.post("choice", jobs=["setup"], add="neck-reset")

    begin = '<li class="pick replaced" data-job="floating-bridge-fit">'
    row = customer.get().text.partition(begin)[2].partition("</li>")[0]
    assert "“Reset the neck (glued joint)” takes its place" in row
    assert "<button" not in row


def test_with_htmx_only_the_choice_comes_back(customer: Any) -> None:
    form = customer.form()
    answer = customer.client.post(
        f"{customer.page}/choice",
        data={"jobs": form["jobs"], "drop": "setup"},
        headers={"HX-Request": "true"},
    )
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="choice">') and "<html" not in answer.text


@pytest.mark.parametrize("fields", [{"add": "gold-plating"}, {"jobs": ["x"]}, {"offer": "cheapest"}])
def test_what_the_quote_does_not_have_is_refused(customer: Any, fields: Any) -> None:
    assert customer.post("choice", **fields).status_code == 400


def test_a_yes_is_kept_with_time_name_sum_and_the_hash_of_the_quote(
    customer: Any, ctx: Context, ticket: str, clock: Any
) -> None:
    usual = offers(ctx, ticket)["put_right"]
    assert customer.say_yes(name="  Rose   Okafor ").status_code == 303
    frozen = quotes.find(ctx.store.db, ticket, 1)
    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert frozen and yes
    assert yes.quote_sha256 == hashlib.sha256(frozen.exact.encode()).hexdigest()
    assert (yes.name, yes.way, yes.signature) == ("Rose Okafor", "link", "typed")
    assert (yes.total, yes.ready, yes.deposit) == (usual["total"], usual["ready_today"], usual["deposit"])
    assert yes.job_ids == tuple(usual["jobs"])
    assert yes.at == "2026-11-25T15:00:00.000Z"
    assert state(ctx, ticket) == "signed"
    text = customer.get().text
    assert "Rose Okafor said yes" in text and "Take out" not in text


def test_a_drawn_signature_needs_no_tick(customer: Any, ctx: Context, ticket: str) -> None:
    answer = customer.say_yes(agreed="", drawn=LINE)
    assert answer.status_code == 303
    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and yes.signature == LINE
    assert f'points="{LINE}"' in customer.get().text


@pytest.mark.parametrize("drawn", ['"><script>', "1,1", "1,1 2,2;;", "9" * 30000, "1e9,2 3,4 5,6 7,8 9,9"])
def test_what_is_no_signature_signs_nothing(customer: Any, drawn: str) -> None:
    assert customer.say_yes(agreed="", drawn=drawn).status_code == 422


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": " "}, "write your name"),
        ({"agreed": ""}, "tick the box"),
        ({"jobs": [], "total": "0.00"}, ""),
    ],
)
def test_what_is_missing_is_said_and_nothing_kept(
    customer: Any, ctx: Context, ticket: str, change: Any, says: str
) -> None:
    answer = customer.say_yes(**change)
    assert answer.status_code == 422 and says in answer.text
    assert decisions.go_ahead(ctx.store.db, ticket, 1) is None


@pytest.mark.parametrize(
    ("change", "field"), [({"name": " "}, "yes-name"), ({"name": "R. Okafor", "agreed": ""}, "yes-agreed")]
)
def test_what_is_missing_is_said_beside_its_field(customer: Any, change: Any, field: str) -> None:
    page = customer.say_yes(**change).text

    assert page.count('role="alert"') == page.count(f'class="problem" id="e-{field}" role="alert"') == 1
    assert f'value="{change["name"].strip()}"' in page


@pytest.mark.parametrize("change", [{"total": "1.00"}, {"quote": "0" * 64}, {"jobs": ["setup"]}])
def test_a_yes_to_something_else_than_was_shown_is_none(
    customer: Any, ctx: Context, ticket: str, change: Any
) -> None:
    assert customer.say_yes(**change).status_code == 409
    assert decisions.go_ahead(ctx.store.db, ticket, 1) is None


def test_a_second_yes_changes_nothing(customer: Any, ctx: Context, ticket: str) -> None:
    form = {**customer.form(), "name": "R. Okafor", "agreed": "yes"}
    with ThreadPoolExecutor(4) as threads:
        got = list(threads.map(lambda _: customer.post("yes", **form).status_code, range(4)))
    assert sorted(got) == [303, 410, 410, 410]
    kept = [one for one in decisions.of_ticket(ctx.store.db, ticket) if one.kind == "goahead"]
    assert len(kept) == 1


def test_a_revised_quote_asks_anew(
    customer: Any, client: FlaskClient, phone: Any, linked: Any, ctx: Context, ticket: str, quoted: str
) -> None:
    customer.say_yes()
    phone.save(ticket, "hardware-and-wiring", [("tuners", "stiff")])
    second = str(client.post(f"/tickets/{ticket}/quotes").headers["Location"])
    assert second.endswith("/2")
    assert decisions.go_ahead(ctx.store.db, ticket, 2) is None
    assert state(ctx, ticket) == "quoted"
    assert client.post(f"{quoted}/link").status_code == 409


def test_an_old_revision_can_no_longer_be_agreed_to(
    customer: Any, client: FlaskClient, phone: Any, ctx: Context, ticket: str
) -> None:
    form = {**customer.form(), "name": "R", "agreed": "yes"}
    phone.save(ticket, "hardware-and-wiring", [("tuners", "stiff")])
    client.post(f"/tickets/{ticket}/quotes")
    assert "the newer one" in customer.get().text
    answer = customer.post("yes", **form)
    assert answer.status_code == 410 and "newer quote" in answer.text


def test_a_question_reaches_the_shop_once(
    customer: Any, client: FlaskClient, ctx: Context, ticket: str, quoted: str
) -> None:
    for _ in range(2):
        assert customer.post("question", question="Is <b>lacquer</b> touched?").status_code == 303
    asked = [one.words for one in decisions.of_ticket(ctx.store.db, ticket)]
    assert asked == ["Is <b>lacquer</b> touched?"]
    assert state(ctx, ticket) == "question"
    assert "Is &lt;b&gt;lacquer" in customer.get().text
    assert "Is &lt;b&gt;lacquer" in client.get(f"{quoted}/send").text


def test_questions_have_an_end(customer: Any, ctx: Context, ticket: str) -> None:
    for number in range(decisions.MOST_QUESTIONS + 5):
        customer.post("question", question=f"And what about {number}?")
    assert len(decisions.of_ticket(ctx.store.db, ticket)) == decisions.MOST_QUESTIONS


def test_a_question_after_the_yes_leaves_it_signed(customer: Any, ctx: Context, ticket: str) -> None:
    customer.say_yes()
    customer.post("question", question="When can I bring the case?")
    assert state(ctx, ticket) == "signed"


def test_what_was_agreed_stays_on_the_board_while_the_ticket_is_looked_at(
    customer: Any, ctx: Context, ticket: str, phone: Any
) -> None:
    customer.post("choice", offer="playable", **customer.form())
    customer.say_yes()
    agreed = tickets.find(ctx.store.db, ticket)
    phone.save(ticket, "customer", [("customer_name", "Rose Okafor")])
    now = tickets.find(ctx.store.db, ticket)
    assert now.name == "Rose Okafor"
    assert (now.state, now.total, now.ready) == ("signed", agreed.total, agreed.ready)


def test_a_no_has_its_reason_and_may_become_a_yes(customer: Any, ctx: Context, ticket: str) -> None:
    customer.post("no", reason="Too much for now.")
    assert state(ctx, ticket) == "refused"
    assert decisions.of_ticket(ctx.store.db, ticket)[-1].words == "Too much for now."
    customer.say_yes()
    assert state(ctx, ticket) == "signed"


@pytest.mark.parametrize("way", ["counter", "telephone"])
def test_the_shop_notes_a_no_with_who_took_it(
    client: FlaskClient, ctx: Context, ticket: str, quoted: str, way: str
) -> None:
    page = client.get(f"{quoted}/goahead").text
    assert f'action="{quoted}/goahead/no"' in page and "How the no was given" in page
    client.post(f"{quoted}/goahead/no", data={"way": way, "reason": "Sells it as it is.", "name": "Rose"})
    no = decisions.of_ticket(ctx.store.db, ticket)[-1]
    assert (no.kind, no.way, no.words, no.name) == ("refused", way, "Sells it as it is.", "Rose")
    assert no.who and state(ctx, ticket) == "refused"
    assert "Sells it as it is." in client.get(f"{quoted}/send").text


def test_the_dates_are_worked_out_anew_once_others_have_said_yes(
    customer: Any, client: FlaskClient, phone: Any, ctx: Context, ticket: str, held: Any
) -> None:
    """The same work on a second instrument: its customer is told a later day once the first has agreed."""
    from uuid import uuid4

    other = str(uuid4())
    phone.take_in(other, to_pairs(ctx.book, held(ticket)))
    client.post(f"/tickets/{other}/quotes")
    page = f"/tickets/{other}/quotes/1/goahead"
    before = re.findall(r"Ready ([A-Z]\w+ \d+, \d+)", client.get(page).text)
    customer.say_yes()
    after = re.findall(r"Ready ([A-Z]\w+ \d+, \d+)", client.get(page).text)
    assert before and after and before != after
    link = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"/tickets/{other}/quotes/1/link").text)
    assert link and "later than those first quoted" in client.get(link[1]).text
    assert "later than those first quoted" not in customer.get().text


def test_an_only_offer_is_called_the_work_wherever_it_is_named(
    client: FlaskClient, phone: Any, ctx: Context, ticket: str, quick: None
) -> None:
    (path,) = (demo_book() / "walkins").glob("56-*.toml")
    phone.take_in(ticket, to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"]))
    page = client.get(f"{client.post(f'/tickets/{ticket}/quotes').headers['Location']}/goahead").text
    assert "The customer ordered this work: The work, " in page and "Put right" not in page


def test_staff_take_the_yes_at_the_counter_and_by_telephone(
    customer: Any, client: FlaskClient, ctx: Context, ticket: str, quoted: str
) -> None:
    form = {**customer.form(), "name": "Rose Okafor", "agreed": "yes", "way": "telephone"}
    answer = client.post(f"{quoted}/goahead", data=form)
    assert answer.status_code == 422 and "who said what" in answer.text
    answer = client.post(f"{quoted}/goahead", data={**form, "note": "Rose said yes to Max at 4 pm."})
    assert answer.status_code == 303
    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and (yes.way, yes.words) == ("telephone", "Rose said yes to Max at 4 pm.")
    assert client.post(f"{quoted}/goahead", data=form).status_code == 409
    assert "By telephone." in client.get(f"{quoted}/send").text


def test_words_are_only_words(customer: Any, client: FlaskClient, quoted: str) -> None:
    hostile = '"><script>alert(1)</script>{{ 7919*7907 }}'
    customer.post("no", reason=hostile, name=hostile)
    customer.say_yes(name=hostile)
    for page in (customer.get().text, client.get(f"{quoted}/send").text):
        assert "<script>alert" not in page and "62615533" not in page


def test_where_nothing_needs_doing_nothing_is_asked(client: FlaskClient, phone: Any, quick: None) -> None:
    ticket = "01890a5d-ac96-774b-bcce-b302099a8057"
    phone.save(ticket, "instrument", [("family", "steel-string")])
    quoted = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"{quoted}/link").text)
    assert found
    page = client.get(found[1]).text
    assert "Nothing needs doing." in page and "Say yes" not in page
    assert client.get(f"{quoted}/goahead").status_code == 200


def test_what_was_handed_back_takes_no_yes(
    customer: Any, client: FlaskClient, ctx: Context, ticket: str
) -> None:
    form = {**customer.form(), "name": "R. Okafor", "agreed": "yes"}
    customer.post("no", reason="Too much")
    client.post(f"/tickets/{ticket}/work/collected")

    answer = customer.post("yes", **form)

    assert answer.status_code == 409
    assert "was handed back" in answer.text
    assert state(ctx, ticket) == "collected"
    assert client.get("/bench").text.count(ticket) == 0


@pytest.mark.parametrize("name", ["\u200b", "\u2060", "\u00ad", "\u3164", "\uffa0", "—", " "])
def test_a_name_that_nobody_can_read_is_none(customer: Any, ctx: Context, ticket: str, name: str) -> None:
    answer = customer.say_yes(name=name)

    assert answer.status_code == 422
    assert "Please write your name" in answer.text
    assert state(ctx, ticket) != "signed"


@pytest.mark.parametrize("name", ["Ρ", "李", "م", "R. O’Kafor"])
def test_a_name_in_any_writing_is_one(customer: Any, ctx: Context, ticket: str, name: str) -> None:
    customer.say_yes(name=name)

    assert state(ctx, ticket) == "signed"
