"""Who counts as the person at this machine, and which address may reach a paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from socket import gethostname
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.app import create_app
from intake.config import Settings, demo_book
from intake.web.headers import PROXIED
from intake.web.origin import shop_address


@pytest.fixture
def new_shop(tmp_path: Path) -> Iterator[FlaskClient]:
    """A browser at the machine of a shop that has no owner yet."""
    app = create_app(Settings(data=tmp_path / "new", book=demo_book()))
    yield app.test_client()
    app.extensions["context"].store.close()


def filled_in(client: FlaskClient) -> dict[str, str]:
    password = "seven brass tuners"
    code = client.application.config["SETUP_CODE"]
    return {"name": "Mara Lindt", "password": password, "again": password, "code": code}


@pytest.mark.parametrize(
    "asking",
    [
        {"environ_base": {"REMOTE_ADDR": "192.168.1.7"}},
        {"headers": {"Host": "counter.example.org"}},
        {"headers": {"X-Forwarded-For": "203.0.113.9"}},
        {"headers": {"X-Forwarded-Proto": "https"}},
        {"headers": {"X-Real-IP": "203.0.113.9"}},
        {"headers": {"CF-Connecting-IP": "203.0.113.9"}},
        {"headers": {"Via": "1.1 proxy"}},
        {"environ_overrides": {"SERVER_PROTOCOL": "HTTP/1.0"}},
        {"environ_overrides": {PROXIED: {}}},
        {"headers": {"Referer": "https://counter.example.org/setup"}},
        {"headers": {"Origin": "https://counter.example.org", "Sec-Fetch-Site": "same-origin"}},
    ],
)
def test_nobody_sets_up_a_shop_through_a_proxy(new_shop: FlaskClient, asking: dict[str, Any]) -> None:
    """Also through one that sets no header: one as it comes may name itself 127.0.0.1 and speak HTTP/1.0."""
    form = filled_in(new_shop)

    assert new_shop.get("/setup", query_string=form, **asking).status_code == 403
    assert new_shop.post("/setup", data=form, **asking).status_code == 403


def test_the_person_at_the_machine_does(new_shop: FlaskClient) -> None:
    form = filled_in(new_shop)
    ours = {
        "Origin": "http://localhost",
        "Referer": "http://localhost/setup",
        "Sec-Fetch-Site": "same-origin",
    }

    assert new_shop.get("/setup").status_code == 200
    assert new_shop.post("/setup", data=form, headers=ours).status_code == 303


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("evil.example", "http://192.168.1.5:8642"),
        ("203.0.113.9:8642", "http://192.168.1.5:8642"),
        ("192.168.1.5:8642", "http://192.168.1.5:8642"),
        ("localhost:8642", "http://localhost:8642"),
        (f"{gethostname().lower().partition('.')[0]}.local:8642", None),
    ],
)
def test_what_goes_to_customers_names_this_machine(
    new_shop: FlaskClient, host: str, address: str | None
) -> None:
    """Whatever the one who freezes or mails called it; no address is fixed for phones here."""
    app = new_shop.application
    with app.test_request_context(base_url="http://192.168.1.5:8642", headers={"Host": host}):
        assert shop_address() == (address or f"http://{host}")
