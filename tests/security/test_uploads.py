"""What may be uploaded, what is made of it, and what is refused with a sentence (V5 in ASVS.md)."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

from intake.services.images import MOST_AT_ONCE, MOST_SCANS, ImageError, as_jpeg
from intake.store import photos
from intake.web.headers import MEDIA_POLICY

SCRIPT = b"<script>alert(document.domain)</script>"


def encoded(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    target = io.BytesIO()
    image.save(target, kind, **options)
    return target.getvalue()


def plain(kind: str = "JPEG", **options: Any) -> bytes:
    return encoded(Image.new("RGB", (40, 30), (200, 120, 40)), kind, **options)


def reread(content: bytes) -> Image.Image:
    """The picture that is made of an upload."""
    image = Image.open(io.BytesIO(as_jpeg(content)[0]))
    image.load()
    return image


def chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def with_chunk(kind: bytes, content: bytes) -> bytes:
    """A PNG with one more chunk behind its header."""
    png = plain("PNG")
    return png[:33] + chunk(kind, content) + png[33:]


def in_every_segment(words: bytes) -> bytes:
    """A JPEG that carries the words as a comment, as application data and behind its end."""
    jpeg = plain(comment=words)
    segment = b"\xff\xe9" + struct.pack(">H", len(words) + 2) + words
    return jpeg[:2] + segment + jpeg[2:] + words


def heic(brand: bytes) -> bytes:
    return b"\0\0\0\x18ftyp" + brand + b"\0\0\0\0mif1heic" + b"\0" * 200


def many_scans(side: int, scans: int) -> bytes:
    """A progressive JPEG whose last scan stands there many times."""
    jpeg = encoded(Image.new("RGB", (side, side)), progressive=True)
    last = jpeg[jpeg.rindex(b"\xff\xda") : -2]
    return jpeg[:-2] + last * scans + b"\xff\xd9"


@pytest.mark.parametrize(
    ("what", "content"),
    [
        ("JPEG and HTML", in_every_segment(SCRIPT)),
        ("JPEG and ZIP", in_every_segment(b"PK\x03\x04 archive PK\x05\x06")),
        ("JPEG and PHP", in_every_segment(b"<?php system($_GET['c']); ?>")),
        ("JPEG and PDF", in_every_segment(b"%PDF-1.7 1 0 obj")),
        ("PNG and HTML", with_chunk(b"tEXt", b"Comment\0" + SCRIPT) + SCRIPT),
        ("WebP and HTML", plain("WEBP", xmp=SCRIPT) + SCRIPT),
    ],
)
def test_a_polyglot_is_a_picture_and_nothing_else(what: str, content: bytes) -> None:
    made = as_jpeg(content)[0]
    for words in (b"script", b"PK\x03\x04", b"<?php", b"%PDF"):
        assert words not in made, what
    assert made.startswith(b"\xff\xd8\xff\xe0") and made.endswith(b"\xff\xd9")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\0" * 5000,
        b"GIF89a/*\x01\0\x01\0\0\0\0;*/=alert(1)",
        plain("GIF"),
        plain("TIFF"),
        plain("BMP"),
        encoded(Image.new("RGB", (16, 16)), "ICO"),
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"\xef\xbb\xbf<?xml version='1.0'?><!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/passwd'>]><svg/>",
        b"%!PS-Adobe-3.0 EPSF-3.0\n(/etc/passwd) run",
        b"%PDF-1.7",
        b"PK\x03\x04",
        b"\x1f\x8b\x08",
    ],
    ids=range(13),
)
def test_nothing_but_three_kinds_of_picture_is_opened(content: bytes) -> None:
    with pytest.raises(ImageError, match="JPEG, PNG or WebP"):
        as_jpeg(content)


@pytest.mark.parametrize("brand", [b"heic", b"heix", b"mif1", b"hevc"])
def test_heic_is_told_what_to_do(brand: bytes) -> None:
    with pytest.raises(ImageError, match=r"HEIC.*screenshot"):
        as_jpeg(heic(brand))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("part", [0.02, 0.3, 0.9])
def test_cut_short_it_is_damaged(kind: str, part: float) -> None:
    whole = encoded(Image.effect_noise((200, 200), 60).convert("RGB"), kind)
    with pytest.raises(ImageError, match=r"damaged|read here"):
        as_jpeg(whole[: int(len(whole) * part)])


@pytest.mark.parametrize(
    "content",
    [
        with_chunk(b"zTXt", b"Comment\0\0" + zlib.compress(b"a" * 80_000_000)),
        with_chunk(b"iCCP", b"profile\0\0" + zlib.compress(b"a" * 80_000_000)),
        with_chunk(b"iTXt", b"Comment\0\1\0\0\0" + zlib.compress(b"a" * 80_000_000)),
    ],
    ids=["zTXt", "iCCP", "iTXt"],
)
def test_text_that_would_unfold_to_much_is_never_unfolded(content: bytes) -> None:
    """80 MB of one letter in 80 kB: left out or refused, and never written."""
    try:
        assert len(as_jpeg(content)[0]) < 2000
    except ImageError as refused:
        assert "damaged" in str(refused)


def test_a_picture_worked_through_a_thousand_times_is_refused() -> None:
    """61 bytes a scan: 24 MB of them would keep a core for hours."""
    assert as_jpeg(many_scans(64, 1))
    with pytest.raises(ImageError, match="not written as cameras do"):
        as_jpeg(many_scans(64, MOST_SCANS))


def claiming(jpeg: bytes, width: int, height: int) -> bytes:
    """The same file with another size in its frame header (ITU-T T.81, B.2.2)."""
    at = max(jpeg.find(b"\xff\xc2"), jpeg.find(b"\xff\xc0"))
    return jpeg[: at + 5] + struct.pack(">HH", height, width) + jpeg[at + 9 :]


@pytest.mark.parametrize(
    "filler", [b"\xff\xe2\x00\x02", b"\xff", b"\xff\xfe\x00\x03."], ids=["empty", "fill", "words"]
)
def test_a_picture_of_many_segments_is_refused_unread(filler: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reader takes a turn in Python for each."""
    monkeypatch.setattr(Image, "open", lambda *_, **__: pytest.fail("it was opened"))
    jpeg = plain()

    with pytest.raises(ImageError, match="not written as cameras do it"):
        as_jpeg(jpeg[:2] + filler * 100_000 + jpeg[2:])


def test_a_picture_of_as_many_segments_as_a_camera_writes_is_taken() -> None:
    jpeg = plain()
    assert as_jpeg(jpeg[:2] + b"\xff\xe2\x40\x00" * 1 + bytes(0x3FFE) + b"\xff\xff\xff" + jpeg[3:])
    many = (b"\xff\xe2\x10\x00" + bytes(0xFFE)) * 100
    assert as_jpeg(jpeg[:2] + many + jpeg[2:])


@pytest.mark.parametrize("kind", ["WEBP", "PNG"])
def test_what_is_unfolded_whole_has_fewer_pixels(kind: str) -> None:
    """34 bytes of WebP are 760 MB otherwise."""
    wide = 4001, 4000
    small = encoded(Image.new("L" if kind == "PNG" else "RGB", wide), kind)

    with pytest.raises(ImageError, match="16 million pixels"):
        as_jpeg(small)


def test_scans_are_weighed_with_the_pixels_that_each_goes_over() -> None:
    """Sixty scans of a small picture are little work, of a large one they are a minute's; looked at before
    anything is decoded. As a camera writes it, ten scans of the largest picture, it is taken."""
    assert as_jpeg(many_scans(64, 50))

    with pytest.raises(ImageError, match="not written as cameras do"):
        as_jpeg(claiming(many_scans(64, 50), 5000, 5000))
    with pytest.raises(ImageError, match="damaged"):
        as_jpeg(claiming(plain(), 5000, 5000)[:-200])


def test_a_request_brings_a_few_photos_at_most(site: Any) -> None:
    """The form without JavaScript keeps the first ones and what was typed, and says so beside the field."""
    client, ticket = site.client("counter"), str(uuid4())
    names = ("photo", "photos")
    many = {
        name: [FileStorage(io.BytesIO(plain()), "x.jpg") for _ in range(MOST_AT_ONCE + 1)] for name in names
    }
    boundary, body = encode_multipart({**many, "customer_name": "Ines"})
    sent = {"data": body, "content_type": f"multipart/form-data; boundary={boundary}"}

    alone = client.post(f"/tickets/{ticket}/photos", **sent, headers={"Idempotency-Key": str(uuid4())})
    assert alone.status_code == 413 and "at most 10 photos" in alone.text
    assert photos.of_ticket(site.ctx.store.db, ticket) == []

    whole = client.post(f"/tickets/{ticket}", **sent)
    assert whole.status_code == 422 and "The first 10 photos were kept" in whole.text
    assert len(photos.of_ticket(site.ctx.store.db, ticket)) == 1  # all ten are one picture
    assert "Ines" in client.get(f"/tickets/{ticket}").text


def test_each_kind_of_colour_becomes_the_same_colour() -> None:
    """CMYK, palettes, transparency, one bit, and greys of sixteen bits (which must not come out white)."""
    size = (40, 30)
    red = Image.new("RGB", size, (255, 0, 0))
    for image, kind in (
        (Image.new("CMYK", size, (0, 255, 255, 0)), "JPEG"),
        (red.convert("P"), "PNG"),
        (Image.new("RGBA", size, (255, 0, 0, 0)), "WEBP"),
        (Image.new("RGBA", size, (255, 0, 0, 128)).convert("P"), "PNG"),
    ):
        made = reread(encoded(image, kind)).getpixel((20, 15))
        assert isinstance(made, tuple) and made[0] > 250 and max(made[1:]) < 6, (image.mode, made)
    grey = reread(encoded(Image.new("I;16", size, 0x8080), "PNG")).getpixel((20, 15))
    assert isinstance(grey, tuple) and abs(grey[0] - 0x80) < 3
    assert reread(encoded(Image.new("1", size, 1), "PNG")).getpixel((20, 15)) == (255, 255, 255)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_of_a_moving_picture_the_first_is_kept(kind: str) -> None:
    frames = [Image.new("RGB", (40, 30), (level, 0, 0)) for level in (250, 10, 10)]
    made = reread(encoded(frames[0], kind, save_all=True, append_images=frames[1:]))
    colour = made.getpixel((20, 15))
    assert getattr(made, "n_frames", 1) == 1 and isinstance(colour, tuple) and colour[0] > 240


@pytest.mark.parametrize("turned", range(1, 9))
def test_it_stands_upright_and_forgets_where_and_with_what_it_was_taken(turned: int) -> None:
    image = Image.new("RGB", (40, 30), (0, 0, 0))
    image.paste((255, 255, 255), (0, 0, 20, 15))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x9C9E] = turned, "A camera", "at home"
    exif.get_ifd(0x8825).update({1: "N", 2: (49.0, 15.0, 0.0)})
    upright = image.transpose(UPRIGHT[turned]) if turned in UPRIGHT else image
    sent = encoded(image, exif=exif, quality=95)
    made = as_jpeg(sent)[0]
    assert b"A camera" in sent and b"Exif" in sent
    assert b"A camera" not in made and b"Exif" not in made and b"at home" not in made
    kept = Image.open(io.BytesIO(made))
    assert kept.size == upright.size
    for place in ((5, 5), (kept.width - 6, 5), (5, kept.height - 6)):
        was, now = upright.getpixel(place), kept.getpixel(place)
        assert isinstance(was, tuple) and isinstance(now, tuple) and abs(was[0] - now[0]) < 60, place


UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def parts(content: bytes, name: str = "x.jpg", kind: str = "image/jpeg") -> dict[str, Any]:
    """A multipart body as `client.post` takes it; in one piece, which leaves no file behind."""
    file = FileStorage(io.BytesIO(content), name, content_type=kind)
    boundary, body = encode_multipart({"photo": file})
    return {"data": body, "content_type": f"multipart/form-data; boundary={boundary}"}


def send(site: Any, content: bytes, name: str = "x.jpg", kind: str = "image/jpeg") -> Any:
    sent = {"Idempotency-Key": str(uuid4())}
    place = f"/tickets/{site.here.ticket}/photos"
    return site.client("counter").post(place, **parts(content, name, kind), headers=sent)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("x.html", "text/html"), ("x.svg", "image/svg+xml"), ("../../x.php", "image/jpeg"),
        ("x.jpg\0.html", ""),
        ("a" * 500 + ".png", "image/png"), ("/etc/passwd", "application/x-sh"), ("\u202egpj.exe", "x/y"),
    ],
)  # fmt: skip
def test_name_and_claimed_type_count_for_nothing(site: Any, name: str, kind: str) -> None:
    """The content decides, and our own hash names the file."""
    answer = send(site, plain(), name, kind)
    assert answer.status_code == 200 and answer.json
    shown = site.client("counter").get(answer.json["url"])
    assert shown.headers["Content-Type"] == "image/jpeg"
    assert [path.name for path in site.ctx.store.photos.rglob("*") if "etc" in path.name] == []
    assert send(site, SCRIPT, "x.jpg").status_code == 415


def test_a_photo_is_served_as_a_photo(site: Any) -> None:
    for who, address in (
        ("counter", f"/media/{site.here.sha}.jpg"),
        ("nobody", f"{site.here.page}/photos/{site.here.sha}.jpg"),
    ):
        shown = site.client(who).get(address)
        assert shown.status_code == 200 and shown.headers["Content-Type"] == "image/jpeg"
        assert shown.headers["Content-Security-Policy"] == MEDIA_POLICY
        assert shown.headers["X-Content-Type-Options"] == "nosniff"
        assert shown.headers["Content-Disposition"].startswith("inline; filename="), address
        assert "public" not in shown.headers["Cache-Control"]


def test_twenty_megabytes_are_a_photo_and_thirty_are_too_much(site: Any) -> None:
    """Padding in comments, since what counts here is the weight."""
    full = b"\xff\xfe\xff\xff" + b"x" * 65533
    jpeg = plain()
    assert send(site, jpeg[:2] + full * 310 + jpeg[2:]).status_code == 200
    assert send(site, jpeg[:2] + full * 460 + jpeg[2:]).status_code == 413


def test_only_what_takes_photos_takes_much(site: Any) -> None:
    """Elsewhere a request weighs a megabyte at most, however it is packed."""
    much = parts(b"x" * 1_200_000)
    for address in ("/signin/owner", f"{site.here.page}/yes", f"/tickets/{site.here.ticket}/steps/neck"):
        assert site.client("counter").post(address, **much).status_code == 413, address
