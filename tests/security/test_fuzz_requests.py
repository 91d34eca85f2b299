"""Whatever is sent to whatever address: never a 500, never a line in the log, always the headers.

FUZZ=50 in the environment looks fifty times as long.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import Headers
from werkzeug.routing import Rule
from werkzeug.test import TestResponse, encode_multipart

pytestmark = [
    # A multipart body torn in the middle of a file leaves Werkzeug's buffer to the garbage collector.
    pytest.mark.filterwarnings("ignore:Unclosed file <tempfile.Spooled:ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
    pytest.mark.timeout(3600),
    pytest.mark.deep,
]
MARK = "<fuzz-mark a='\">"
"""Comes back in no page as it is."""
NASTY = (
    "", " ", "0", "-1", "1e999", "NaN", "Infinity", "9" * 5000, "1/0", "5/64 in", "٣", "½", "１２", "²",
    "\0", "a\0b", "\r\nSet-Cookie: a=b", "\x1b[2J", "\x85", "\u2028", "\ud800", "\udcff", "\u202e", "\ufffe",
    "\U0001f3b8", "é" * 3000, "../../etc/passwd", "%00", "%2e%2e%2f", "' or 1=1 --", '"', "{{7*7}}", "${7*7}",
    "=cmd|' /C calc'!A0", "javascript:alert(1)", "//evil.example", "none", "null", "true", "[]", "{}",
    "x.y.z", "a[b]=c", "x" * 20_000, MARK,
)  # fmt: skip
OWN_FIELDS = (
    "based_on", "passed", "key", "keep", "jobs", "offer", "add", "drop", "quote", "total", "name", "agreed",
    "drawn", "note", "way", "question", "reason", "to", "language", "link", "pin", "password", "old", "again",
    "role", "code", "lang", "next", "photo", "q", "paper", "state", "go", "from", "page",
)  # fmt: skip
OWN_VALUES = (
    "save", "quote", "mine", "theirs", "not_assessed", "all_sound", "playable", "everything", "telephone",
    "counter", "bench", "owner", "yes", "off", "on", "unlock", "revoke", "again", "stop", "fr", "de", "a4",
    "1", "a@b.example", "0,0 10,10 20,20", "acoustic", "12", "0.008 in",
)  # fmt: skip

METHODS = ("GET", "GET", "POST", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "ODD")
ENDING = {"access.sign_out", "access.enrol", "access.settle_phone"}
"""They end the session that one asks with."""

words = st.one_of(
    st.sampled_from(NASTY), st.sampled_from(OWN_VALUES), st.text(max_size=40), st.integers().map(str)
)
names = st.one_of(st.sampled_from(OWN_FIELDS), st.sampled_from(NASTY), st.text(max_size=12))
pairs = st.lists(st.tuples(names, words), max_size=12)


def as_bytes(text: str) -> bytes:
    """UTF-8 that carries lone surrogates as if they were letters, which it must not."""
    return text.encode("utf-8", "surrogatepass")


def escaped(text: str) -> str:
    return quote(as_bytes(text), safe="")


def form_of(fields: list[tuple[str, str]]) -> bytes:
    return "&".join(f"{escaped(name)}={escaped(value)}" for name, value in fields).encode()


def parts_of(fields: list[tuple[str, str]]) -> tuple[str, bytes]:
    """Multipart by hand: names as they are, every third one a file."""
    boundary, body = "fuzzboundary", b""
    for number, (name, value) in enumerate(fields):
        file = b'; filename="' + as_bytes(value[:30]) + b'"' if number % 3 == 0 else b""
        body += b'--fuzzboundary\r\nContent-Disposition: form-data; name="' + as_bytes(name) + b'"' + file
        body += b"\r\n\r\n" + as_bytes(value) + b"\r\n"
    return f"multipart/form-data; boundary={boundary}", body + b"--fuzzboundary--\r\n"


@st.composite
def bodies(draw: st.DrawFn) -> tuple[str, bytes]:
    """A content type and a body that may or may not be one of it."""
    fields = draw(pairs)
    made = draw(st.sampled_from(["form", "parts", "raw", "json", "torn"]))
    if made == "form":
        return "application/x-www-form-urlencoded", form_of(fields)
    if made == "parts":
        return parts_of(fields)
    if made == "torn":
        kind, body = parts_of(fields)
        return kind, body[: draw(st.integers(0, len(body)))]
    kind = draw(
        st.sampled_from(
            [
                "", "application/json", "text/plain", "multipart/form-data", "multipart/form-data; boundary=",
                "application/x-www-form-urlencoded; charset=utf-16", "image/jpeg", "\xff", "multipart/mixed",
                "multipart/form-data; boundary=" + "x" * 300,
            ]
        )
    )  # fmt: skip
    if made == "json":
        depth = draw(st.integers(0, 20_000))
        return kind, b"[" * depth + b"]" * depth
    return kind, draw(st.binary(max_size=200))


@st.composite
def headers(draw: st.DrawFn) -> Headers:
    """What our own pages send, in all mixtures, and what nobody sends."""
    sent = Headers()
    for name, values in (
        ("Idempotency-Key", ["", "k", "x" * 300, "é", "a b", "\t"]),
        ("HX-Request", ["true", ""]),
        ("Sec-Fetch-Mode", ["navigate", "cors", "no-cors", "x"]),
        ("Sec-Fetch-Site", ["same-origin", "none"]),
        ("Device", ["", "d", "\xff" * 200]),
        ("Accept-Language", ["fr", "x" * 500, ",;q=", "en;q=a", "*;q=1e999", "\xff"]),
        ("Accept-Encoding", ["gzip", "br", "identity;q=0", "*;q=0", ";;"]),
        ("If-None-Match", ["*", '"', 'W/"x"', "\xff"]),
        ("If-Modified-Since", ["yesterday", "Mon, 99 Foo 99999 99:99:99 GMT"]),
        ("Range", ["bytes=0-0", "bytes=9-1", "bytes=-", "bytes=0-" + "9" * 5000, "lines=1"]),
        ("If-Range", ["x", '"x"']),
        ("Content-Encoding", ["gzip"]),
        ("X-Forwarded-For", ["1.2.3.4", "::1"]),
        ("Authorization", ["Basic =", "Bearer \xff"]),
        ("Referer", ["\xff"]),
    ):
        if draw(st.integers(0, 5)) == 5:
            sent[name] = draw(st.sampled_from(values))
    return sent


def part_of_address(site: Any, name: str, rule: Rule) -> list[str]:
    """What fits an address's variable, so that the routes behind it are reached."""
    known = {
        "ticket": [site.here.ticket, site.there.ticket, "01890a5d-ac96-774b-bcce-b302099a8057"],
        "token": [site.here.token, site.there.token],
        "step": [step.id for step in site.ctx.book.steps],
        "revision": ["1", "0", "2", "99999999999999999999"],
        "number": ["1", "2", "3", "0", "99999999999999999999"],
        "sha": [site.here.sha],
        "sha256": [site.here.sha, site.there.sha],
        "what": ["on", "off", "unlock", "revoke", "again", "stop"],
        "filename": ["css/tallyfret.css", "js", ""],
    }
    return known.get(name, ["1", "2"] if f"<int:{name}>" in rule.rule else ["x"])


@st.composite
def addresses(draw: st.DrawFn, site: Any) -> tuple[str, str]:
    """A rule of the map and an address that it may or may not answer."""
    rule = draw(st.sampled_from(sorted(site.app.url_map.iter_rules(), key=str)))
    address = str(rule.rule)
    for name in sorted(rule.arguments - set(rule.defaults or ())):
        likely = part_of_address(site, name, rule)
        value = draw(st.one_of(st.sampled_from(likely), st.sampled_from(likely), words))
        start = address.rindex("<", 0, address.index(f"{name}>"))
        address = (
            address[:start] + escaped(value)[:3000] + address[address.index(f"{name}>") + len(name) + 1 :]
        )
    query = draw(st.one_of(st.just([]), pairs))
    return rule.endpoint, address + ("?" + form_of(query).decode() if query else "")


def check_answer(site: Any, answer: TestResponse, asked: object) -> None:
    """What holds of every answer."""
    written, site.logged.lines[:] = [*site.logged.lines], []
    assert answer.status_code < 500 and written == [], asked
    assert answer.headers["X-Content-Type-Options"] == "nosniff", asked
    if answer.mimetype not in ("text/css", "text/javascript", "font/woff2", "image/png"):
        assert "default-src 'none'" in answer.headers["Content-Security-Policy"], asked
    if answer.mimetype == "text/html":
        assert "charset=utf-8" in answer.headers["Content-Type"], asked
    if answer.mimetype == "text/html" and "Content-Encoding" not in answer.headers:
        assert MARK not in answer.text, asked


@pytest.mark.parametrize("who", ["owner", "counter", "nobody"])
def test_fuzz_every_address(site: Any, badge: Any, harder: int, who: str) -> None:
    """Every method of every route with anything in its path, query, headers and body."""
    reached = set()

    @settings(max_examples=200 * harder, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def ask(data: st.DataObject) -> None:
        endpoint, address = data.draw(addresses(site))
        method = data.draw(
            st.sampled_from(["GET", "POST", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "ODD"])
        )
        kind, body = data.draw(bodies()) if method == "POST" else ("", b"")
        sent = data.draw(headers())
        if kind:
            sent["Content-Type"] = kind
        client = site.client(who)
        answer = client.open(address, method=method, data=body, headers=sent)
        if who != "nobody" and answer.status_code == 303 and "/signin" in answer.headers["Location"]:
            site.cookies[who] = badge(site.ctx, who, f"Somebody {who}", who)
        reached.add((endpoint, answer.status_code))
        check_answer(site, answer, (method, address, body, list(sent)))

    ask()
    assert len({endpoint for endpoint, _ in reached}) > 10


def test_a_form_that_any_page_sends_may_hold_anything(site: Any, harder: int) -> None:
    """The forms' own fields, so that what is behind them is reached: any words in each of them."""
    posts = [
        rule
        for rule in site.app.url_map.iter_rules()
        if "POST" in (rule.methods or ()) and rule.endpoint not in ENDING
    ]

    @settings(max_examples=200 * harder, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def send(data: st.DataObject) -> None:
        rule = data.draw(st.sampled_from(sorted(posts, key=str)))
        values = {
            name: data.draw(st.sampled_from(part_of_address(site, name, rule)[:2])) for name in rule.arguments
        }
        with site.app.test_request_context():
            address = site.app.url_map.bind("localhost").build(rule.endpoint, values, method="POST")
        fields = data.draw(st.lists(st.tuples(st.sampled_from(OWN_FIELDS), words), min_size=1, max_size=8))
        sent = {"Idempotency-Key": "k"} if data.draw(st.booleans()) else {}
        if data.draw(st.booleans()):
            kind, body = "application/x-www-form-urlencoded", form_of(fields)
        else:
            kind, body = parts_of(fields)
        answer = site.client().post(address, data=body, content_type=kind, headers=sent)
        check_answer(site, answer, (address, fields, sent))
        if "/signin" not in address:
            assert answer.status_code != 401, address

    send()


@pytest.mark.parametrize(
    "host",
    ["", "evil.example", "localhost:x", "a b", "[::1", "é", "x" * 3000, "localhost:99999", "%00", "a@b"],
)
def test_fuzz_a_host_that_is_none(site: Any, host: str) -> None:
    for address in ("/", "/signin", "/setup", "/people", f"/tickets/{site.here.ticket}", site.here.page):
        for method in ("GET", "POST"):
            answer = site.client().open(address, method=method, headers={"Host": host})
            check_answer(site, answer, (method, address, host))


def test_too_many_fields_parts_and_levels(site: Any) -> None:
    client, ticket = site.client(), site.here.ticket
    many = {f"relief.{n}": "1" for n in range(6000)}
    boundary, body = encode_multipart(many)
    kind = f"multipart/form-data; boundary={boundary}"
    for address in (
        f"/tickets/{ticket}",
        f"/tickets/{ticket}/steps/neck",
        f"{site.here.page}/yes",
        "/signin/1",
    ):
        assert client.post(address, data=body, content_type=kind).status_code == 413, address
        deep = {"pins" + ".1" * 5000: "x", "original" + "[a]" * 5000: "x"}
        check_answer(site, client.post(address, data=deep), address)


@pytest.mark.parametrize("file", ["", '; filename="x"', '; filename=""'])
def test_a_part_without_a_name_is_left_out(site: Any, file: str) -> None:
    """Werkzeug calls it None, which no route expects."""
    part = f"--b\r\nContent-Disposition: form-data{file}\r\n\r\nx\r\n"
    broken = f'--b\r\nContent-Disposition: form-data; name="\r\nA: b"{file}\r\n\r\nx\r\n'
    body = (part + broken + "--b--\r\n").encode()
    for rule in site.app.url_map.iter_rules():
        if "POST" in (rule.methods or ()) and rule.endpoint not in ENDING:
            values = {name: part_of_address(site, name, rule)[0] for name in rule.arguments}
            address = site.app.url_map.bind("localhost").build(rule.endpoint, values, method="POST")
            answer = site.client().post(address, data=body, content_type="multipart/form-data; boundary=b")
            check_answer(site, answer, address)
