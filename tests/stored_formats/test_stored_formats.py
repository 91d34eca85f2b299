"""What earlier versions left on people's disks is read to the byte: database, backup and frozen quotes."""

from __future__ import annotations

import hashlib
import io
import json
import sqlite3
import tarfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from pypdf import PdfReader

from intake.config import Settings
from intake.quoting.quote import make_quote
from intake.quoting.serialise import _COLLECTIONS as COLLECTIONS
from intake.quoting.serialise import CLASSES, SCALARS, dumps, loads
from intake.quoting.to_json import quote_json
from intake.services.context import Context
from intake.services.walkins import as_json, from_json
from intake.store import events, photos, quotes
from intake.store.backup.archive import archives
from intake.store.quotes import FrozenQuote
from intake.store.restore import restore

SHOPS = sorted(Path(__file__).parent.glob("*.tar.xz"))
FIRST = "0f5f6a52-6f44-4f0c-9f0e-5d2f5c1b7a01"
SECOND = "0f5f6a52-6f44-4f0c-9f0e-5d2f5c1b7a02"
REVISIONS = [(FIRST, 1), (SECOND, 1), (SECOND, 2)]
OpenApp = Callable[[Settings], Flask]


@pytest.fixture(params=SHOPS, ids=lambda shop: shop.name.removesuffix(".tar.xz"))
def unpacked(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The archive's `data/` and `backups/`."""
    with tarfile.open(request.param) as archive:
        archive.extractall(tmp_path / "shop", filter="data")
    return tmp_path / "shop"


@pytest.fixture
def app(unpacked: Path, clock: Callable[[], object], open_app: OpenApp) -> Iterator[Flask]:
    """The app on the data folder as it was left."""
    app = open_app(Settings(data=unpacked / "data", now=clock))
    yield app
    app.extensions["context"].store.close()


def frozen(ctx: Context) -> list[FrozenQuote]:
    found = [quotes.find(ctx.store.db, ticket, revision) for ticket, revision in REVISIONS]
    return [quote for quote in found if quote]


def test_the_database_opens_with_all_it_held(client: FlaskClient, ctx: Context) -> None:
    board = client.get("/").text

    assert f"/tickets/{FIRST}" in board and f"/tickets/{SECOND}" in board
    assert len(frozen(ctx)) == len(REVISIONS)
    assert len(photos.of_ticket(ctx.store.db, SECOND)) == 1
    said = [event["what"] for event in events.of_ticket(ctx.store.db, SECOND)]
    assert [what for what in said if what.startswith(("quote", "discount"))] == [
        "quote frozen",
        "discount given",
        "quote frozen",
    ]


def test_every_page_of_its_tickets_is_shown(client: FlaskClient) -> None:
    for ticket in (FIRST, SECOND):
        for page in ("", "/summary", "/quotes/1", "/quotes/1/send", "/quotes/1/goahead"):
            assert client.get(f"/tickets/{ticket}{page}").status_code == 200, page


def test_the_quote_is_printed_from_its_kept_file(client: FlaskClient, ctx: Context) -> None:
    for quote in frozen(ctx):
        answer = client.get(f"/tickets/{quote.ticket}/quotes/{quote.revision}.pdf")

        assert answer.data == (ctx.store.quotes / quote.pdf_file).read_bytes()
        assert hashlib.sha256(answer.data).hexdigest() == quote.pdf_sha256


def test_another_paper_is_printed_from_the_frozen_quote(client: FlaskClient, ctx: Context) -> None:
    quote = frozen(ctx)[-1]
    answer = client.get(f"/tickets/{quote.ticket}/quotes/{quote.revision}.pdf?paper=a4")

    pages = [page.extract_text() for page in PdfReader(io.BytesIO(answer.data)).pages]
    total = json.loads(quote.quote)["offers"]["put_right"]["total"]

    assert total in "".join(pages).replace(",", "") and "Pays today" in "".join(pages)


def test_the_frozen_quote_is_read_and_written_as_it_was(ctx: Context) -> None:
    for quote in frozen(ctx):
        kept = loads(quote.exact)
        again = dumps(kept)

        assert loads(again) == kept
        assert dumped(restricted(json.loads(again), json.loads(quote.exact))) == quote.exact
        assert as_json(from_json(quote.walkin)) == quote.walkin


def test_the_fixture_holds_every_kind_of_value(ctx: Context) -> None:
    written = "".join(quote.exact for quote in frozen(ctx))

    assert [tag for tag in (*CLASSES, *SCALARS, *COLLECTIONS) if f'{{"{tag}": ' not in written] == []


def test_its_json_computes_again_to_the_byte(ctx: Context) -> None:
    for quote in frozen(ctx):
        kept = loads(quote.exact)
        again = make_quote(
            ctx.book_of(quote.book_digest),
            from_json(quote.walkin),
            kept.made_on,
            booked=kept.booked,
            adjust=kept.discount,
        )

        for computed in (kept, again):
            assert dumped(restricted(quote_json(computed), json.loads(quote.quote))) == quote.quote


def restricted(new: Any, old: Any) -> Any:
    """Without the keys that a later version added."""
    if isinstance(new, dict) and isinstance(old, dict):
        return {key: restricted(value, old[key]) for key, value in new.items() if key in old}
    if isinstance(new, list) and isinstance(old, list) and len(new) == len(old):
        return [restricted(*pair) for pair in zip(new, old, strict=True)]
    return new


def dumped(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False)


def test_the_backup_is_put_back_whole(unpacked: Path, tmp_path: Path, clock: Callable[[], datetime]) -> None:
    (archive,) = archives(unpacked / "backups")
    new = tmp_path / "new"

    done = restore(archive, new, clock())

    assert archive.problems() == [] and done.left_out == ()
    for kept in sorted((unpacked / "data").glob("*/*")):
        assert (new / kept.relative_to(unpacked / "data")).read_bytes() == kept.read_bytes()
    assert dump(new) == dump(unpacked / "data")


def dump(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "tallyfret.db")) as db:
        return list(db.iterdump())
