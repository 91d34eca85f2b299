"""The store's write lock: slow work stays outside it, and whoever cannot have it is asked to try again."""

from __future__ import annotations

import io
import sqlite3
import threading
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import ImageOps

from intake.services.context import Context
from intake.store import edits, photos

FIELDS = [("relief", "0.008 in")]


@pytest.fixture
def while_decoding(monkeypatch: pytest.MonkeyPatch, ctx: Context) -> list[str]:
    """For each picture that is decoded, whether somebody else could write meanwhile: "free" or "held"."""
    seen: list[str] = []
    upright = ImageOps.exif_transpose

    def look(picture: Any) -> Any:
        other = sqlite3.connect(ctx.store.path, timeout=0, isolation_level=None)
        try:
            other.execute("BEGIN IMMEDIATE")
            seen.append("free")
        except sqlite3.OperationalError:
            seen.append("held")
        finally:
            other.close()
        return upright(picture)

    monkeypatch.setattr(ImageOps, "exif_transpose", look)
    return seen


def file(content: bytes) -> tuple[io.BytesIO, str]:
    return io.BytesIO(content), "photo.jpg"


def test_others_may_write_while_a_photo_is_decoded(
    client: FlaskClient, ticket: str, ctx: Context, picture: Callable[..., bytes], while_decoding: list[str]
) -> None:
    sent = {"photo": [file(picture()), file(picture("PNG", (50, 30)))]}

    answer = client.post(f"/tickets/{ticket}/photos", data=sent, headers={"Idempotency-Key": "k"})

    assert answer.status_code == 200
    assert while_decoding == ["free", "free"]
    assert len(photos.of_ticket(ctx.store.db, ticket)) == 2


def test_others_may_write_while_the_whole_form_s_photos_are_decoded(
    client: FlaskClient, ticket: str, ctx: Context, picture: Callable[..., bytes], while_decoding: list[str]
) -> None:
    sent = {"relief": "0.008 in", "photos": [file(picture()), file(picture("PNG", (50, 30)))]}

    answer = client.post(f"/tickets/{ticket}", data=sent)

    assert answer.status_code == 303
    assert while_decoding == ["free", "free"]
    assert len(photos.of_ticket(ctx.store.db, ticket)) == 2
    assert edits.standing(ctx.store.db, ticket)["relief"].value == "0.008 in"


def test_a_photo_that_has_its_answer_is_not_decoded_again(
    client: FlaskClient, ticket: str, picture: Callable[..., bytes], while_decoding: list[str]
) -> None:
    answers = [
        client.post(
            f"/tickets/{ticket}/photos",
            data={"photo": file(picture())},
            headers={"Idempotency-Key": "k"},
        )
        for _ in range(2)
    ]

    assert [answer.data for answer in answers] == [answers[0].data] * 2
    assert len(while_decoding) == 1


def test_a_save_that_does_not_get_its_turn_is_asked_to_try_again(
    phone: Any, ticket: str, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where another thread of this server writes for longer than anybody waits."""
    monkeypatch.setattr("intake.store.db.BUSY_MS", 1)
    has_it, done = threading.Event(), threading.Event()

    def write() -> None:
        with ctx.store.writing():
            has_it.set()
            done.wait(60)

    other = threading.Thread(target=write)
    other.start()
    has_it.wait(60)
    answer = phone.save(ticket, "neck", FIELDS)
    done.set()
    other.join()

    assert (answer.status_code, "Saved-Key" in answer.headers) == (503, False)
    assert answer.headers["Retry-After"]
    assert "busy" in answer.text and "Something went wrong" not in answer.text
    assert phone.save(ticket, "neck", FIELDS).status_code == 200
