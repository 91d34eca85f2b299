"""A data folder named from where one stands: `tallyfret --data shop …`, as people type it."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from http.client import HTTPConnection
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

import pytest
from click.testing import CliRunner
from flask import Flask
from PIL import Image
from werkzeug.test import EnvironBuilder

from intake.cli.main import main
from intake.config import Settings, demo_book
from intake.store.db import Store
from intake.store.ids import uuid7

PROGRAM = [sys.executable, "-c", "from intake.cli.main import main; main()"]
WAIT = 120


def tallyfret(place: Path, *arguments: str) -> str:
    """What the command says, started in that folder."""
    done = subprocess.run([*PROGRAM, *arguments], cwd=place, capture_output=True, text=True, timeout=WAIT)
    assert done.returncode == 0, done.stderr
    return done.stdout


@contextmanager
def served(place: Path, data: str) -> Iterator[Callable[..., bytes]]:
    """`ask(method, path, …)` of a server started there; the body of an answer that must be 200."""
    command = [*PROGRAM, "serve", "--data", data, "--port", "0"]
    with subprocess.Popen(command, cwd=place, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout
            address = re.search(r"http://([\d.]+):(\d+)/", server.stdout.readline())
            assert address
            yield partial(asked, address[1], int(address[2]))
        finally:
            server.terminate()


def asked(host: str, port: int, method: str, path: str, body: bytes = b"", **headers: str) -> bytes:
    line = HTTPConnection(host, port, timeout=WAIT)
    line.request(method, path, body, {name.replace("_", "-"): value for name, value in headers.items()})
    answer = line.getresponse()
    content = answer.read()
    line.close()
    assert answer.status == 200, (answer.status, path, content[:200])
    return content


def picture() -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", (1200, 900), (120, 80, 40)).save(kept, "JPEG")
    return kept.getvalue()


def test_what_is_kept_in_it_is_found_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, open_app: Callable[[Settings], Flask]
) -> None:
    monkeypatch.chdir(tmp_path)
    app = open_app(Settings(Path("shop"), demo_book()))
    client, photo = app.test_client(), {"photo": (io.BytesIO(picture()), "top.jpg")}

    sent = client.post(f"/tickets/{uuid4()}/photos", data=photo, headers={"Idempotency-Key": str(uuid4())})
    saved = CliRunner().invoke(main, ["--data", "shop", "backup", "--to", "stick"])

    assert client.get(sent.json["url"]).status_code == 200
    assert "was read back" in saved.output
    (archive,) = (tmp_path / "stick").glob("20*")
    assert CliRunner().invoke(main, ["--data", "new", "restore", f"stick/{archive.name}"]).exit_code == 0
    assert len(list((tmp_path / "new" / "photos").glob("*.jpg"))) == 1
    app.extensions["context"].store.close()


@pytest.mark.deep
def test_photos_backups_and_the_doctor_find_it(tmp_path: Path, badge: Callable[..., dict[str, str]]) -> None:
    store = Store(tmp_path / "shop")
    worn = badge(SimpleNamespace(store=store, now=lambda: datetime.now(UTC)), "owner")
    store.close()
    wearing = {"Cookie": "; ".join(f"{name}={value}" for name, value in worn.items())}
    form = EnvironBuilder(method="POST", data={"photo": (io.BytesIO(picture()), "top.jpg")}).get_request()
    ticket = uuid7(datetime.now(UTC))
    with served(tmp_path, "shop") as ask:
        sending: dict[str, Any] = {"Content_Type": form.content_type, "Idempotency_Key": str(uuid4())}
        sent = ask("POST", f"/tickets/{ticket}/photos", form.get_data(), **sending, **wearing)
        url = json.loads(sent)["url"]
        shown = ask("GET", url, **wearing)
        assert Image.open(io.BytesIO(shown)).size == (1200, 900)
        assert ask("GET", f"/tickets/{ticket}/tag.pdf", **wearing).startswith(b"%PDF")
        assert "was read back" in tallyfret(tmp_path, "--data", "shop", "backup", "--to", "stick")
    tallyfret(tmp_path, "--data", "shop", "backup")
    assert tallyfret(tmp_path, "doctor", "--data", "shop") == "Nothing needs doing.\n"
    (archive,) = (tmp_path / "stick").glob("20*")
    tallyfret(tmp_path, "--data", "new", "restore", f"stick/{archive.name}")
    (photo,) = (tmp_path / "new" / "photos").glob("*.jpg")
    assert photo.read_bytes() == shown
    with served(tmp_path, "new") as ask:
        assert ask("GET", url, **wearing) == shown
    assert f'--data "{tmp_path}/shop" serve' in tallyfret(tmp_path, "--data", "shop", "service-file")
