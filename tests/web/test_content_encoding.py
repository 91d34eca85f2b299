"""What goes over the line: packed where that is safe, kept where it may be, and the app's own files."""

from __future__ import annotations

import gzip
import json
import re

import brotli
import pytest
from flask import Flask
from flask.testing import FlaskClient

UNPACK = {"gzip": gzip.decompress, "br": brotli.decompress}


@pytest.mark.parametrize(
    ("takes", "gets"), [("gzip", "gzip"), ("gzip, deflate, br", "br"), ("identity", None)]
)
@pytest.mark.parametrize(
    "address", ["/walkin", "/sw.js", "/static/css/tallyfret.css", "/static/icons/bodies.svg"]
)
def test_text_is_packed_as_the_browser_takes_it(
    client: FlaskClient, address: str, takes: str, gets: str | None
) -> None:
    plain = client.get(address)
    answer = client.get(address, headers={"Accept-Encoding": takes})
    assert answer.headers.get("Content-Encoding") == gets
    assert "Accept-Encoding" in answer.headers["Vary"]
    assert UNPACK.get(gets or "", bytes)(answer.data) == plain.data
    assert gets is None or len(answer.data) < len(plain.data) / 2


def test_a_page_that_repeats_its_address_is_not_packed(client: FlaskClient) -> None:
    headers = {"Accept-Encoding": "gzip, br"}
    assert "Content-Encoding" in client.get("/", headers=headers).headers
    assert "Content-Encoding" not in client.get("/?q=guess", headers=headers).headers


def test_the_worker_is_asked_for_anew_and_knows_files_that_exist(app: Flask, client: FlaskClient) -> None:
    answer = client.get("/sw.js")
    assert answer.headers["Cache-Control"] == "no-cache" and answer.mimetype == "text/javascript"
    facts = json.loads(re.match(r"const THIS = (.*);", answer.text)[1])  # type: ignore[index]
    assert facts["build"].startswith(app.extensions["build"])
    assert facts["build"] == client.get("/walkin").headers["Build"]
    assert any(file.endswith("/js/wizard.js") for file in facts["files"])
    for file in facts["files"]:
        kept = client.get(file)
        assert kept.status_code == 200 and "immutable" in kept.headers["Cache-Control"], file


def test_an_older_version_in_the_address_gets_the_file_of_today_but_not_for_ever(client: FlaskClient) -> None:
    answer = client.get("/static/0123456789ab/js/dom.js")
    assert answer.status_code == 200 and answer.headers["Cache-Control"] == "no-cache"


def test_what_phones_keep_is_packed_as_small_as_it_gets(client: FlaskClient) -> None:
    plain = client.get("/walkin").data

    packed = client.get("/walkin", headers={"Accept-Encoding": "br"}).data

    assert len(packed) == len(brotli.compress(plain, quality=11)) < len(brotli.compress(plain, quality=5))


def test_a_drawing_opened_by_itself_may_load_and_run_nothing(client: FlaskClient) -> None:
    drawing = client.get("/static/icons/mark.svg")
    missing = client.get("/static/icons/none.svg")

    assert drawing.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert "style-src 'self'" in missing.headers["Content-Security-Policy"]
