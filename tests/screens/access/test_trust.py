"""Bringing a phone in: what anybody gets, and the owner's page with code and figures."""

from __future__ import annotations

import plistlib
from collections.abc import Callable
from datetime import UTC, datetime
from ipaddress import IPv4Address
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import Client

from intake.lan.certificates import make_authority
from intake.lan.door import Door
from intake.lan.phones import Trust
from intake.lan.prepare import limits_for
from intake.qr import qr_svg
from intake.services.context import Context

ORIGIN = "https://192.168.1.20:8642"
ADDRESS = "http://192.168.1.20:8643/trust"


@pytest.fixture(scope="module")
def root() -> x509.Certificate:
    limits = limits_for(IPv4Address("192.168.1.20"), "bench.local")
    return make_authority("Corner Frets", limits, datetime(2026, 11, 25, tzinfo=UTC)).certificate


@pytest.fixture
def lan(app: Flask, root: x509.Certificate) -> Flask:
    """The shop as `serve --lan` serves it."""
    app.config.update(ORIGIN=ORIGIN, TRUST=Trust(root, ADDRESS))
    return app


@pytest.fixture
def owner(app: Flask, ctx: Context, badge: Callable[..., Any]) -> FlaskClient:
    return app.test_client(badge=badge(ctx, "owner", "Mara Lindt"))


def test_a_stranger_gets_the_certificate_in_every_form(
    lan: Flask, root: x509.Certificate, stranger: FlaskClient
) -> None:
    page = stranger.get("/trust")
    assert page.status_code == 200
    der = root.public_bytes(Encoding.DER)
    files = {name: stranger.get(f"/trust/{name}") for name in ("counter-root.crt", "counter-root.pem")}
    assert files["counter-root.crt"].data == der
    assert files["counter-root.crt"].content_type == "application/x-x509-ca-cert"
    assert x509.load_pem_x509_certificate(files["counter-root.pem"].data) == root
    profile = stranger.get("/trust/counter.mobileconfig")
    assert profile.headers["Content-Disposition"].startswith("inline")
    assert plistlib.loads(profile.data)["PayloadContent"][0]["PayloadContent"] == der
    for name in ("counter-root.crt", "counter-root.pem", "counter.mobileconfig"):
        assert f'href="/trust/{name}"' in page.text
    assert stranger.get("/trust/root-key.pem").status_code == 404


def test_the_page_says_what_it_can_do_and_leads_on_but_vouches_for_nothing(
    lan: Flask, root: x509.Certificate, stranger: FlaskClient
) -> None:
    """Over plain http it could have been changed on its way, and its figures with it."""
    page = stranger.get("/trust", base_url="http://192.168.1.20:8643").text
    for limit in ("192.168.1.0/24", "127.0.0.0/8", "bench.local"):
        assert f"<li>{limit}</li>" in page
    assert f'href="{ORIGIN}/"' in page
    assert root.fingerprint(hashes.SHA256()).hex().upper()[:4] not in page
    assert "manifest" not in page


def test_the_owners_page_has_the_code_and_the_fingerprint(
    lan: Flask, root: x509.Certificate, owner: FlaskClient
) -> None:
    assert 'href="/people/bring"' in owner.get("/people").text
    page = owner.get("/people/bring").text
    assert qr_svg(ADDRESS, "QR code of the address") in page
    assert f'href="{ADDRESS}"' in page
    shown = page.partition('class="fingerprint">')[2].partition("</p>")[0]
    digits = shown.replace("<span>", "").replace("</span>", "").replace(" ", "")
    assert digits == root.fingerprint(hashes.SHA256()).hex().upper()
    assert 'action="/people/phones"' in page
    enrolment = owner.post("/people/phones").text
    assert f'href="{ORIGIN}/enrol?code=' in enrolment


def test_the_wizard_says_what_plain_http_cannot_do(
    app: Flask, badge: Callable[..., Any], ctx: Context
) -> None:
    def wizard(host: str, scheme: str = "http", prefix: str = "") -> str:
        client = app.test_client(badge={})
        for name, token in badge(ctx).items():
            client.set_cookie(prefix + name, token, domain=host)
        page = client.get("/walkin", base_url=f"{scheme}://{host}:8642")
        assert page.status_code == 200
        return page.text

    says = "open it at the shop’s https address"
    assert says in wizard("192.168.1.20")
    assert says not in wizard("127.0.0.1")
    assert says not in wizard("192.168.1.20", "https", "__Host-")


def test_without_a_certificate_of_ones_own_there_is_none_to_trust(app: Flask, owner: FlaskClient) -> None:
    refused = owner.get("/trust")
    assert refused.status_code == 404 and "none to trust" in refused.text
    assert owner.get("/trust/counter-root.crt").status_code == 404
    assert "only on this machine" in owner.get("/people/bring", base_url="http://localhost:8642").text
    app.config["ORIGIN"] = "http://192.168.1.20:8642"
    plain = owner.get("/people/bring").text
    assert "plain http" in plain and "only on this machine" not in plain
    app.config["ORIGIN"] = "https://counter.example.org"
    proxied = owner.get("/people/bring").text
    assert qr_svg("https://counter.example.org/", "QR code of the address") in proxied
    assert "plain http" not in proxied and "fingerprint" not in proxied.lower()


@pytest.mark.parametrize(
    "path",
    [
        "/trust/../people", "/static/../people", "/trust/%2e%2e/people", "/static/%2e%2e/sw.js",
        "/trust//people", "/static//people", "/trust/", "/trust/root-key.pem",
        "/static/worker.js/../../walkin",
    ],
)  # fmt: skip
def test_no_path_leads_through_the_plain_door_into_the_shop(
    lan: Flask, badge: Any, ctx: Context, path: str
) -> None:
    """Not even for somebody signed in, whose cookies it takes away."""
    client = Client(Door(lan.wsgi_app, ORIGIN))
    for name, token in badge(ctx, "owner", "Mara Lindt").items():
        client.set_cookie(name, token)
    assert client.get(path).status_code in (302, 308, 404)
    assert client.get("/trust").status_code == 200


def test_papers_and_links_carry_the_address_that_phones_know_whichever_way_one_came(
    lan: Flask, client: FlaskClient, quoted: str
) -> None:
    """The owner at the shop's own computer asks on loopback; a customer's phone could not follow that."""
    made = client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    page = client.post(f"{made}/link").text
    assert f"{ORIGIN}/q/" in page and "http://localhost/q/" not in page
