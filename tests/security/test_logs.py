"""The log names no person and holds no secret, whatever is done and whatever goes wrong."""

from __future__ import annotations

import io
import logging
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from werkzeug.datastructures import MultiDict

from intake.operations.logs import JsonLines, to_stderr
from intake.paper import PaperError
from intake.services import documents
from intake.store import devices

PERSONAL = {
    "customer_name": "Zebulon Quillfeather",
    "customer_phone": "+15550107311",
    "customer_email": "zebulon@quillfeather.example",
    "serial": "ZQ-77310-X",
    "complaint_words": "It rattles since my aunt Philippa sat on it",
}
STAFF, STAFF_PIN, WRONG_PIN = "Ottilie Brackwater", "739204", "118833"
NEW_PASSWORD, WRONG_PASSWORD = "umbrella hedgehog lantern", "not the right umbrella"


class Everything(logging.Handler):
    """Each line as the server writes it."""

    def __init__(self) -> None:
        super().__init__(logging.DEBUG)
        self.written: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.written.append(JsonLines().format(record))


@pytest.fixture
def log() -> Iterator[Everything]:
    log, root, ours = Everything(), logging.getLogger(), logging.getLogger("intake")
    levels = root.level, ours.level
    root.addHandler(log)
    root.setLevel(logging.INFO)
    ours.setLevel(logging.DEBUG)
    yield log
    root.removeHandler(log)
    root.setLevel(levels[0])
    ours.setLevel(levels[1])


def sign_in_everywhere(site: Any) -> list[str]:
    """Staff added, a phone enrolled, right and wrong PINs and passwords; what must stay secret of it."""
    owner = site.client("owner")
    owner.post("/people/staff", data={"name": STAFF, "pin": STAFF_PIN, "role": "counter"})
    offered = owner.post("/people/phones").text
    code = re.sub(r"\W", "", re.search(r"code=([a-z2-7]{20,})", offered)[1])  # type: ignore[index]
    new = site.client("nobody")
    assert new.post("/enrol", data={"code": code, "name": "Workroom"}).status_code == 303
    number = re.findall(
        r'href="/signin/(\d+)[^"]*"[^>]*>\s*(?:<[^>]+>\s*)*' + STAFF, new.get("/signin").text
    )[0]
    for pin in (WRONG_PIN, STAFF_PIN):
        new.post(f"/signin/{number}", data={"pin": pin})
    site.client("nobody").post("/signin/owner", data={"name": "Mara Lindt", "password": WRONG_PASSWORD})
    owner.post(
        "/people/password", data={"old": WRONG_PASSWORD, "password": NEW_PASSWORD, "again": NEW_PASSWORD}
    )
    cookies = [cookie.value for name in ("device", "session") if (cookie := new.get_cookie(name))]
    assert len(cookies) == 2
    return [code, code[:12], *cookies, *site.cookies["owner"].values()]


def serve_a_customer(site: Any, walkin_fields: Any) -> list[str]:
    """A walk-in to a yes through a link, a search, and addresses that are none; the link's key."""
    client, here, ticket = site.client("counter"), site.here, str(uuid4())
    walkin = [pair for pair in walkin_fields(site.ctx, "03") if pair[0] not in PERSONAL]
    client.post(f"/tickets/{ticket}", data=MultiDict([*walkin, *PERSONAL.items()]))
    form = {**PERSONAL, "based_on": "9"}
    client.post(f"/tickets/{ticket}/steps/customer", data=form, headers={"Idempotency-Key": "k1"})
    client.get("/", query_string={"q": PERSONAL["customer_name"]})
    client.get("/signin", query_string={"next": f"/?q={PERSONAL['customer_name']}"})
    client.get(f"/no/{PERSONAL['customer_email']}")
    photo = {"photo": (io.BytesIO(b"no photo"), f"{PERSONAL['customer_name']}.jpg")}
    client.post(f"/tickets/{ticket}/photos", data=photo)
    quote = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    page = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"{quote}/link").text)[1]  # type: ignore[index]
    nobody = site.client("nobody")
    for more in ("", "/quote.pdf", "/nothing/here", "/ready.ics", f"/photos/{here.sha}.jpg"):
        nobody.get(page + more)
    said = {"name": PERSONAL["customer_name"], "question": PERSONAL["complaint_words"], "jobs": "none"}
    for what in ("seen", "question", "choice", "yes", "no"):
        nobody.post(f"{page}/{what}", data=said)
    client.post(f"{quote}/mail", data={"to": PERSONAL["customer_email"], "note": PERSONAL["complaint_words"]})
    return [page.removeprefix("/q/"), ticket]


def fail_in_every_way(site: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Errors whose own words quote a person, at the counter and behind a customer's link."""
    words = " ".join(PERSONAL.values())
    for error in (RuntimeError(words), ValueError(words), OSError(words), KeyError(words)):

        def fail(*_: object, raised: Exception = error, **__: object) -> None:
            raise raised

        with monkeypatch.context() as patch:
            patch.setattr("intake.screens.board.page.tickets.board", fail)
            patch.setattr("intake.screens.portal.page.quote_page.whole", fail)
            assert site.client("counter").get("/").status_code == 500
            assert site.client("nobody").get(site.here.page).status_code == 500


def test_nothing_done_in_a_shop_puts_a_person_or_a_secret_into_the_log(
    site: Any, log: Everything, walkin_fields: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    secrets = [*sign_in_everywhere(site), *serve_a_customer(site, walkin_fields), site.here.token]
    fail_in_every_way(site, monkeypatch)
    text = "\n".join(log.written)
    assert text.count('"says": "answered"') > 30 and text.count('"error": "RuntimeError"') == 2
    for word in (*PERSONAL.values(), "Quillfeather", "quillfeather", "Zebulon", "Philippa", "5550107311"):
        assert word not in text, word
    for word in (STAFF, "Brackwater", STAFF_PIN, WRONG_PIN, NEW_PASSWORD, WRONG_PASSWORD, *secrets):
        assert word not in text, word


def test_a_trouble_of_printing_is_named_without_the_person(
    site: Any, log: Everything, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> bytes:
        raise PaperError("The document took too long.")

    with monkeypatch.context() as patch:
        patch.setattr(documents, "render_quote_pdf", fail)
        site.client("counter").post(
            f"/tickets/{site.there.ticket}/steps/customer",
            data={"customer_email": PERSONAL["customer_email"], "based_on": "0"},
        )
        assert site.client("counter").post(f"/tickets/{site.there.ticket}/quotes").status_code == 503
    text = "\n".join(log.written)
    assert "took too long" in text and "Quillfeather" not in text and site.there.ticket not in text


def test_the_tables_that_hold_secrets_hold_their_hashes(site: Any) -> None:
    """And the events name people, phones and tickets, but none of their words."""
    told = "\n".join(site.ctx.store.db.iterdump())
    for secret in (
        site.here.token,
        site.there.token,
        *site.cookies["owner"].values(),
        STAFF_PIN,
        NEW_PASSWORD,
    ):
        assert secret not in told
    events = str(list(site.ctx.store.db.table("events").rows))
    assert not [word for word in PERSONAL.values() if word in events]
    assert devices.with_token(site.ctx.store.db, site.cookies["owner"]["device"])


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def test_the_server_s_own_lines_hold_no_address_either(tmp_path: Path) -> None:
    """The real process: paths, queries and headers of good, bad and broken requests stay out of it."""
    port = free_port()
    command = [
        sys.executable,
        "-c",
        "from intake.cli.main import main; main()",
        "--data",
        str(tmp_path / "data"),
        "serve",
        "--port",
        str(port),
    ]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    assert server.stdout
    try:
        first = server.stdout.readline()
        for path in ("/q/SECRETKEYSECRETKEY", "/?q=Quillfeather", "/no/Quillfeather", "/healthz"):
            line = HTTPConnection("127.0.0.1", port, timeout=120)
            line.request("GET", path, headers={"Cookie": "session=SECRETKEY", "X-Name": "Quillfeather"})
            line.getresponse().read()
            line.close()
        for broken in (b"GET /q/SECRETKEY HTTP/9\r\n\r\n", b"Quillfeather\r\n\r\n", b"\x16\x03\x01SECRETKEY"):
            with socket.create_connection(("127.0.0.1", port), 120) as raw:
                raw.sendall(broken)
                raw.recv(1000)
    finally:
        server.terminate()
        rest = server.communicate(timeout=120)[0]
    said = (first + rest).decode()
    assert '"says": "answered"' in said
    assert "SECRETKEY" not in said and "Quillfeather" not in said


def test_what_the_printer_complains_of_is_logged_without_the_words(log: Everything) -> None:
    """A sign that no font has, in a name: WeasyPrint's warning quotes it."""
    from intake.paper import press

    page = '<html lang="en"><head><title>x</title></head><body>Quillfeather\u0016\ue123</body></html>'
    assert press().render(page).startswith(b"%PDF")
    text = "\n".join(log.written)
    assert "paper: " in text and "unsupported" in text
    assert "Quillfeather" not in text and "\u0016" not in text and "\\u0016" not in text


def test_an_error_keeps_its_words_to_itself_at_a_terminal_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """ASVS 16.2.5: an exception's words may quote what somebody typed."""
    root, written = logging.getLogger(), []
    before, levels = root.handlers[:], (root.level, logging.getLogger("intake").level)
    try:
        for terminal in (True, False):
            target = io.StringIO()
            monkeypatch.setattr(target, "isatty", lambda terminal=terminal: terminal, raising=False)
            monkeypatch.setattr(sys, "stderr", target)
            to_stderr()
            try:
                raise ValueError(PERSONAL["customer_name"])
            except ValueError:
                logging.getLogger("intake").error("it failed", exc_info=True)
            written.append(target.getvalue())
    finally:
        root.handlers[:] = before
        root.setLevel(levels[0])
        logging.getLogger("intake").setLevel(levels[1])

    for line in written:
        assert "it failed" in line and "ValueError" in line and "test_logs.py" in line
        assert PERSONAL["customer_name"] not in line
