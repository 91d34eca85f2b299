"""Write a shop's data as today's version leaves it: `PYTHONPATH=. python tests/stored_formats/write.py FILE`.

FILE ends in `.tar.xz`. Run it when a version is released and check the archive in beside the earlier ones,
which are never written anew: they are what earlier versions left on people's disks. In it: `data/`, the data
folder with frozen quotes and their PDF files, and `backups/`, a backup of it.
"""

from __future__ import annotations

import io
import re
import sys
import tarfile
import tomllib
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from flask.testing import FlaskClient
from PIL import Image
from werkzeug.datastructures import MultiDict

from intake.app import create_app
from intake.book.answers import to_fields
from intake.book.files.load import load_book
from intake.config import Settings, demo_book
from intake.store import devices, people, sessions
from intake.store.backup.backup import back_up

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
FIRST = "0f5f6a52-6f44-4f0c-9f0e-5d2f5c1b7a01"
SECOND = "0f5f6a52-6f44-4f0c-9f0e-5d2f5c1b7a02"


def main(target: Path) -> None:
    with TemporaryDirectory() as folder:
        data, backups = Path(folder, "data"), Path(folder, "backups")
        fill(data)
        back_up(data, backups, NOW, "asked")
        with tarfile.open(target, "w:xz") as archive:
            for path in sorted(path for path in Path(folder).rglob("*") if path.is_file()):
                if path.name != ".lock":
                    archive.add(path, path.relative_to(folder))


def fill(data: Path) -> None:
    """Two tickets: one agreed to, and one behind it on the bench with a photo and a discount."""
    app = create_app(Settings(data=data, now=lambda: NOW))
    store = app.extensions["context"].store
    with store.writing() as db:
        owner = people.add(db, "Mara Lindt", "owner", NOW)
        enrolled = devices.enrol(db, devices.offer(db, owner, NOW), "Front", NOW)
        assert enrolled
        cookies = {"device": enrolled[1], "session": sessions.start(db, owner, enrolled[0], NOW)}
    client = app.test_client()
    for name, token in cookies.items():
        client.set_cookie(name, token)
    take_in(client, FIRST, "03")
    agree(client, freeze(client, FIRST))
    take_in(client, SECOND, "22")
    photograph(client, SECOND)
    freeze(client, SECOND)
    answer = client.post(f"/tickets/{SECOND}/discount", data={"percent": "10", "reason": "Pays today"})
    assert answer.status_code == 303, answer.text
    freeze(client, SECOND)
    store.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()


def take_in(client: FlaskClient, ticket: str, number: str) -> None:
    (path,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
    answers = tomllib.loads(path.read_text("utf-8"))["answers"]
    answer = client.post(f"/tickets/{ticket}", data=MultiDict(to_fields(load_book(demo_book()), answers)))
    assert answer.status_code == 303, answer.text


def photograph(client: FlaskClient, ticket: str) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 120, 40)).save(picture, "JPEG")
    picture.seek(0)
    answer = client.post(
        f"/tickets/{ticket}/photos",
        data={"photo": (picture, "photo.jpg")},
        headers={"Idempotency-Key": "photo-1"},
    )
    assert answer.status_code == 200, answer.text


def freeze(client: FlaskClient, ticket: str) -> str:
    answer = client.post(f"/tickets/{ticket}/quotes")
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"])


def agree(client: FlaskClient, place: str) -> None:
    text = client.get(f"{place}/goahead").text
    hidden = {name: text.split(f'name="{name}" value="')[1].split('"')[0] for name in ("quote", "total")}
    jobs = re.findall(r'name="jobs" value="([^"]+)"', text)
    form = {**hidden, "jobs": jobs, "name": "R. Okafor", "agreed": "yes"}
    answer = client.post(f"{place}/goahead", data=form)
    assert answer.status_code == 303, answer.text


if __name__ == "__main__":
    main(Path(sys.argv[1]))
