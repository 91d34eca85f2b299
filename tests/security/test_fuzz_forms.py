"""Every form of every page, sent as it stands but for a few fields that hold anything; books from outside.

What the pages themselves send reaches the code behind each form's checks, where random bytes never come.
FUZZ=50 in the environment looks fifty times as long.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

from intake.config import demo_book

pytestmark = [
    pytest.mark.timeout(3600),
    pytest.mark.deep,
    pytest.mark.filterwarnings("ignore:Unclosed file <tempfile.Spooled:ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
ENDING = ("/signout", "/enrol", "/people/phones", "/setup", "/people/password")
MARK = "<fuzz-mark a='\">"
NASTY = (
    "", " ", "-1", "0", "1e999", "NaN", "Infinity", "9" * 5000, "1/0", "½", "٣", "\0", "a\0b", "\r\n", "\x85",
    "\u2028", "\U0001f3b8", "é" * 3000, "../..", "%00", "' or 1=1 --", '"', '""', "'''", "]]", "{{7*7}}",
    "{x}", "{", "%s", "=1+1", "-", "<5", "[1..", "not(", '"a","b', "1.2.3", "25:61-99:99", "10:00-09:00",
    "24:00-24:00", "2026-02-30", "9999-12-31", "0001-01-01..9999-12-31", "none", "x" * 20_000, "a b c", "#",
    "[x]", "\ufeff", MARK, "1e5", "0.00000000000000000001", "-0", "100000000000000000000", "1 000", "1,5",
    "50 %", "101",
)  # fmt: skip
words = st.one_of(st.sampled_from(NASTY), st.text(max_size=20), st.integers(-99, 10**7).map(str))


class Forms(HTMLParser):
    """The posting forms of a page: where they go, and what they would send."""

    def __init__(self, place: str) -> None:
        super().__init__()
        self.place = place
        self.found: list[tuple[str, list[tuple[str, str]]]] = []
        self.fields: list[tuple[str, str]] | None = None
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "form":
            self.fields = None
            if (given.get("method") or "get").lower() == "post":
                self.fields = []
                self.found.append((urljoin(self.place, given.get("action") or ""), self.fields))
        if tag == "button" and given.get("formaction"):
            self.found.append((urljoin(self.place, given["formaction"] or ""), self.fields or []))
        if tag == "select":
            self.select = name
        if self.fields is None:
            return
        kept = given.get("type") not in ("radio", "checkbox") or "checked" in given
        if tag in ("input", "button", "textarea") and name and kept:
            self.fields.append((name, given.get("value") or ""))
        if tag == "option" and self.select and "selected" in given:
            self.fields.append((self.select, given.get("value") or ""))


def starting_points(site: Any, example: Callable[..., object]) -> list[str]:
    adapter = site.app.url_map.bind("localhost")
    values = {"ticket": site.here.ticket, "token": site.here.token, "revision": 1, "number": 2}
    found = {
        adapter.build(
            rule.endpoint, {n: values.get(n, example(rule, n)) for n in rule.arguments}, method="GET"
        )
        for rule in site.app.url_map.iter_rules()
        if "GET" in (rule.methods or ()) and rule.endpoint != "static"
    }
    return sorted(found)


def forms_of(site: Any, example: Callable[..., object]) -> dict[str, list[tuple[str, str]]]:
    """Address of every form of the owner's, the counter's and the customer's pages, with what it sends."""
    forms: dict[str, list[tuple[str, str]]] = {}
    for address in starting_points(site, example):
        answer = site.client().get(address)
        check(site, answer, address)
        if answer.mimetype == "text/html":
            parser = Forms(address)
            parser.feed(answer.text)
            for target, fields in parser.found:
                if not target.startswith(ENDING) and len(forms.get(target, [])) <= len(fields):
                    forms[target] = fields
    return forms


def check(site: Any, answer: Any, asked: object) -> None:
    written, site.logged.lines[:] = [*site.logged.lines], []
    assert answer.status_code < 500 and written == [], (answer.status_code, asked, written[-1:])
    assert answer.status_code != 401 or "/signin" in str(asked), asked
    if answer.mimetype == "text/html" and "Content-Encoding" not in answer.headers:
        assert MARK not in answer.text, asked


def test_fuzz_every_form(site: Any, example: Callable[..., object], harder: int) -> None:
    forms = forms_of(site, example)
    assert len(forms) > 15
    client, accepted = site.client(), set()
    extra = ("add", "drop", "offer", "after", "like", "go", "up", "file", "row", "cell.0", "kind")

    @settings(max_examples=100 * harder, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def send(data: st.DataObject) -> None:
        target = data.draw(st.sampled_from(sorted(forms)))
        fields = list(forms[target])
        for _ in range(data.draw(st.integers(0, 3))):
            name = data.draw(st.sampled_from(sorted({*(name for name, _ in fields), *extra})))
            value = data.draw(words)
            at = [number for number, field in enumerate(fields) if field[0] == name]
            if at and data.draw(st.booleans()):
                fields[at[0]] = (name, value)
            else:
                fields.append((name, value))
        sent = [(name, value.encode("utf-8", "replace").decode()) for name, value in fields]
        answer = client.post(target, data=MultiDict(sent))
        check(site, answer, (target, fields))
        if answer.status_code == 303:
            accepted.add(urlsplit(target).path)
            check(site, client.get(answer.headers["Location"]), (target, fields))

    for target, fields in forms.items():
        answer = client.post(target, data=MultiDict(fields))
        check(site, answer, (target, fields))
        if answer.status_code == 303:
            accepted.add(urlsplit(target).path)
    send()
    for address in starting_points(site, example):
        check(site, client.get(address), address)
    assert len(accepted) > 5, accepted


def zipped(files: dict[str, bytes], **how: Any) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", **how) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return target.getvalue()


@pytest.fixture(scope="module")
def book() -> dict[str, bytes]:
    """The demo book's files, without the walk-ins."""
    folder = Path(demo_book())
    found = [path for path in folder.rglob("*") if path.is_file() and "walkins" not in path.parts]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def bring_in(site: Any, content: bytes) -> Any:
    boundary, body = encode_multipart({"zip": FileStorage(io.BytesIO(content), "book.zip")})
    kind = f"multipart/form-data; boundary={boundary}"
    return site.client().post("/book/import", data=body, content_type=kind)


def test_fuzz_a_book_from_outside(site: Any, book: dict[str, bytes], harder: int) -> None:
    """A file's lines and cells changed, cut, doubled; the zip itself cut or with other bytes."""
    methods = [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA]

    @settings(max_examples=15 * harder, suppress_health_check=list(HealthCheck))
    @given(st.data())
    def take_in(data: st.DataObject) -> None:
        files = dict(book)
        name = data.draw(st.sampled_from(sorted(files)))
        lines = files[name].decode("utf-8").split("\n")
        at = data.draw(st.integers(0, len(lines) - 1))
        cells = lines[at].split("," if name.endswith(".csv") else "=")
        cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(words)
        lines[at] = ",".join(cells) if name.endswith(".csv") else "=".join(cells)
        files[name] = "\n".join(lines).encode("utf-8", "surrogatepass")
        content = bytearray(zipped(files, compression=data.draw(st.sampled_from(methods))))
        for _ in range(data.draw(st.sampled_from([0, 0, 0, 1, 5]))):
            content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
        check(site, bring_in(site, bytes(content)), (name, at, cells))
        site.client().post("/book/drop")

    take_in()


@pytest.mark.parametrize(
    ("what", "files"),
    [
        ("a file that unfolds to much", {"shop.toml": b" " * 60_000_000}),
        ("very many files", {f"tables/{number}.csv": b"" for number in range(3000)}),
        ("a way out", {"../../etc/passwd": b"x"}),
        ("a way out, absolute", {"/etc/passwd": b"x"}),
        ("a way out, elsewhere's", {"..\\..\\x.toml": b"x"}),
        ("a drive", {"C:/x.toml": b"x"}),
        ("nothing", {}),
        ("nested brackets", {"shop.toml": b"a = " + b"[" * 100_000}),
        (
            "a number of 5000 digits",
            {
                "tables/action_low.csv": b"hit policy,first\nrelief [in],then finding\n"
                + b"9" * 5000
                + b",x\n"
            },
        ),
        ("a name that lies", {"shop.toml\0.exe": b"x"}),
    ],
)
def test_a_zip_that_is_a_trap_is_refused_in_words(site: Any, what: str, files: dict[str, bytes]) -> None:
    before = sorted(path for path in site.ctx.store.folder.parent.rglob("*"))
    answer = bring_in(site, zipped(files, compression=zipfile.ZIP_DEFLATED))
    check(site, answer, what)
    assert answer.status_code in (413, 422), what
    assert sorted(path for path in site.ctx.store.folder.parent.rglob("*")) == before
