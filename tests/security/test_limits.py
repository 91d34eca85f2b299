"""What strangers can use up, with a link or without; and https, promised where the promise can be kept."""

from __future__ import annotations

from typing import Any

from intake.store import decisions
from intake.store.decisions import MOST_QUESTIONS
from intake.web.headers import HSTS, PROXIED


def stored(site: Any) -> int:
    db = site.ctx.store.db
    return sum(
        db.table(name).count for name in ("answers", "choices", "events", "steps", "tickets", "outbox")
    )


def test_a_customer_cannot_fill_the_store(site: Any) -> None:
    """Questions and noes have an end, a choice is kept once, looking leaves nothing."""
    client, page = site.client("nobody"), site.here.page
    for number in range(MOST_QUESTIONS * 2):
        client.post(f"{page}/question", data={"question": f"When, {number}?"})
        client.post(f"{page}/no", data={"reason": f"Dear, {number}"})
        client.post(f"{page}/choice", data={"offer": "playable"})
        client.post(f"{page}/seen")
    said = [answer.kind for answer in decisions.of_ticket(site.ctx.store.db, site.here.ticket)]
    assert (said.count("question"), said.count("refused")) == (MOST_QUESTIONS, MOST_QUESTIONS)
    before = stored(site)
    for number in range(5):
        for what in ("question", "no", "choice", "seen"):
            client.post(f"{page}/{what}", data={"question": f"{number}", "reason": f"{number}"})
        client.get(page)
    assert stored(site) == before


def test_the_same_no_twice_is_one(site: Any) -> None:
    client = site.client("nobody")
    for _ in range(3):
        assert client.post(f"{site.there.page}/no", data={"reason": "Dear"}).status_code == 303
    assert [a.words for a in decisions.of_ticket(site.ctx.store.db, site.there.ticket)] == ["Dear"]


def test_a_stranger_leaves_nothing(site: Any) -> None:
    """Without a link or a session nothing is written but the count of tries."""
    client, before = site.client("nobody"), stored(site)
    for number in range(30):
        client.post("/walkin", data={"customer_name": f"{number}"})
        client.post(f"/q/{number}/question", data={"question": "?"})
        client.post("/enrol", data={"code": f"{number}", "name": "x"})
    assert stored(site) == before


def test_https_is_promised_behind_a_proxy_and_not_on_the_shop_s_own_network(site: Any) -> None:
    """ASVS 3.4.1; a proxy that the shop has not named changes nothing (tests/server/test_serving.py)."""
    client = site.client("nobody")
    behind = {PROXIED: {"wsgi.url_scheme": "http"}}
    answer = client.get("/signin", base_url="https://counter.example.org", environ_overrides=behind)
    assert answer.headers["Strict-Transport-Security"] == HSTS
    assert int(HSTS.split(";")[0].removeprefix("max-age=")) >= 365 * 24 * 3600
    for base, environ in (
        ("https://192.168.1.5", {}),
        ("http://localhost", {}),
        ("http://counter.example.org", behind),
    ):
        answer = client.get("/signin", base_url=base, environ_overrides=environ)
        assert "Strict-Transport-Security" not in answer.headers, base
