"""A link opens one quote. With one customer's key, or with none, nothing of another's is read or changed; and
within the shop an address's ticket must be the one that its object belongs to."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.paper import DocumentOptions
from intake.store import decisions, links, outbox, tickets
from intake.web.permissions import ANYBODY

WRITES = ("seen", "choice", "question", "yes", "no")
NOBODY_S = "01890a5d-ac96-774b-bcce-b302099a8057"


def stored(site: Any, *leaving: str) -> list[str]:
    """The whole database as SQL, but for tables that a request may touch by right."""
    skipped = tuple(f'INSERT INTO "{name}"' for name in leaving)
    return [line for line in site.ctx.store.db.iterdump() if not line.startswith(skipped)]


def rows_of(site: Any, ticket: str) -> list[str]:
    """All that the store holds of one ticket."""
    db = site.ctx.store.db
    found = []
    for table in db.tables:
        names = {column.name for column in table.columns}
        for name in names & {"ticket", "id"}:
            found += [f"{table.name} {row}" for row in table.rows_where(f"{name} = ?", [ticket])]
    return sorted(found)


def addresses(site: Any, **values: object) -> list[tuple[str, str]]:
    """Every address that names a ticket or a link, with those values in place of its variables."""
    usual: dict[str, object] = {"revision": 1, "what": "stop", "step": "neck", "sha": "0" * 64, **values}
    adapter, found = site.app.url_map.bind("localhost"), []
    for rule in site.app.url_map.iter_rules():
        if rule.arguments & values.keys():
            filled = {n: usual.get(n, 1 if f"<int:{n}>" in rule.rule else "x") for n in rule.arguments}
            for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
                found.append((method, adapter.build(rule.endpoint, filled, method)))
    return found


@pytest.fixture
def customer(site: Any) -> FlaskClient:
    return site.client("nobody")


def words_of(site: Any, ticket: str) -> list[str]:
    """Patterns of what only that customer's pages may say. (A day has dashes, as a quote's number has.)"""
    found = tickets.find(site.ctx.store.db, ticket)
    assert found and found.name and found.phone
    return [*map(re.escape, (found.name, found.phone, ticket)), rf"(?<![\d-]){found.number}-1(?![\d-])"]


def test_each_page_says_its_own_and_nothing_of_the_other(site: Any, customer: FlaskClient) -> None:
    for own, other in ((site.here, site.there), (site.there, site.here)):
        for more in ("", "?lang=fr", "/quote.pdf", "/ready.ics", f"/photos/{own.sha}.jpg"):
            answer = customer.get(own.page + more)
            assert answer.status_code in (200, 404), more
            said = f"{answer.headers} {answer.get_data().decode('latin-1')}"
            for word in (*words_of(site, other.ticket), other.token, other.sha):
                assert not re.search(word, said), (more, word)
    assert re.search(words_of(site, site.here.ticket)[3], customer.get(site.here.page).text)


def test_another_s_photo_is_not_found(site: Any, customer: FlaskClient) -> None:
    assert customer.get(f"{site.here.page}/photos/{site.here.sha}.jpg").status_code == 200
    assert customer.get(f"{site.here.page}/photos/{site.there.sha}.jpg").status_code == 404
    assert customer.get(f"/media/{site.here.sha}.jpg").status_code == 303


def test_a_key_opens_no_address_of_the_shop(site: Any, customer: FlaskClient, example: Any) -> None:
    """The whole map, as somebody who has a link: neither in the address nor as a cookie, of any name."""
    before, adapter = stored(site), site.app.url_map.bind("localhost")
    for name in ("session", "device", "__Host-session", "__Host-device"):
        customer.set_cookie(name, site.here.token)
    asked = 0
    for rule in site.app.url_map.iter_rules():
        if rule.endpoint in ANYBODY:
            continue
        for ticket in (
            (site.here.ticket, site.there.ticket) if "ticket" in rule.arguments else (site.here.ticket,)
        ):
            own = {"ticket": ticket, "revision": 1, "sha": site.here.sha}
            filled = {name: own.get(name, example(rule, name)) for name in rule.arguments}
            for method in (rule.methods or set()) - {"OPTIONS"}:
                address = adapter.build(rule.endpoint, filled, method) + f"?token={site.here.token}"
                answer = customer.open(address, method=method)
                assert answer.status_code == (401 if method == "POST" else 303), (method, address)
                asked += 1
    assert asked > 60
    assert stored(site) == before


@pytest.mark.parametrize("what", WRITES)
def test_what_one_says_changes_nothing_of_the_other(site: Any, customer: FlaskClient, what: str) -> None:
    """Even with the other's ticket, link, hash, jobs and sum in the form."""
    text = customer.get(site.there.page).text
    form: dict[str, Any] = dict(re.findall(r'type="hidden" name="(quote|total|ready)" value="([^"]*)"', text))
    jobs = re.findall(r'name="jobs" value="([^"]*)"', text)
    assert form.keys() == {"quote", "total", "ready"} and jobs
    before = rows_of(site, site.there.ticket)
    form |= {
        "ticket": site.there.ticket,
        "token": site.there.token,
        "link": "2",
        "revision": "1",
        "jobs": jobs,
    }
    form |= {"name": "Eve", "agreed": "yes", "question": "When?", "reason": "Dear", "add": jobs[0]}
    answer = customer.post(f"{site.here.page}/{what}", data=form)
    assert answer.status_code in ((400, 409) if what in ("choice", "yes") else (204, 303))
    assert rows_of(site, site.there.ticket) == before
    assert decisions.go_ahead(site.ctx.store.db, site.here.ticket, 1) is None


@pytest.mark.parametrize(
    "token",
    [
        "x",
        "0" * 32,
        "' or '1'='1",
        "%",
        "_" * 32,
        "..",
        "../q",
        "\0",
        "é",
        "x" * 201,
        "x" * 5000,
        "\udcff",
    ],
)
def test_no_other_word_is_a_key(site: Any, customer: FlaskClient, token: str) -> None:
    from urllib.parse import quote

    written = quote(token.encode("utf-8", "surrogatepass"), safe="")
    before = stored(site)
    for more in ("", "/quote.pdf", "/ready.ics", f"/photos/{site.here.sha}.jpg"):
        assert customer.get(f"/q/{written}{more}").status_code == 404, more
    for what in WRITES:
        assert customer.post(f"/q/{written}/{what}", data={"question": "?"}).status_code == 404, what
    assert stored(site) == before


def test_a_key_that_is_nearly_one_is_none(site: Any, customer: FlaskClient) -> None:
    own = site.here.token
    for token in (own[:-1], own + "A", own.swapcase(), own + "%20", "%20" + own, own + "%00", own[::-1]):
        assert customer.get(f"/q/{token}").status_code == 404, token


def test_link_and_message_belong_to_their_ticket(site: Any) -> None:
    """Staff, too: the address of one ticket withdraws no link and stops no message of another."""
    db = site.ctx.store.db
    (link,) = links.of_ticket(db, site.there.ticket)
    with site.ctx.store.writing() as writing:
        outbox.put(
            writing, site.there.ticket, 1, recipient="a@b.example", language="en", address="http://x",
            domain="x.example", note="", now=site.ctx.now(),
        )  # fmt: skip
    (mail,) = outbox.of_ticket(db, site.there.ticket)
    before = rows_of(site, site.there.ticket)
    client = site.client("counter")
    client.post(f"/tickets/{site.here.ticket}/links/withdraw", data={"link": str(link.id)})
    for what in ("stop", "again"):
        client.post(f"/tickets/{site.here.ticket}/mail/{mail.id}/{what}")
    assert rows_of(site, site.there.ticket) == before
    assert links.of_ticket(db, site.there.ticket)[0].lives(site.ctx.today)


def test_a_ticket_that_nobody_has_shows_nobody(site: Any) -> None:
    """An id that was made up answers as a blank wizard or not at all."""
    client = site.client("counter")
    for method, address in addresses(site, ticket=NOBODY_S):
        if method == "GET":
            said = client.get(address).text
            for other in (site.here, site.there):
                assert not any(re.search(word, said) for word in words_of(site, other.ticket)), address


ELSEWHERE = (
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
    {"Sec-Fetch-Site": "nonsense"},
    {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
    {"Origin": "http://evil.example"},
    {"Origin": "http://localhost:81"},
    {"Origin": "https://localhost"},
    {"Origin": "http://localhost.evil.example"},
    {"Origin": "http://localhost@evil.example"},
    {"Origin": "null"},
    {"Origin": ""},
)


def test_posts_are_the_only_unsafe_requests(site: Any) -> None:
    """So that the next test tries them all."""
    methods = {method for rule in site.app.url_map.iter_rules() for method in rule.methods or ()}
    assert methods == {"GET", "HEAD", "OPTIONS", "POST"}


@pytest.mark.parametrize("headers", ELSEWHERE, ids=str)
@pytest.mark.parametrize("who", ["owner", "counter", "nobody"])
def test_no_other_site_changes_anything(site: Any, who: str, headers: dict[str, str]) -> None:
    """Every unsafe address, with a ticket and a link that are there; refused in words, nothing changed."""
    before, client = stored(site), site.client(who)
    asked = [
        *addresses(site, ticket=site.here.ticket),
        *addresses(site, token=site.here.token),
        *addresses(site, number=1, what="off", row=1, file="jobs.csv", digest="0" * 64),
        *(
            (m, str(r.rule))
            for r in site.app.url_map.iter_rules()
            if not r.arguments
            for m in r.methods or ()
        ),
    ]
    posts = [address for method, address in asked if method == "POST"]
    assert len(posts) > 25
    for address in posts:
        for kind in ("application/x-www-form-urlencoded", "text/plain", "application/json"):
            answer = client.post(address, data=b"a=b", content_type=kind, headers=headers)
            assert answer.status_code == 403 and "another site" in answer.text, (address, kind)
    assert stored(site) == before
    site.logged.lines.clear()


def test_nobody_is_let_read_from_another_origin(site: Any) -> None:
    """No answer names an origin that may read it, so no browser lets another page do so."""
    for who, address in (
        ("owner", "/people"),
        ("counter", "/"),
        ("nobody", site.here.page),
        ("nobody", "/ping"),
    ):
        for method in ("GET", "OPTIONS"):
            sent = {"Origin": "http://evil.example", "Access-Control-Request-Method": "POST"}
            answer = site.client(who).open(address, method=method, headers=sent)
            assert not [name for name in dict(answer.headers) if name.startswith("Access-Control")], address


def test_what_a_customer_calls_this_machine_reaches_no_paper(
    site: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A link's PDF in another language is printed when it is first asked for, and kept for everybody."""
    codes: list[str] = []

    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        codes.append(options.url)
        return b"%PDF-1.7 " + options.url.encode()

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    nobody, counter = site.client("nobody"), site.client("counter")
    hostile = {"Host": "evil.example.org"}

    first = nobody.get(f"{site.here.page}/quote.pdf?lang=fr", headers=hostile)
    assert first.status_code == 200 and codes == [""]
    kept = counter.get(f"/tickets/{site.here.ticket}/quotes/1.pdf?lang=fr")
    assert b"evil" not in kept.data and b"http://localhost/tickets/" in kept.data

    monkeypatch.setitem(site.app.config, "ORIGIN", "https://192.168.1.5:8642")
    nobody.get(f"{site.there.page}/quote.pdf?lang=fr", headers=hostile)
    assert codes[-1].startswith("https://192.168.1.5:8642/tickets/")
