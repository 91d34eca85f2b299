"""What one fault came to, and how a shop's contents are read past the program."""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import badge
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image
from werkzeug.test import TestResponse

from intake.store.backup.archive import damage
from intake.store.files import sha256_of


@dataclass(frozen=True)
class Trial:
    """`lost` counts what was acknowledged and is gone, what is there by half, what went twice; `saw` is the
    sentence."""

    fault: str
    tries: int
    lost: int
    saw: str


TABLES = "select name from sqlite_master where type = 'table' and name not like 'search%'"


def contents(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table but who used a phone when, and which life of the store this is; the index of
    words is left out."""
    with closing(sqlite3.connect(folder / "tallyfret.db")) as db:
        names = {name for (name,) in db.execute(TABLES)} - {"devices", "sessions", "lives"}
        return {name: db.execute(f"select * from {name}").fetchall() for name in sorted(names)}  # noqa: S608


def broken(folder: Path) -> int:
    """How many rows lack their file or its hash, files under a wrong name, and SQLite's own complaints."""
    found = len(damage(folder / "tallyfret.db"))
    with closing(sqlite3.connect(folder / "tallyfret.db")) as db:
        for (sha,) in db.execute("select sha256 from photos"):
            found += not (folder / "photos" / f"{sha}.jpg").is_file()
        for name, sha in db.execute("select pdf_file, pdf_sha256 from quotes where pdf_file <> ''"):
            path = folder / "quotes" / name
            found += not (path.is_file() and sha256_of(path) == sha)
    return found + sum(path.stem != sha256_of(path) for path in (folder / "photos").glob("*.jpg"))


def phone_of(app: Flask) -> FlaskClient:
    """An enrolled phone with somebody signed in."""
    client, ctx = app.test_client(), app.extensions["context"]
    for pair in badge.cookie(ctx.store.folder, now=ctx.now()).split("; "):
        name, _, token = pair.partition("=")
        client.set_cookie(name, token)
    return client


def save(client: FlaskClient, ticket: str, key: str, step: str = "neck", **fields: str) -> TestResponse:
    """One step's save as a phone sends it."""
    form = {"based_on": "0", **fields}
    headers = {"Idempotency-Key": key, "Device": "d"}
    return client.post(f"/tickets/{ticket}/steps/{step}", data=form, headers=headers)


def change(client: FlaskClient, ticket: str, key: str, relief: str, base: str = "") -> TestResponse:
    """One edit as a phone sends it, on top of the one before; its id is the request's key."""
    edit = {"id": key, "part": "relief", "value": relief, "base": base}
    form = {f"edits-0-{name}": value for name, value in edit.items()}
    headers = {"Idempotency-Key": key, "Device": "d"}
    return client.post(f"/tickets/{ticket}/edits", data=form, headers=headers)


def upload(client: FlaskClient, ticket: str, key: str, jpeg: bytes) -> TestResponse:
    """One photo as a phone sends it."""
    headers = {"Idempotency-Key": key, "Device": "d"}
    photo = {"photo": (io.BytesIO(jpeg), "p.jpg")}
    return client.post(f"/tickets/{ticket}/photos", data=photo, headers=headers)


def quote(client: FlaskClient, ticket: str, key: str) -> TestResponse:
    """Freeze the quote as it is."""
    return client.post(f"/tickets/{ticket}/quotes", headers={"Idempotency-Key": key, "Device": "d"})


def quotable(client: FlaskClient) -> str:
    """A ticket with just enough said for a quote with work in it."""
    ticket = str(uuid4())
    said = {"customer": {"customer_name": "Ines Falk"}, "instrument": {"family": "steel-string"}}
    for step, fields in said.items():
        assert save(client, ticket, str(uuid4()), step, **fields).status_code in (200, 422)
    return ticket


def noise(width: int, height: int) -> bytes:
    """A picture like no other."""
    target = io.BytesIO()
    Image.effect_noise((width, height), 90).save(target, "JPEG", quality=95)
    return target.getvalue()


def kept(answer: TestResponse) -> bool:
    """True if a phone may forget what it sent."""
    return "Saved-Key" in answer.headers
