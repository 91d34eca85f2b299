"""Edits over HTTP: what is answered, what stands, and what a page is told."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.services.edits import MOST_VALUES
from intake.store import edits, privacy, quotes, tickets

Held = Callable[[str], dict[str, str]]


def edit(part: str, value: str, base: str = "", **others: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "part": part, "value": value, "base": base, **others}


def fates(answer: Any) -> list[str]:
    return [became["fate"] for became in answer.json["edits"]]


def test_an_edit_opens_the_ticket_and_stands(phone: Any, ticket: str, held: Held, ctx: Context) -> None:
    sent = edit("relief", "0.008 in")

    answer = phone.send(ticket, sent, key="k-1")

    assert (answer.status_code, answer.headers["Saved-Key"]) == (200, "k-1")
    assert answer.json["edits"] == [
        {"id": sent["id"], "fate": "stands", "at": answer.json["version"], "why": ""}
    ]
    assert held(ticket) == {"relief": "0.008 in"}
    assert tickets.find(ctx.store.db, ticket)


def test_many_parts_of_one_ticket_come_in_one_request(phone: Any, ticket: str, held: Held) -> None:
    sent = [edit(f"fret_wear/{fret}", "0.006 in") for fret in range(1, 25)]
    sent += [edit(f"loose_frets/{fret}", "yes") for fret in range(1, 25)]

    answer = phone.send(ticket, *sent)

    assert fates(answer) == ["stands"] * 48
    assert len(held(ticket)) == 48


def test_more_than_fifty_are_refused(phone: Any, ticket: str, held: Held) -> None:
    answer = phone.send(ticket, *[edit(f"fret_wear/{fret}", "1") for fret in range(51)])

    assert (answer.status_code, "Saved-Key" in answer.headers) == (400, False)
    assert held(ticket) == {}


@pytest.mark.parametrize(
    "wrong", [{"id": ""}, {"id": "a b"}, {"seq": "x"}, {"seq": "-1"}, {"part": ""}, {"base": "<b>"}]
)
def test_what_no_phone_of_ours_sends_is_refused(
    phone: Any, ticket: str, held: Held, wrong: dict[str, str]
) -> None:
    answer = phone.send(ticket, {**edit("relief", "0.008 in"), **wrong})

    assert (answer.status_code, "Saved-Key" in answer.headers) == (400, False)
    assert held(ticket) == {}


def test_no_edits_are_no_request(phone: Any, ticket: str) -> None:
    assert phone.send(ticket).status_code == 400


def test_a_refused_edit_is_set_aside_and_the_next_is_taken(phone: Any, ticket: str, held: Held) -> None:
    log = str(uuid4())
    sent = [
        edit("re lief", "1", log=log, seq=1),
        edit("rod", "one_way", by="usual", log=log, seq=2),
        edit("relief", "0.008 in", log=log, seq=3),
    ]

    answer = phone.send(ticket, *sent)

    assert fates(answer) == ["refused", "refused", "stands"]
    assert [bool(became["why"]) for became in answer.json["edits"]] == [True, True, False]
    assert held(ticket) == {"relief": "0.008 in"}
    assert fates(phone.send(ticket, *sent)) == ["refused", "refused", "stands"]


def test_a_known_id_gets_what_became_of_it(phone: Any, ticket: str, ctx: Context) -> None:
    sent = edit("relief", "0.008 in")
    first = phone.send(ticket, sent)

    again = phone.send(ticket, sent)

    assert again.json["edits"] == first.json["edits"]
    assert len(edits.of_ticket(ctx.store.db, ticket)) == 1


def test_an_id_that_means_something_else_is_refused_and_not_dropped(phone: Any, ticket: str) -> None:
    sent = edit("relief", "0.008 in")
    phone.send(ticket, sent)

    answer = phone.send(ticket, {**sent, "value": "0.012 in"})

    assert fates(answer) == ["refused"]
    assert "used before" in answer.json["edits"][0]["why"]


def test_a_gap_is_answered_with_the_number_to_send_from(phone: Any, ticket: str, held: Held) -> None:
    log = str(uuid4())
    phone.send(ticket, edit("relief", "1", log=log, seq=1))

    answer = phone.send(ticket, edit("rod", "none", log=log, seq=4), edit("twist", "none", log=log, seq=5))

    assert fates(answer) == ["gap", "gap"]
    assert answer.json["from"] == {log: 2}
    assert held(ticket) == {"relief": "1"}


def test_a_log_whose_number_another_used_was_copied_and_loses_nothing(
    phone: Any, other_phone: Any, ticket: str, ctx: Context
) -> None:
    log = str(uuid4())
    phone.send(ticket, edit("relief", "1", log=log, seq=1))

    answer = other_phone.send(
        ticket, edit("twist", "none", log=log, seq=1), edit("relief", "2", log=log, seq=2)
    )

    assert fates(answer) == ["stands", "clash"]
    assert answer.json["copied"] == [log]


def test_numbers_count_by_ticket_and_log(phone: Any, ticket: str) -> None:
    log, other = str(uuid4()), str(uuid4())
    phone.send(ticket, edit("relief", "1", log=log, seq=1))

    assert fates(phone.send(other, edit("relief", "1", log=log, seq=1))) == ["stands"]
    assert fates(phone.send(ticket, edit("twist", "none", log=other, seq=1))) == ["stands"]


def test_the_answer_tells_what_changed_since_the_page_was_made(
    phone: Any, other_phone: Any, ticket: str
) -> None:
    version = phone.send(ticket, edit("relief", "0.008 in")).json["version"]
    other_phone.send(ticket, edit("twist", "none"))

    answer = phone.send(ticket, edit("rod", "two_way"), version=version)

    assert set(answer.json["parts"]) == {"rod", "twist"}
    assert answer.json["parts"]["twist"]["value"] == "none"


def test_a_clash_is_told_with_every_value_and_who_gave_it(phone: Any, other_phone: Any, ticket: str) -> None:
    first, second = edit("relief", "0.008 in"), edit("relief", "0.012 in")
    phone.send(ticket, first)

    answer = other_phone.send(ticket, second)

    told = answer.json["parts"]["relief"]
    assert (told["value"], told["base"]) == ("", f"{first['id']} {second['id']}")
    assert [(side["value"], side["who"]) for side in told["clash"]] == [
        ("0.008 in", "Noor Amari"),
        ("0.012 in", "Ida Moreau"),
    ]
    assert all(side["when"] for side in told["clash"])


def test_a_choice_ends_the_clash(phone: Any, other_phone: Any, ticket: str, held: Held) -> None:
    phone.send(ticket, edit("relief", "0.008 in"))
    told = other_phone.send(ticket, edit("relief", "0.012 in")).json["parts"]["relief"]

    answer = phone.send(ticket, edit("relief", "0.012 in", told["base"]))

    assert answer.json["parts"]["relief"]["clash"] == []
    assert held(ticket)["relief"] == "0.012 in"


def test_a_page_gets_fragments_and_the_same_in_words(client: FlaskClient, ticket: str) -> None:
    sent = {f"edits-0-{name}": value for name, value in edit("relief", "8 inches").items()}

    page = client.post(f"/tickets/{ticket}/edits", data=sent, headers={"HX-Request": "true"}).text

    became = re.search(r'<data id="became" hidden hx-swap-oob="true" value="([^"]*)"', page)
    assert became and json.loads(unescape(became[1]))["edits"][0]["fate"] == "stands"
    assert 'id="found-neck" hx-swap-oob="innerHTML"' in page
    assert "8 inches" in page and 'id="e-relief" hx-swap-oob="true"' in page
    assert "<input" not in page


def test_every_answer_about_a_ticket_says_epoch_and_version(
    phone: Any, client: FlaskClient, ticket: str
) -> None:
    before = int(client.get(f"/tickets/{ticket}").headers["Version"])
    answer = phone.send(ticket, edit("relief", "0.008 in"))

    for told in (answer, client.get(f"/tickets/{ticket}"), client.get(f"/tickets/{ticket}/summary")):
        assert int(told.headers["Version"]) == before + 1
        assert told.headers["Epoch"] == answer.json["epoch"]
        assert told.headers["Backed-Up"] == "0"


def test_the_page_says_what_it_showed(phone: Any, client: FlaskClient, ticket: str) -> None:
    sent = [edit("relief", "0.008 in"), edit("fret_wear/7", "0.006 in"), edit("twist", "none", by="sound")]
    phone.send(ticket, *sent)

    answer = client.get(f"/tickets/{ticket}")

    for part in sent:
        assert f'name="base.{part["part"]}" value="{part["id"]}"' in answer.text
        assert f'name="shown.{part["part"]}" value="{part["value"]}"' in answer.text
    assert 'data-by="sound"' in answer.text
    assert f'data-version="{answer.headers["Version"]}"' in answer.text


def test_an_erased_ticket_takes_nothing_and_says_so(phone: Any, ticket: str, ctx: Context) -> None:
    phone.send(ticket, edit("customer_name", "Ines Falk"))
    privacy.erase(ctx.store, [ticket], ctx.now())

    answer = phone.send(ticket, edit("customer_name", "Ines Falk"))

    assert (answer.status_code, answer.headers["Erased"]) == (410, "yes")
    assert "Saved-Key" not in answer.headers
    assert edits.of_ticket(ctx.store.db, ticket) == []


def test_a_key_under_way_is_answered_409(phone: Any, ticket: str, ctx: Context) -> None:
    ctx.running.add("k")

    assert phone.send(ticket, edit("relief", "1"), key="k").status_code == 409


def test_the_lines_of_a_text_end_alike_whoever_wrote_them(phone: Any, ticket: str) -> None:
    phone.send(ticket, edit("complaint_words", "a\r\nb"))

    assert fates(phone.send(ticket, edit("complaint_words", "a\nb"))) == ["same"]


@pytest.mark.parametrize(("one", "other"), [("0.020 in", ".020"), ("1/50 in", "0.02 in")])
def test_values_are_compared_as_they_are_read(phone: Any, ticket: str, one: str, other: str) -> None:
    phone.send(ticket, edit("relief", one))

    assert fates(phone.send(ticket, edit("relief", other))) == ["same"]


def test_none_beside_another_member_is_bad_input_and_no_clash(
    phone: Any, other_phone: Any, ticket: str, client: FlaskClient, held: Held
) -> None:
    phone.send(ticket, edit("loose_frets/none", "yes"))

    assert fates(other_phone.send(ticket, edit("loose_frets/3", "yes"))) == ["stands"]
    assert held(ticket) == {"loose_frets/none": "yes", "loose_frets/3": "yes"}
    assert "none" in re.findall(r'id="e-loose_frets">([^<]+)<', client.get(f"/tickets/{ticket}").text)[0]


def test_a_part_that_is_not_asked_is_kept_shown_so_and_used_again(
    phone: Any, ticket: str, client: FlaskClient, held: Held
) -> None:
    phone.send(ticket, edit("family", "steel-string"), edit("bridge_kind", "pin"), edit("pins_fit", "loose"))
    phone.send(ticket, edit("bridge_kind", "tailpiece", edits_of(client, ticket, "bridge_kind")))

    page = client.get(f"/tickets/{ticket}").text
    phone.send(ticket, edit("bridge_kind", "pin", edits_of(client, ticket, "bridge_kind")))

    assert 'id="unasked"' in page and "Not asked now" in page
    assert page.index('id="quote"') < page.index('id="unasked"') < page.index("</main>")
    assert 'id="unasked"' not in client.get(f"/tickets/{ticket}").text
    assert held(ticket)["pins_fit"] == "loose"


def test_a_part_that_no_book_asks_is_kept_and_shown(
    phone: Any, ticket: str, client: FlaskClient, held: Held
) -> None:
    assert fates(phone.send(ticket, edit("colour_of_the_case", "a deep red"))) == ["stands"]

    assert held(ticket) == {"colour_of_the_case": "a deep red"}
    assert "a deep red" in client.get(f"/tickets/{ticket}").text


def edits_of(client: FlaskClient, ticket: str, part: str) -> str:
    """The base that the page names for that part."""
    found = re.search(rf'name="base.{part}" value="([^"]*)"', client.get(f"/tickets/{ticket}").text)
    return found[1] if found else ""


def test_one_act_of_all_else_sound_is_undone_together(phone: Any, ticket: str, held: Held) -> None:
    act = str(uuid4())
    sound = [edit(part, "none", by="sound", act=act) for part in ("twist", "heel_gap")]
    passed = edit("passed.neck", "all_sound", act=act)
    phone.send(ticket, *sound, passed)

    phone.send(ticket, *[edit(one["part"], "", one["id"]) for one in (*sound, passed)])

    assert held(ticket) == {}


def test_edits_go_into_search_and_board(phone: Any, ticket: str, client: FlaskClient) -> None:
    phone.send(
        ticket,
        edit("customer_name", "Ines Falk"),
        edit("complaints/buzz", "yes"),
        edit("pins/a1", json.dumps({"part": "top", "kind": "crack", "size": "5 in"})),
    )

    for words in ("falk", "buzz", "crack"):
        assert ticket in client.get(f"/?q={words}").text


def test_pins_of_two_phones_stand_beside_each_other(
    phone: Any, other_phone: Any, ticket: str, client: FlaskClient
) -> None:
    pin = json.dumps({"part": "top", "kind": "crack", "size": "5 in"})
    phone.send(ticket, edit("pins/a1", pin))
    other_phone.send(ticket, edit("pins/b2", pin))

    page = client.get(f"/tickets/{ticket}").text

    assert 'name="pins.a1.kind"' in page and 'name="pins.b2.kind"' in page


def test_what_comes_after_a_quote_is_told_and_changes_nothing_in_it(
    phone: Any, quoted: str, client: FlaskClient, ctx: Context, sample: Any
) -> None:
    place = client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    frozen = quotes.find(ctx.store.db, quoted, 1)
    same = edits_of(client, quoted, "family")
    assert "came after quote" not in client.get(place).text

    phone.send(
        quoted, edit("twist", "bad"), edit("heel_gap", "1/16 in"), edit("family", "steel-string", same)
    )

    assert "2 answers came after quote 1" in client.get(place).text
    assert "2 answers came after quote 1" in client.get(f"/tickets/{quoted}/summary").text
    assert quotes.find(ctx.store.db, quoted, 1) == frozen


@pytest.mark.parametrize(("by", "fate"), [("usual", "refused"), ("earlier", "stands")])
def test_the_rod_is_seen_now_or_comes_along_as_seen_then(phone: Any, ticket: str, by: str, fate: str) -> None:
    assert fates(phone.send(ticket, edit("rod", "two_way", by=by))) == [fate]


def test_what_was_taken_as_usual_is_named_on_the_quote(
    phone: Any, ticket: str, client: FlaskClient, ctx: Context
) -> None:
    said = [edit("family", "steel-string"), edit("complaints/restring", "yes")]
    phone.send(ticket, *said, edit("fret_count", "20", by="usual"))

    client.post(f"/tickets/{ticket}/quotes")

    frozen = quotes.find(ctx.store.db, ticket, 1)
    assert frozen and json.loads(frozen.quote)["assumed"] == ["fret_count"]


@pytest.mark.parametrize(
    ("part", "value"),
    [
        ("pins/p1", "[" * 9000),
        ("pins/p1", '{"a":' * 3000 + "1" + "}" * 3000),
        ("buzz_at/xyz", "9" * 5000),
        ("loose_frets/x", "9" * 5000),
    ],
    ids=["nested lists", "nested objects", "digits", "digits of a fret"],
)
def test_an_answer_that_only_a_program_can_write_stops_no_log(
    phone: Any, ticket: str, part: str, value: str
) -> None:
    log = {"log": "log-1"}

    first = phone.send(ticket, edit(part, value, **log, seq=1), edit(part, value + " ", **log, seq=2))
    after = phone.send(ticket, edit("relief", "0.008 in", **log, seq=3))

    assert (first.status_code, after.status_code) == (200, 200)
    assert fates(after) == ["stands"]
    assert phone.client.get(f"/tickets/{ticket}").status_code == 200


@pytest.mark.parametrize("number", ["9" * 5000, "\N{SUPERSCRIPT TWO}", "-1", "1000"])
def test_edits_are_counted_in_short_numbers(client: FlaskClient, ticket: str, number: str) -> None:
    form = {f"edits-{number}-id": str(uuid4()), f"edits-{number}-part": "relief"}

    answer = client.post(f"/tickets/{ticket}/edits", data=form, headers={"Idempotency-Key": "k-1"})

    assert answer.status_code == 400


def test_a_ticket_holds_so_many_answers_and_no_more(
    phone: Any, ticket: str, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("intake.services.edits.MOST_PARTS", 3)
    first = edit("fret_wear/1", "0.006 in")

    answer = phone.send(ticket, first, *[edit(f"fret_wear/{fret}", "0.006 in") for fret in (2, 3, 4)])
    again = phone.send(ticket, edit("fret_wear/5", "0.006 in"), edit("fret_wear/1", "0.007 in", first["id"]))

    assert fates(answer) == ["stands", "stands", "stands", "refused"]
    assert fates(again) == ["refused", "stands"]
    assert len(held(ticket)) == 3


def test_a_kept_answer_takes_little_room_and_comes_back_whole(phone: Any, ticket: str, ctx: Context) -> None:
    sent = [edit(f"fret_wear/{fret}", "0.006 in") for fret in range(1, 25)]

    first = phone.send(ticket, *sent, key="k-1")
    again = phone.send(ticket, *sent, key="k-1")

    ((size,),) = ctx.store.db.execute("select length(body) from keys where key = 'k-1'").fetchall()
    assert again.get_data() == first.get_data()
    assert size < len(first.get_data()) / 3


def test_a_clash_holds_so_many_values_and_can_be_chosen(phone: Any, ticket: str, held: Held) -> None:
    values = [edit("relief", f"0.0{number} in") for number in range(10, 60)]

    answer = phone.send(ticket, *values)
    told = answer.json["parts"]["relief"]
    chosen = phone.send(ticket, edit("relief", "0.010 in", told["base"]))

    assert fates(answer).count("refused") == 50 - MOST_VALUES
    assert len(told["clash"]) == MOST_VALUES
    assert fates(chosen) == ["same"] and held(ticket) == {"relief": "0.010 in"}
