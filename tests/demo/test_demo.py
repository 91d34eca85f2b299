"""The demo, as somebody sees it who starts the program for the first time."""

from __future__ import annotations

import os
import re
import socket
import stat
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from intake.demo import run as demo
from intake.store import devices, passwords, people
from intake.store.db import Store
from intake.store.errors import StoreError


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that something else listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_the_demo_takes_a_walk_in_to_its_pdf(
    tmp_path: Path, taken: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    demo.run(None, once=True, port=taken)
    said = capsys.readouterr().out
    assert re.search(rf"Port {taken} is taken; using \d+\.", said)
    total = re.search(r"Put right: \$([\d,]+\.\d\d), ready \w+ \d+, \d{4}", said)
    assert total and float(total[1].replace(",", "")) > 0
    place = re.search(r"Quote as PDF: (.+)", said)
    assert place
    pdf = Path(place[1])
    assert pdf.parent == tmp_path / "demo-data"
    assert pdf.read_bytes().startswith(b"%PDF")


def test_whoever_starts_it_is_told_how_to_get_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(demo, "wait", stop)
    demo.run(tmp_path, once=False, port=0)
    said = capsys.readouterr().out
    login = tmp_path / "demo-login.txt"
    if os.name == "posix":
        assert stat.S_IMODE(login.stat().st_mode) == 0o600
    store = Store(tmp_path)
    for name, kind in (("Mara Lindt", "password"), ("Noor Amari", "PIN"), ("Ida Moreau", "PIN")):
        found = re.search(rf"{name}: {kind} (\S+)", login.read_text())
        person = people.named(store.db, name)
        assert found and person and f"{name}: {kind} {found[1]} " in said
        assert passwords.matches(person.password_hash or person.pin_hash, found[1])
    assert [phone.name for phone in devices.every(store.db) if not phone.revoked_at] == []
    store.close()


def test_a_second_start_has_the_same_logins_and_walk_in_and_leaves_a_real_shop_alone(tmp_path: Path) -> None:
    demo.run(tmp_path / "demo", once=True, port=0)
    before = (tmp_path / "demo" / "demo-login.txt").read_text()
    demo.run(tmp_path / "demo", once=True, port=0)
    assert (tmp_path / "demo" / "demo-login.txt").read_text() == before
    store = Store(tmp_path / "demo")
    assert store.db.table("tickets").count == store.db.table("quotes").count == 1
    store.close()
    store = Store(tmp_path / "real")
    with store.writing() as db:
        people.add(db, "Somebody", "owner", datetime.now(UTC), password_hash="x")
    store.close()
    with pytest.raises(StoreError, match="an owner of its own"):
        demo.run(tmp_path / "real", once=True, port=0)


def test_a_refused_step_stops_the_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_: object) -> list[tuple[str, str]]:
        return [("relief", "eight")]

    monkeypatch.setattr(demo, "to_fields", wrong)
    with pytest.raises(RuntimeError, match="answered 422"):
        demo.run(tmp_path, once=True, port=0)
