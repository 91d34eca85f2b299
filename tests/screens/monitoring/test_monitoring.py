"""Request ids, the log, the metrics and the health of a running shop."""

from __future__ import annotations

import json
import logging
import re
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.operations.logs import JsonLines
from intake.services.context import Context
from intake.store.backup.backup import back_up

PERSONAL = {"customer_name": "Ines Quillfeather", "customer_phone": "555 0199"}


def lines(caplog: pytest.LogCaptureFixture) -> list[dict[str, Any]]:
    return [json.loads(JsonLines().format(record)) for record in caplog.records]


def value(text: str, sample: str) -> float:
    """The sample's value; 0 for one that was never counted."""
    found = re.findall(rf"^{re.escape(sample)} (\S+)$", text, re.MULTILINE)
    assert len(found) < 2
    return float(found[0]) if found else 0.0


def test_every_answer_has_an_id_of_its_own(client: FlaskClient) -> None:
    ids = {client.get(path).headers["Request-Id"] for path in ("/", "/", "/nowhere", "/healthz")}
    assert len(ids) == 4
    assert all(re.fullmatch("[0-9a-f]{16}", id) for id in ids)


def test_an_error_page_shows_the_id_that_the_log_has(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("Ines Quillfeather")

    monkeypatch.setattr("intake.screens.board.page.tickets.board", fail)
    answer = client.get("/")
    id = answer.headers["Request-Id"]
    assert id in answer.text
    (line,) = [line for line in lines(caplog) if line["says"] == f"error {id}"]
    assert line["error"] == "RuntimeError"
    assert any("board/page.py" in place for place in line["places"])
    assert "Quillfeather" not in json.dumps(lines(caplog))


def test_the_log_holds_routes_and_no_person(
    phone: Any, client: FlaskClient, ticket: str, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "intake")
    phone.save(ticket, "customer", PERSONAL.items())
    client.get("/?q=Quillfeather")
    client.get("/q/some-token-of-a-customer")
    told = [line for line in lines(caplog) if line["from"] == "intake.request"]
    assert [line["status"] for line in told][:2] == [200, 200]
    assert told[0]["route"] == "/tickets/<uuid:ticket>/steps/<step>"
    assert told[0]["method"] == "POST" and told[0]["ms"] >= 0
    text = json.dumps(lines(caplog))
    for secret in (*PERSONAL.values(), "Quillfeather", "some-token", ticket):
        assert secret not in text


def test_metrics_count_saves_replays_and_clashes(
    phone: Any, other_phone: Any, client: FlaskClient, ticket: str, ctx: Context
) -> None:
    before = client.get("/metrics").text
    for _ in range(2):
        phone.save(ticket, "neck", [("relief", "0.008 in")], key="one", based_on=0)
    other_phone.save(ticket, "neck", [("relief", "0.010 in")])
    phone.save(ticket, "action", [("action_bass_12", "a lot")])
    back_up(ctx.store.folder, ctx.store.backups, ctx.now(), "asked")

    answer = client.get("/metrics")
    text = answer.text

    assert answer.content_type.startswith("application/openmetrics-text; version=1.0.0")
    assert text.endswith("\n# EOF\n")
    counted = {
        'tallyfret_saves_total{result="stored"}': 1,
        'tallyfret_saves_total{result="clash"}': 1,
        'tallyfret_saves_total{result="stored with messages"}': 1,
        'tallyfret_replays_total{result="stored"}': 1,
        "tallyfret_save_seconds_count": 4,
    }
    assert {sample: value(text, sample) - value(before, sample) for sample in counted} == counted
    assert value(text, "tallyfret_tickets") == 1
    assert value(text, "tallyfret_backup_age_seconds") == 0
    assert value(text, "tallyfret_disk_free_bytes") > 0


def test_the_time_of_a_pdf_is_counted(client: FlaskClient, quoted: str) -> None:
    before = client.get("/metrics").text

    client.post(f"/tickets/{quoted}/quotes")

    sample = "tallyfret_pdf_seconds_count"
    assert value(client.get("/metrics").text, sample) == value(before, sample) + 1


@pytest.mark.parametrize(
    "asking",
    [
        {"environ_base": {"REMOTE_ADDR": "192.168.1.7"}},
        {"environ_base": {"REMOTE_ADDR": "unix:"}},
        {"headers": {"X-Forwarded-For": "203.0.113.9"}},
        {"headers": {"Forwarded": "for=203.0.113.9"}},
        {"headers": {"Host": "counter.example.org"}},
        {"headers": {"X-Forwarded-Proto": "https"}},
    ],
)
def test_metrics_are_for_this_machine_alone(client: FlaskClient, asking: dict[str, Any]) -> None:
    assert client.get("/metrics", **asking).status_code == 404
    assert client.get("/metrics", environ_base={"REMOTE_ADDR": "::1"}).status_code == 200


def test_health(client: FlaskClient, app: Flask, monkeypatch: pytest.MonkeyPatch, data: Path) -> None:
    answer = client.get("/healthz")
    assert answer.status_code == 200
    assert answer.json is not None and set(answer.json) == {"status", "version", "disk_free_mb"}
    assert str(data) not in answer.text

    class Broken:
        def execute(self, *_: object) -> None:
            raise sqlite3.DatabaseError("database disk image is malformed")

    store = app.extensions["context"].store
    monkeypatch.setattr(type(store), "db", property(lambda _: Broken()))
    answer = client.get("/healthz")
    assert answer.status_code == 503
    assert answer.json is not None and answer.json["status"] == "the database cannot be read"


def test_a_full_disk_is_no_health(client: FlaskClient, monkeypatch: pytest.MonkeyPatch, data: Path) -> None:
    usage = shutil.disk_usage(data)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=3_000_000))
    answer = client.get("/healthz")
    assert answer.status_code == 503 and answer.json is not None
    assert (answer.json["status"], answer.json["disk_free_mb"]) == ("the disk is full", 3)
