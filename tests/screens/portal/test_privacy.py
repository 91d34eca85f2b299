"""A customer's data handed out whole, and erased so that nothing of it can be read in any file."""

from __future__ import annotations

import io
import json
import sqlite3
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image

from intake.cli.main import main
from intake.operations.backup_settings import open_store
from intake.services.context import Context
from intake.store import photos, privacy, quotes, tickets
from intake.store.scrubbing import is_unfinished

WORDS = ("R. Okafor", "555 0188", "Hard to play", "rose@home.example", "Is the finish touched")


def jpeg() -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 120, 40)).save(target, "JPEG")
    return target.getvalue()


@pytest.fixture
def whole(customer: Any, client: FlaskClient, phone: Any, ctx: Context, ticket: str) -> str:
    """A ticket with photo, question, yes and mail."""
    with ctx.store.writing() as db:
        sha = photos.write(ctx.store.photos, jpeg())
        photos.keep(db, ticket, sha, (40, 30), 100, ctx.now())
    phone.save(
        ticket,
        "customer",
        [
            ("customer_name", "R. Okafor"),
            ("customer_phone", "555 0188"),
            ("customer_email", "rose@home.example"),
        ],
        based_on=1,
    )
    customer.post("question", question="Is the finish touched?")
    customer.say_yes()
    return ticket


def stored(ctx: Context) -> bytes:
    return b"".join(path.read_bytes() for path in ctx.store.folder.rglob("*") if path.is_file())


@pytest.mark.parametrize("who", ["R. Okafor", "r.  okafor", "555 0188", "rose@home.example", "#1"])
def test_the_customer_is_found(whole: str, ctx: Context, who: str) -> None:
    assert privacy.find(ctx.store.db, who) == [whole]


@pytest.mark.parametrize("who", ["Okafor", "", "#2", "%", "#", "555"])
def test_nobody_else_is(whole: str, ctx: Context, who: str) -> None:
    assert privacy.find(ctx.store.db, who) == []


def test_everything_is_handed_out(whole: str, ctx: Context, customer: Any) -> None:
    content = privacy.export(ctx.store, [whole])
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        text = archive.read("data.json").decode()
        names = archive.namelist()
        pictures = [archive.read(name) for name in names if name.startswith("photos/")]
    for words in WORDS:
        assert words in text
    assert pictures == [jpeg()] and any(name.startswith("quotes/") for name in names)
    (given,) = json.loads(text)["tickets"]
    assert [answer["kind"] for answer in given["answers"]] == ["question", "goahead"]
    assert "token_sha256" not in text


def test_erasing_leaves_number_totals_and_days(
    whole: str,
    ctx: Context,
    customer: Any,
    client: FlaskClient,
    other_phone: Any,
    clock: Any,
    monkeypatch: Any,
) -> None:
    monkeypatch.setattr(type(clock), "__call__", lambda it: it.move(milliseconds=1) or it.moment)
    refused = other_phone.save(whole, "customer", [("customer_name", "Someone")])
    assert refused.status_code == 412 and "R. Okafor" in refused.text
    frozen = quotes.find(ctx.store.db, whole, 1)
    assert frozen
    offer = json.loads(frozen.quote)["offers"]["put_right"]
    before = stored(ctx)
    assert all(words.encode() in before for words in WORDS)
    privacy.erase(ctx.store, [whole], ctx.now())
    after = stored(ctx)
    assert [words for words in WORDS if words.encode() in after] == []
    found = tickets.find(ctx.store.db, whole)
    assert found and (found.number, found.total, found.ready) == (1, offer["total"], offer["ready_today"])
    assert (found.name, found.phone, found.family, found.serial) == ("", "", "", "")
    (kept,) = ctx.store.db.table("bookkeeping").rows
    assert json.loads(kept["totals"])["put_right"]["total"] == offer["total"]
    assert json.loads(kept["agreed"])["total"] == offer["total"]
    assert list(ctx.store.photos.iterdir()) == [] and list(ctx.store.quotes.iterdir()) == []
    assert customer.get().status_code == 404
    assert client.get(f"/tickets/{whole}/quotes/1").status_code == 404
    for page in ("/", f"/tickets/{whole}"):
        assert client.get(page).status_code == 200


def test_a_photo_that_another_ticket_has_too_stays(whole: str, ctx: Context) -> None:
    with ctx.store.writing() as db:
        tickets.ensure(db, "other", ctx.now())
        sha = photos.of_ticket(db, whole)[0].sha256
        photos.keep(db, "other", sha, (40, 30), 100, ctx.now())
    privacy.erase(ctx.store, [whole], ctx.now())
    assert [path.stem for path in ctx.store.photos.iterdir()] == [sha]


def test_other_tickets_stay_as_they_are(whole: str, ctx: Context, phone: Any) -> None:
    phone.save("01890a5d-ac96-774b-bcce-b302099a8057", "customer", [("customer_name", "Ines Falk")])
    others = privacy.data_of(ctx.store.db, privacy.find(ctx.store.db, "Ines Falk"))
    privacy.erase(ctx.store, [whole], ctx.now())
    assert privacy.data_of(ctx.store.db, privacy.find(ctx.store.db, "Ines Falk")) == others
    assert len(others["tickets"]) == 1


def test_the_commands(whole: str, ctx: Context, data: Path, tmp_path: Path) -> None:
    run = CliRunner()
    target = tmp_path / "out.zip"
    said = run.invoke(main, ["--data", str(data), "customer", "export", "R. Okafor", "--to", str(target)])
    assert said.exit_code == 0 and zipfile.is_zipfile(target), said.output
    said = run.invoke(main, ["--data", str(data), "customer", "erase", "R. Okafor"], input="n\n")
    assert said.exit_code == 1 and privacy.find(ctx.store.db, "R. Okafor") == [whole]
    said = run.invoke(main, ["--data", str(data), "customer", "erase", "R. Okafor", "--yes"])
    assert said.exit_code == 0 and "Backups" in said.output
    assert privacy.find(ctx.store.db, "R. Okafor") == []
    said = run.invoke(main, ["--data", str(data), "customer", "erase", "R. Okafor", "--yes"])
    assert said.exit_code == 1 and "No ticket" in said.output


def reading(ctx: Context) -> sqlite3.Connection:
    """Another program that has begun to read, and sees the file as it was."""
    other = sqlite3.connect(ctx.store.path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN")
    other.execute("select count(*) from tickets").fetchone()
    return other


def test_what_a_reader_still_holds_is_said_and_goes_when_the_reader_has(
    whole: str, ctx: Context, app: Flask, badge: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("intake.store.scrubbing.EVERY", 0.01)
    owner, other = app.test_client(badge=badge(ctx, "owner")), reading(ctx)

    page = owner.post(f"/tickets/{whole}/privacy/erase", data={"tickets": whole, "number": "1"})
    assert "Not all of it is off the disk yet" in page.text
    assert b"R. Okafor" in stored(ctx)

    other.close()
    until(lambda: not is_unfinished(ctx.store.folder))
    assert not [words for words in WORDS if words.encode() in stored(ctx)]
    assert "Not all of it" not in owner.get(f"/tickets/{whole}/privacy").text


def test_an_erasure_that_was_cut_off_is_finished_at_the_next_start(whole: str, ctx: Context) -> None:
    """By the mark in the data folder; `doctor` says it too."""
    other = reading(ctx)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("intake.store.scrubbing.finish_later", lambda _: None)
        assert not privacy.erase(ctx.store, [whole], ctx.now())
    other.close()
    data = ["--data", str(ctx.store.folder)]
    assert "may still stand in the database's log" in CliRunner().invoke(main, [*data, "doctor"]).output

    open_store(ctx.store.folder).close()

    assert not is_unfinished(ctx.store.folder)
    assert not [words for words in WORDS if words.encode() in stored(ctx)]


def test_the_command_says_so_too(whole: str, ctx: Context) -> None:
    other = reading(ctx)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("intake.store.db.BUSY_MS", 1)
        data = ["--data", str(ctx.store.folder)]
        said = CliRunner().invoke(main, [*data, "customer", "erase", "R. Okafor", "--yes"])
    other.close()

    assert said.exit_code == 1
    assert "Erased." in said.output and "replaced-" in said.output and "doctor --mend" in said.output


def until(true: Callable[[], object]) -> None:
    end = time.monotonic() + 120
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)
