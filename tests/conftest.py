"""The app on a fresh data folder with the demo shop's book, and a client that asks it as a browser does."""

from __future__ import annotations

import gc
import io
import os
import shutil
import time
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, settings
from PIL import Image
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

from intake.app import create_app
from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.services.context import Context
from intake.store import devices, edits, passwords, people, sessions
from intake.store.people import Role
from tests import memo

# A busy machine is slow, and that is no fault of what is tested: no example has a deadline. A test that names
# no number of examples follows the profile.
settings.register_profile(
    "quick", deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("deep", settings.get_profile("quick"), max_examples=150)
settings.load_profile("quick")

DEEP_FOLDERS = {"browser", "faults"}
LONG = ("browser", "faults", "security", "paper", "published")
"""The folders that take longest, longest first."""
LIBRARY_HASHER = passwords.HASHER
PATIENCE = 120.0
"""Seconds that a busy machine may need for what takes a moment."""

Fields = Iterable[tuple[str, str]]
Badge = dict[str, str]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what `./run test` leaves to `--deep`, and let the longest begin first."""
    for item in items:
        if _folder(item) in DEEP_FOLDERS and not item.get_closest_marker("main_path"):
            item.add_marker("deep")
    items.sort(key=lambda item: LONG.index(_folder(item)) if _folder(item) in LONG else len(LONG))


def pytest_collection_finish() -> None:
    """What the collection made stays: no garbage collection need look at it again."""
    gc.freeze()


def _folder(item: pytest.Item) -> str:
    return item.path.relative_to(Path(__file__).parent).parts[0]


@pytest.fixture(autouse=True)
def usual_rights() -> Iterator[None]:
    """The command line tightens its process's umask, which here is the test's own."""
    usual = os.umask(0o022)
    yield
    os.umask(usual)


@pytest.fixture(scope="session", autouse=True)
def once_a_process() -> Iterator[None]:
    """Apps share what they would make alike; `library_hasher` brings Argon2id's parameters back."""
    with pytest.MonkeyPatch.context() as patch:
        memo.install(patch)
        yield


@pytest.fixture
def library_hasher(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Argon2id as the program has it."""
    monkeypatch.setattr(passwords, "HASHER", LIBRARY_HASHER)
    passwords._nobody.cache_clear()
    yield
    passwords._nobody.cache_clear()


@dataclass
class Clock:
    """A clock that stands until it is moved."""

    moment: datetime = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.moment

    def move(self, **by: float) -> None:
        self.moment += timedelta(**by)


def make_badge(ctx: Context, role: Role = "counter", name: str = "Noor Amari", phone: str = "Front") -> Badge:
    """Enrol a phone and sign somebody in on it; the cookies. No PIN is hashed, which would take its time."""
    now = ctx.now()
    with ctx.store.writing() as db:
        owner = people.owner(db)
        owned_by = owner.id if owner else people.add(db, "Mara Lindt", "owner", now)
        enrolled = devices.enrol(db, devices.offer(db, owned_by, now), phone, now)
        assert enrolled
        known = people.named(db, name)
        person = owned_by if role == "owner" else known.id if known else people.add(db, name, role, now)
        return {"device": enrolled[1], "session": sessions.start(db, person, enrolled[0], now)}


@pytest.fixture(scope="session")
def badge() -> Callable[..., Badge]:
    """`badge(desk, "bench", "Ida")`: cookies of a phone with that person signed in."""
    return make_badge


@dataclass
class Phone:
    """One device at the counter. A key is made for each save unless one is given; `seen`: ticket → the
    version that the last answer told."""

    client: FlaskClient
    device: str = field(default_factory=lambda: str(uuid4()))
    seen: dict[str, str] = field(default_factory=dict)

    def save(
        self,
        ticket: str,
        step: str,
        fields: Fields = (),
        *,
        based_on: int | None = None,
        passed: str = "",
        key: str = "",
    ) -> TestResponse:
        """A whole step, as a page sends it that knows no edits; it shows what the last answer did."""
        started = self.seen.get(ticket, "0") if based_on is None else str(based_on)
        form = MultiDict([*fields, ("based_on", started), ("passed", passed)])
        headers = {"Idempotency-Key": key or str(uuid4()), "Device": self.device}
        answer = self.client.post(f"/tickets/{ticket}/steps/{step}", data=form, headers=headers)
        if answer.status_code in (200, 422):
            self.seen[ticket] = answer.headers["Version"]
        return answer

    def send(self, ticket: str, *edits: dict[str, Any], key: str = "", **fields: Any) -> TestResponse:
        """Edits, as a page with script sends them; the answer as JSON."""
        pairs = [
            (f"edits-{at}-{name}", value) for at, edit in enumerate(edits) for name, value in edit.items()
        ]
        headers = {
            "Idempotency-Key": key or str(uuid4()),
            "Device": self.device,
            "Accept": "application/json",
        }
        form = MultiDict([*fields.items(), *pairs])
        return self.client.post(f"/tickets/{ticket}/edits", data=form, headers=headers)

    def take_in(self, ticket: str, pairs: Fields) -> None:
        """Save a whole walk-in at once, as the wizard's long form does; nothing in it is refused."""
        device = {"Device": self.device}
        answer = self.client.post(f"/tickets/{ticket}", data=MultiDict(pairs), headers=device)
        assert answer.status_code == 303, answer.text
        self.seen[ticket] = answer.headers["Version"]


class Browser(FlaskClient):
    """Reads every answer to its end, so that no file stays open; its cookies are `badge`'s or the app's."""

    def __init__(self, app: Flask, *args: Any, badge: Badge | None = None, **kwargs: Any) -> None:
        super().__init__(app, *args, **kwargs)
        for name, token in (app.config["BADGE"] if badge is None else badge).items():
            self.set_cookie(name, token)

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        return super().open(*args, **{"buffered": True, **kwargs})


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The shop's data folder."""
    return tmp_path / "data"


def wait_until(true: Callable[[], object]) -> None:
    """Wait until it is true."""
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, "never came true"
        time.sleep(0.02)


@pytest.fixture(name="wait_until", scope="session")
def wait_until_fixture() -> Callable[[Callable[[], object]], None]:
    return wait_until


@pytest.fixture(scope="session")
def ready_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the schema and the demo shop's book, to be copied and never opened."""
    folder = tmp_path_factory.mktemp("ready") / "data"
    app = create_app(Settings(data=folder, book=demo_book(), now=Clock()))
    app.extensions["context"].store.close()
    return folder


@pytest.fixture
def app(data: Path, clock: Clock, ready_folder: Path) -> Iterator[Flask]:
    shutil.copytree(ready_folder, data)
    app = open_app(Settings(data=data, book=demo_book(), now=clock))
    yield app
    app.extensions["context"].store.close()


def open_app(settings: Settings) -> Flask:
    """The app, whose clients are an enrolled phone with somebody signed in."""
    app = create_app(settings)
    app.test_client_class = Browser
    app.config["BADGE"] = make_badge(app.extensions["context"])
    return app


@pytest.fixture(name="open_app", scope="session")
def open_app_fixture() -> Callable[[Settings], Flask]:
    return open_app


@pytest.fixture
def ctx(app: Flask) -> Context:
    return app.extensions["context"]


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """An enrolled phone, somebody of the counter signed in."""
    return app.test_client()


@pytest.fixture
def held(ctx: Context) -> Callable[[str], dict[str, str]]:
    """`held(ticket)`: what stands in each part of it."""

    def read(ticket: str) -> dict[str, str]:
        return {part: one.value for part, one in edits.standing(ctx.store.db, ticket).items() if one.value}

    return read


@pytest.fixture
def stranger(app: Flask) -> FlaskClient:
    """A browser that the shop does not know."""
    return app.test_client(badge={})


@pytest.fixture
def phone(client: FlaskClient) -> Phone:
    return Phone(client)


@pytest.fixture
def other_phone(app: Flask) -> Phone:
    return Phone(
        app.test_client(badge=make_badge(app.extensions["context"], name="Ida Moreau", phone="Back"))
    )


@pytest.fixture
def ticket() -> str:
    """The id of a ticket that the server has not heard of."""
    return str(uuid4())


Pairs = list[tuple[str, str]]


@pytest.fixture
def sample(ctx: Context) -> Callable[[str], Pairs]:
    """The answers of a sample walk-in, by the number in its file's name."""

    def read(number: str) -> Pairs:
        (path,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
        return to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])

    return read


@pytest.fixture
def picture() -> Callable[..., bytes]:
    """An encoded picture: `picture("JPEG", (40, 30), exif=...)`."""

    def make(kind: str = "JPEG", size: tuple[int, int] = (40, 30), **options: Any) -> bytes:
        target = io.BytesIO()
        Image.new("RGB", size, (200, 120, 40)).save(target, kind, **options)
        return target.getvalue()

    return make


@pytest.fixture
def quoted(phone: Any, ticket: str, sample: Callable[[str], Pairs]) -> str:
    """A ticket with the walk-in of the old flat top, every step saved."""
    phone.take_in(ticket, sample("03"))
    return ticket
