"""Photos: what is taken, what is made of it, what is refused."""

from __future__ import annotations

import errno
import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import Image

from intake.config import Settings
from intake.services import documents
from intake.services.context import Context
from intake.services.images import ImageError, as_jpeg
from intake.services.ticket_view import TicketView
from intake.store import edits, photos, tickets

Picture = Callable[..., bytes]


def send(
    client: FlaskClient, ticket: str, content: bytes, key: str = "k", name: str = "photo.jpg", id: str = ""
) -> Any:
    headers = {"Idempotency-Key": key} if key else {}
    fields: dict[str, Any] = {"photo": (io.BytesIO(content), name)}
    return client.post(
        f"/tickets/{ticket}/photos", data={**fields, "id": id} if id else fields, headers=headers
    )


def with_place(picture: Picture, turned: int = 1) -> bytes:
    """A JPEG that says where it was taken, with a comment."""
    exif = Image.Exif()
    exif[0x010F] = "A camera"
    exif[0x0112] = turned
    exif.get_ifd(0x8825)[2] = (49.0, 15.0, 0.0)
    return picture("JPEG", (40, 30), exif=exif, comment=b"at home")


def test_a_photo_is_kept_and_shown(client: FlaskClient, ticket: str, ctx: Context, picture: Picture) -> None:
    answer = send(client, ticket, picture())
    assert (answer.status_code, answer.headers["Saved-Key"]) == (200, "k")
    shown = client.get(answer.json["url"])
    assert shown.mimetype == "image/jpeg"
    assert shown.data.startswith(b"\xff\xd8\xff")
    (photo,) = photos.of_ticket(ctx.store.db, ticket)
    assert (photo.width, photo.height, photo.sha256) == (40, 30, answer.json["sha"])
    assert answer.json["url"] in client.get(f"/tickets/{ticket}").text


def test_a_photo_that_is_lost_stops_no_document(
    client: FlaskClient, quoted: str, ctx: Context, picture: Picture
) -> None:
    url = send(client, quoted, picture()).json["url"]
    (photo,) = photos.of_ticket(ctx.store.db, quoted)
    (ctx.store.photos / f"{photo.sha256}.jpg").unlink()
    assert client.get(url).status_code == 404
    assert client.get(f"/tickets/{quoted}/receipt.pdf").data.startswith(b"%PDF")


def test_a_photo_s_own_page_can_do_nothing(client: FlaskClient, ticket: str, picture: Picture) -> None:
    shown = client.get(send(client, ticket, picture()).json["url"])
    assert shown.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert shown.headers["X-Content-Type-Options"] == "nosniff"
    assert shown.headers["Content-Disposition"].startswith("inline; filename=")


def test_sent_again_it_is_one_photo(client: FlaskClient, ticket: str, ctx: Context, picture: Picture) -> None:
    """The boundary of a multipart body differs each time; the key's body is its content."""
    answers = [send(client, ticket, picture(), key) for key in ("k", "k", "another")]
    assert [answer.status_code for answer in answers] == [200] * 3
    assert len(photos.of_ticket(ctx.store.db, ticket)) == 1
    assert send(client, ticket, picture("PNG"), "k").status_code == 400


def test_where_it_was_taken_is_left_out(picture: Picture) -> None:
    sent = with_place(picture)
    assert b"A camera" in sent and b"at home" in sent
    jpeg, _, _ = as_jpeg(sent)
    kept = Image.open(io.BytesIO(jpeg))
    assert not kept.getexif()
    assert not {"exif", "comment", "xmp", "icc_profile"} & kept.info.keys()
    assert b"A camera" not in jpeg and b"at home" not in jpeg


def test_a_turned_photo_stands_upright(picture: Picture) -> None:
    assert as_jpeg(with_place(picture, turned=6))[1:] == (30, 40)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_large_ones_are_made_small(picture: Picture, kind: str) -> None:
    jpeg, width, height = as_jpeg(picture(kind, (3200, 1200)))
    assert (width, height) == (1600, 600)
    assert Image.open(io.BytesIO(jpeg)).format == "JPEG"


def test_a_real_heic_is_refused_with_a_way_out(client: FlaskClient, ticket: str, ctx: Context) -> None:
    answer = send(client, ticket, Path(__file__).with_name("photo.heic").read_bytes(), name="photo.heic")

    assert answer.status_code == 415 and "Saved-Key" not in answer.headers
    assert "HEIC" in answer.text and "Set the camera to JPEG" in answer.text
    assert list(ctx.store.photos.iterdir()) == [] and tickets.find(ctx.store.db, ticket) is None


def png_that_claims(width: int, height: int) -> bytes:
    """A PNG header of that size with hardly any data behind it."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
        )

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [7_000, 10_000, 60_000])
def test_a_picture_that_would_fill_the_memory_is_refused_unopened(side: int) -> None:
    with pytest.raises(ImageError, match=r"(16|40) million pixels"):
        as_jpeg(png_that_claims(side, side))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"<!doctype html><script>alert(1)</script>",
        b"GIF89a\x01\x00\x01\x00\x00\x00\x00;",
        b"%PDF-1.7 nothing",
        b"\xff\xd8\xff\xe0 cut short",
        b"RIFF\x00\x00\x00\x00WAVEfmt ",
        b"\x89PNG\r\n\x1a\n",
    ],
)
def test_what_is_no_photo_gets_a_sentence(
    client: FlaskClient, ticket: str, ctx: Context, content: bytes
) -> None:
    answer = send(client, ticket, content)
    assert answer.status_code == 415
    assert answer.text.endswith(".") and "Saved-Key" not in answer.headers
    assert tickets.find(ctx.store.db, ticket) is None
    assert list(ctx.store.photos.iterdir()) == []


def test_what_hides_behind_a_picture_is_gone(picture: Picture) -> None:
    hidden = b"<script>alert(1)</script>PK\x03\x04"
    jpeg, _, _ = as_jpeg(picture() + hidden)
    assert b"script" not in jpeg and b"PK\x03\x04" not in jpeg


@pytest.mark.parametrize(("number", "status"), [(errno.ENOSPC, 507), (errno.EIO, 507), (errno.EBUSY, 500)])
def test_a_photo_that_finds_no_room_is_not_called_kept(
    client: FlaskClient,
    ticket: str,
    ctx: Context,
    picture: Picture,
    monkeypatch: Any,
    number: int,
    status: int,
) -> None:
    def fail(_: int) -> None:
        raise OSError(number, "no")

    with monkeypatch.context() as patched:
        patched.setattr("os.fsync", fail)
        answer = send(client, ticket, picture())
    assert (answer.status_code, "Saved-Key" in answer.headers) == (status, False)
    assert list(ctx.store.photos.iterdir()) == []
    assert tickets.find(ctx.store.db, ticket) is None
    assert send(client, ticket, picture()).status_code == 200


def test_a_request_without_a_photo(client: FlaskClient, ticket: str) -> None:
    assert client.post(f"/tickets/{ticket}/photos", headers={"Idempotency-Key": "k"}).status_code == 400


def test_a_plain_form_gets_the_wizard_again(client: FlaskClient, ticket: str, picture: Picture) -> None:
    answer = send(client, ticket, picture(), key="")
    assert (answer.status_code, answer.headers["Location"]) == (303, f"/tickets/{ticket}")


@pytest.mark.parametrize("sha", ["0" * 64, "..%2f..%2ftallyfret", "x"])
def test_only_known_photos_are_shown(client: FlaskClient, sha: str) -> None:
    assert client.get(f"/media/{sha}.jpg").status_code == 404


def test_a_data_folder_named_from_where_the_shop_was_started(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, open_app: Any, ticket: str, picture: Picture
) -> None:
    """As `tallyfret demo` has it: `demo-data`, which Flask alone would look for beside its code."""
    monkeypatch.chdir(tmp_path)
    app = open_app(Settings(Path("shop")))
    client = app.test_client()
    kept = client.get(send(client, ticket, picture()).json["url"])
    assert kept.status_code == 200 and kept.data.startswith(b"\xff\xd8")
    app.extensions["context"].store.close()


# ---- a photo is a part of its ticket


def shown(client: FlaskClient, ticket: str) -> int:
    return client.get(f"/tickets/{ticket}").text.count("<img")


def edit(id: str, value: str, base: str) -> dict[str, str]:
    return {"id": id, "part": "photos/p-1", "value": value, "base": base}


def test_a_photo_taken_away_is_shown_nowhere_and_may_come_back(
    client: FlaskClient, phone: Any, ticket: str, ctx: Context, picture: Picture
) -> None:
    assert send(client, ticket, picture(), id="p-1").json["id"] == "p-1"
    assert shown(client, ticket) == 1

    away = phone.send(ticket, edit("e-1", "", "p-1")).json

    assert [one["fate"] for one in away["edits"]] == ["stands"]
    assert shown(client, ticket) == 0
    assert documents.photographs(ctx, ticket) == ()
    phone.send(ticket, edit("e-2", "there", "e-1"))
    assert shown(client, ticket) == 1


def test_a_photo_taken_away_before_it_came_stays_away(
    client: FlaskClient, phone: Any, ticket: str, picture: Picture
) -> None:
    phone.send(ticket, edit("e-1", "", "p-1"))

    assert send(client, ticket, picture(), id="p-1").status_code == 200

    assert shown(client, ticket) == 0


def test_taking_away_and_drawing_on_a_photo_clash(
    client: FlaskClient, phone: Any, other_phone: Any, ticket: str, picture: Picture
) -> None:
    send(client, ticket, picture(), id="p-1")
    phone.send(ticket, edit("e-1", "", "p-1"))

    drawn = other_phone.send(ticket, edit("e-2", '{"ring": "5,5"}', "p-1")).json

    assert [one["fate"] for one in drawn["edits"]] == ["clash"]
    page = client.get(f"/tickets/{ticket}").text
    assert 'data-part="photos/p-1"' in page and "taken away" in page
    assert shown(client, ticket) == 1
    phone.send(ticket, edit("e-3", "", drawn["parts"]["photos/p-1"]["base"]))
    assert shown(client, ticket) == 0


def test_the_same_id_gives_the_same_photo_whatever_the_key(
    client: FlaskClient, phone: Any, ticket: str, ctx: Context, picture: Picture
) -> None:
    first = send(client, ticket, picture(), "k-1", id="p-1").json

    assert send(client, ticket, picture("PNG", (50, 50)), "k-2", id="p-1").json == first
    phone.send(ticket, edit("e-1", "", "p-1"))
    assert send(client, ticket, picture(), "k-3", id="p-1").json == first
    assert len(photos.of_ticket(ctx.store.db, ticket)) == 1 and shown(client, ticket) == 0


def test_the_same_picture_is_one_photo_and_may_be_taken_again(
    client: FlaskClient, phone: Any, ticket: str, picture: Picture
) -> None:
    send(client, ticket, picture(), "k-1", id="p-1")
    assert send(client, ticket, picture(), "k-2", id="p-2").json["id"] == "p-1"
    phone.send(ticket, edit("e-1", "", "p-1"))

    assert send(client, ticket, picture(), "k-3", id="p-3").json["id"] == "p-3"

    assert shown(client, ticket) == 1


def test_an_id_that_an_answer_has_leaves_the_photo_one_of_its_own(
    client: FlaskClient, phone: Any, ticket: str, picture: Picture
) -> None:
    phone.send(ticket, {"id": "e-1", "part": "relief", "value": "0.010 in"})

    answer = send(client, ticket, picture(), id="e-1")

    assert answer.status_code == 200 and answer.json["id"] != "e-1"
    assert shown(client, ticket) == 1


def test_a_full_ticket_refuses_a_photo_instead_of_hiding_it(
    client: FlaskClient,
    phone: Any,
    ticket: str,
    ctx: Context,
    picture: Picture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    phone.send(ticket, {"id": "e-1", "part": "relief", "value": "0.010 in"})
    monkeypatch.setattr("intake.services.edits.MOST_PARTS", 1)

    answer = send(client, ticket, picture(), id="p-1")

    assert answer.status_code == 400 and "Saved-Key" not in answer.headers
    assert photos.of_ticket(ctx.store.db, ticket) == []


def test_an_id_that_no_phone_makes_is_refused(client: FlaskClient, ticket: str, picture: Picture) -> None:
    assert send(client, ticket, picture(), id="a b").status_code == 400


def test_a_photo_is_no_answer_that_came_after_the_quote(
    client: FlaskClient, quoted: str, ctx: Context, picture: Picture
) -> None:
    version = edits.life(ctx.store.db).version

    send(client, quoted, picture(), id="p-1")

    assert edits.changed_since(ctx.store.db, quoted, version) == 0
    assert "photos" not in TicketView.of(ctx, ctx.store.db, quoted).walkin.answers


def test_without_script_an_unticked_photo_is_taken_away(
    client: FlaskClient, ticket: str, ctx: Context, picture: Picture
) -> None:
    send(client, ticket, picture(), id="p-1")
    send(client, ticket, picture("PNG", (50, 50)), "k-2", id="p-2")
    page = {
        **{f"base.photos/{id}": id for id in ("p-1", "p-2")},
        **{f"shown.photos/{id}": "there" for id in ("p-1", "p-2")},
    }

    client.post(f"/tickets/{ticket}", data={**page, "photos.p-2": "there"})

    assert [photo.id for photo in photos.shown(ctx.store.db, ticket)] == ["p-2"]


def test_a_second_picture_under_one_id_leaves_no_file(
    client: FlaskClient, ticket: str, ctx: Context, picture: Picture
) -> None:
    """No row would name it, and no erasing would find it."""
    send(client, ticket, picture(), "k-1", id="p-1")
    send(client, ticket, picture("PNG", (50, 50)), "k-2", id="p-1")

    assert len(list(ctx.store.photos.iterdir())) == len(photos.of_ticket(ctx.store.db, ticket)) == 1
