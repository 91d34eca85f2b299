"""Words that would read as others: overrides of direction, NUL and controls stay outside (ASVS 2.2.1)."""

from __future__ import annotations

import io
import json
from typing import Any
from uuid import uuid4

import pytest

from intake.screens.book_editor.zip_files import ZipError, read_zip
from intake.store.books import pack

PASSWORD = "a long enough password"  # the site's own
BAD = "a\0b\u202ec\x1b[2Jd\u2066e\ufefff"


def everything(site: Any) -> str:
    """Every word in the store, as JSON text without escapes."""
    db = site.ctx.store.db
    tables = [table.name for table in db.tables if table.name not in ("books", "book_files", "search")]
    rows = [row for name in tables for row in db.table(name).rows]
    return json.dumps(rows, ensure_ascii=False, default=str)


def test_a_step_s_raw_answers_are_stored_without_them(site: Any) -> None:
    client, ticket = site.client("counter"), str(uuid4())
    form = {"customer_name": f"Ines {BAD}", "complaint_words\0": "x", "based_on": "0"}

    answer = client.post(
        f"/tickets/{ticket}/steps/customer",
        data=form,
        headers={"Idempotency-Key": str(uuid4()), "Device": "a\x9bb"},
    )

    assert answer.status_code == 200
    kept = list(site.ctx.store.db.table("edits").rows_where("ticket = ?", [ticket]))
    assert [(row["part"], row["value"]) for row in kept] == [("customer_name", "Ines abc[2Jdef")]
    assert {row["device"] for row in kept} == {"ab"}


def test_no_way_in_lets_them_through(site: Any) -> None:
    """The whole form, a customer's question and name, a mail's note, staff, phones, a discount, a search, a
    file's name."""
    counter, owner, nobody = (site.client(who) for who in ("counter", "owner", "nobody"))
    ticket = site.here.ticket
    counter.post(f"/tickets/{uuid4()}", data={"customer_name": BAD, "complaint_words": BAD})
    nobody.post(f"{site.here.page}/question", data={"question": BAD, "name": BAD})
    nobody.post(f"{site.here.page}/no", data={"reason": BAD})
    owner.post("/people/staff", data={"name": f"Ida {BAD}", "role": "bench", "pin": "2718"})
    owner.post(f"/tickets/{ticket}/discount", data={"percent": "5", "reason": BAD})
    owner.post("/book/import", data={"zip": (io.BytesIO(b"x"), f"{BAD}.zip")})

    kept = everything(site)

    assert "abc[2Jdef" in kept
    for sign in "\0\u202e\x1b\u2066\ufeff":
        assert sign not in kept and json.dumps(sign)[1:-1] not in kept, ascii(sign)
    assert all(sign not in counter.get("/", query_string={"q": BAD}).text for sign in "\0\u202e\x1b")


def test_a_password_is_looked_at_as_it_comes(site: Any) -> None:
    """ASVS 6.2.8: nothing is left out of it."""
    owner, new = site.client("owner"), "seven \u202e brass tuners"

    changed = owner.post("/people/password", data={"old": PASSWORD, "password": new, "again": new})

    assert changed.status_code == 303
    signed_in = [
        site.client("nobody")
        .post("/signin/owner", data={"name": "Mara Lindt", "password": typed})
        .status_code
        for typed in ("seven  brass tuners", new)
    ]
    assert signed_in == [401, 303]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("shop.toml", b"# \xe2\x80\xae\n"),
        ("shop.toml", b'x = "\\u202e"\n'),
        ("shop.toml", b'x = "\\U0000001b"\n'),
        ("jobs.csv", b"a\x1bb,"),
        ("tables/more.csv", "\u2066".encode()),
    ],
)
def test_a_book_with_signs_that_nobody_sees_is_not_brought_in(name: str, words: bytes) -> None:
    with pytest.raises(ZipError, match="signs that nobody sees"):
        read_zip(pack({"shop.toml": b"y = 1\n", name: words}))


def test_a_book_with_a_spreadsheet_s_byte_order_mark_is(site: Any) -> None:
    assert read_zip(pack({"shop.toml": b"", "jobs.csv": b"\xef\xbb\xbfid,name\r\n"}))
