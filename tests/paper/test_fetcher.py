"""A document gets our own static files and photos, and nothing else from disk or network."""

from __future__ import annotations

import base64
import io
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from PIL import Image

from intake.config import data_root
from intake.paper import press
from intake.paper.fetcher import PHOTO_SIDE, OwnFilesOnly


class Asked(list[str]):
    """The paths that were asked of a server on this machine; `url` is where it listens."""

    url = ""


@pytest.fixture
def asked() -> Iterator[Asked]:
    asked = Asked()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(302)
            self.send_header("Location", "file:///etc/passwd")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            return

    server = HTTPServer(("127.0.0.1", 0), Handler)
    asked.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield asked
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def fetcher() -> OwnFilesOnly:
    return OwnFilesOnly(data_root() / "static")


def data_image(image: Image.Image, kind: str = "PNG") -> str:
    body = io.BytesIO()
    image.save(body, kind)
    return f"data:image/{kind.lower()};base64," + base64.b64encode(body.getvalue()).decode()


def test_a_hostile_document_reaches_nothing(asked: Asked, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("TOP-SECRET-WORDS")
    inner = f"<svg xmlns='http://www.w3.org/2000/svg'><image href='{asked.url}/inner'/></svg>"
    svg = "data:image/svg+xml;base64," + base64.b64encode(inner.encode()).decode()
    page = f"""<html lang="en"><head><title>x</title><base href="{asked.url}/base/">
      <link rel="stylesheet" href="{asked.url}/sheet.css"><link rel="attachment" href="{secret.as_uri()}">
      <style>@import url({asked.url}/import.css);
        @font-face {{ font-family: F; src: url({asked.url}/font.woff2), local(x), url(file:///etc/passwd) }}
        body {{ background: url({asked.url}/background.png); font-family: F; list-style: url(//127.0.0.1/x) }}
      </style></head><body>
      <img src="{asked.url}/redirect"><img src="relative.png"><img src="file:///etc/passwd"><img src="{svg}">
      <object data="{secret.as_uri()}"></object><embed src="{secret.as_uri()}">
      <svg width="9" height="9"><image href="{asked.url}/svg"/><use href="{secret.as_uri()}#a"/></svg>
      <img src="tallyfret:/../pyproject.toml"><p>still printed</p></body></html>"""
    pdf = press().render(page)
    assert pdf.startswith(b"%PDF-") and asked == []
    assert b"TOP-SECRET-WORDS" not in pdf and b"EmbeddedFile" not in pdf


def test_the_server_of_this_test_can_be_reached(asked: Asked) -> None:
    """Without this the test above could not fail."""
    from urllib.error import URLError
    from urllib.request import urlopen

    with pytest.raises(URLError):
        urlopen(asked.url + "/probe")
    assert asked == ["/probe"]


@pytest.mark.parametrize(
    "url",
    [
        "http://127.0.0.1:1/x.png", "https://shop.example/x.png", "ftp://127.0.0.1/x", "file:///etc/passwd",
        "FILE:///etc/passwd", "/etc/passwd", "data:text/html;base64,QQ==", "data:image/svg+xml;base64,QQ==",
        "data:image/png,notbase64", "tallyfret:/../pyproject.toml", "tallyfret:/%2e%2e/pyproject.toml",
        "tallyfret:////etc/passwd", "tallyfret://host/../../etc/passwd", "tallyfret:/fonts/OFL.txt",
        "tallyfret:/js/wizard.js", "javascript:1",
    ],
)  # fmt: skip
def test_refused(fetcher: OwnFilesOnly, url: str) -> None:
    with pytest.raises((ValueError, OSError)):
        fetcher.fetch(url)


def test_a_link_out_of_the_static_folder_is_not_followed(tmp_path: Path) -> None:
    static = tmp_path / "static"
    static.mkdir()
    (tmp_path / "outside.css").write_text("x")
    (static / "link.css").symlink_to(tmp_path / "outside.css")
    with pytest.raises(ValueError, match="own files"):
        OwnFilesOnly(static).fetch("tallyfret:/link.css")


def test_our_fonts_are_served(fetcher: OwnFilesOnly) -> None:
    answer = fetcher.fetch("tallyfret:/fonts/barlow-latin-400-normal.woff2")
    assert answer.read().startswith(b"wOF2")


def test_photos_are_turned_shrunk_and_encoded_again(fetcher: OwnFilesOnly) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera lay on its side
    body = io.BytesIO()
    Image.new("RGB", (PHOTO_SIDE * 2, PHOTO_SIDE), "red").save(body, "JPEG", exif=exif)
    url = "data:image/jpeg;base64," + base64.b64encode(body.getvalue()).decode()
    with Image.open(io.BytesIO(fetcher.fetch(url).read())) as image:
        assert image.format == "JPEG" and not image.getexif()
        assert image.height == PHOTO_SIDE and image.width == PHOTO_SIDE // 2


def test_what_only_says_that_it_is_a_picture_is_refused(fetcher: OwnFilesOnly) -> None:
    for inside in (b"%!PS-Adobe-3.0 EPSF-3.0", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b""):
        with pytest.raises(OSError):
            fetcher.fetch("data:image/png;base64," + base64.b64encode(inside).decode())


def test_transparent_pictures_print(fetcher: OwnFilesOnly) -> None:
    url = data_image(Image.new("RGBA", (4, 4), (255, 0, 0, 0)))
    assert fetcher.fetch(url).read().startswith(b"\xff\xd8")
