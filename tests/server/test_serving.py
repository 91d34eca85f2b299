"""`tallyfret serve` as a process of its own, and what a reverse proxy may say of its clients."""

from __future__ import annotations

import json
import os
import re
import socket
import ssl
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from http.client import HTTPConnection, HTTPResponse, HTTPSConnection
from ipaddress import ip_network
from pathlib import Path
from queue import Queue
from typing import Any

import pytest
import segno
from click.testing import CliRunner
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from flask import Flask
from sqlite_utils import Database

from intake.cli import serve
from intake.cli.main import main
from intake.config import ServerSettings, SettingsError, server_settings
from intake.lan.phones import Trust
from intake.lan.prepare import prepare
from intake.server import run as serving
from intake.server.run import Wish, run_lan, shop_app
from intake.server.uvicorn_server import Running
from intake.store import passwords, people
from intake.store.db import Store

NETWORK = "127.0.0.2" if sys.platform == "linux" else "127.0.0.1"
"""A loopback address that is not the one by which a machine calls itself, where there is one."""
PROGRAM = [sys.executable, "-c", "from intake.cli.main import main; main()"]
WAIT = 120
READY = "Ctrl+C stops it."


def free_port(host: str = NETWORK) -> int:
    with socket.socket() as held:
        held.bind((host, 0))
        return int(held.getsockname()[1])


@dataclass
class Shop:
    """A data folder, with ports to serve it at."""

    data: Path
    port: int
    trust_port: int
    told: str = ""

    @contextmanager
    def open(self, *more: str, **environment: str) -> Iterator[subprocess.Popen[str]]:
        """Run `serve --lan` until the block ends; then it must have stopped in order."""
        ports = ("--port", str(self.port), "--trust-port", str(self.trust_port))
        command = [*PROGRAM, "--data", str(self.data), "serve", "--lan", *ports, *more]
        run = partial(subprocess.Popen, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        with run(command, env={**os.environ, **environment}) as child:
            try:
                assert child.stdout and child.stderr
                lines = iter(child.stdout.readline, "")
                self.told = ""
                for line in lines:
                    self.told += line
                    if READY in line:
                        break
                else:
                    raise AssertionError(child.stderr.read())
                yield child
            finally:
                child.terminate()
            assert child.wait(WAIT) == 0, child.stderr.read()

    @property
    def root(self) -> bytes:
        return (self.data / "authority" / "root.pem").read_bytes()

    def get(self, path: str, name: str = "") -> tuple[HTTPResponse, bytes]:
        """Over TLS, trusting the shop's root and nothing else; `name` is whom the client takes it for."""
        context = ssl.create_default_context(cadata=self.root.decode())
        line = HTTPSConnection(NETWORK, self.port, timeout=WAIT, context=context)
        if name:
            plain = socket.create_connection((NETWORK, self.port), timeout=WAIT)
            line.sock = context.wrap_socket(plain, server_hostname=name)
        return asked(line, path)


def asked(line: HTTPConnection, path: str) -> tuple[HTTPResponse, bytes]:
    try:
        line.request("GET", path)
        answer = line.getresponse()
        return answer, answer.read()
    finally:
        line.close()


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return Shop(tmp_path_factory.mktemp("shop") / "data", free_port(), free_port())


def drawn(text: str) -> list[list[int]]:
    """The modules that half blocks on a dark terminal show: 1 is dark, where nothing is lit."""
    lit = {" ": (0, 0), "█": (1, 1), "▀": (1, 0), "▄": (0, 1)}
    rows = [line for line in text.splitlines() if line and set(line) <= set(lit)]
    return [[1 - lit[sign][half] for sign in row] for row in rows for half in (0, 1)]


def test_the_first_start_makes_an_authority_and_the_second_keeps_it(shop: Shop) -> None:
    with shop.open("--address", NETWORK):
        first, told = shop.root, shop.told
        answer, _ = shop.get("/")
        assert (answer.status, answer.headers["Location"]) == (303, "/signin?next=/")
        assert b"tallyfret staff owner" in shop.get("/signin")[1]
        with pytest.raises(ssl.SSLCertVerificationError, match=r"not valid for 'example\.org'"):
            shop.get("/", "example.org")
        with pytest.raises(ssl.SSLCertVerificationError, match="local issuer"):
            HTTPSConnection(NETWORK, shop.port, context=ssl.create_default_context()).connect()
        door = HTTPConnection(NETWORK, shop.trust_port, timeout=WAIT)
        assert asked(door, "/people")[0].headers["Location"] == f"https://{NETWORK}:{shop.port}/people"
        assert b"/trust/counter-root.crt" in asked(door, "/trust")[1]
        if NETWORK != serving.LOOPBACK:
            here = HTTPConnection(serving.LOOPBACK, shop.port, timeout=WAIT)
            assert asked(here, "/")[0].headers["Location"] == "/setup"
            code = re.search(rf"http://127\.0\.0\.1:{shop.port}(/setup\?code=\S+)\n", told)
            assert code and b'name="password"' in asked(here, code[1])[1]
    assert f"https://{NETWORK}:{shop.port}/" in told and "has no owner yet" in told
    digits = x509.load_pem_x509_certificate(first).fingerprint(hashes.SHA256()).hex().upper()
    assert digits in re.sub(r"\s", "", told)
    code = segno.make(f"http://{NETWORK}:{shop.trust_port}/trust", micro=False, error="m")
    modules = [list(row) for row in code.matrix_iter(border=4)]
    assert drawn(told)[: len(modules)] == modules

    with shop.open():  # the address that phones know needs no naming
        assert shop.root == first
        assert shop.get("/ping")[0].status == 204


@pytest.mark.skipif(os.name != "posix", reason="rights of this kind are POSIX")
def test_nobody_else_may_read_the_authority(shop: Shop) -> None:
    with shop.open("--address", NETWORK):
        shop.get("/ping")
    folder = shop.data / "authority"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    rights = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
    assert rights == dict.fromkeys(("root.pem", "root-key.pem", "server.pem", "origin.toml"), 0o600)


def test_a_missing_pango_is_said_at_the_start(shop: Shop, tmp_path: Path) -> None:
    """A WeasyPrint that fails as the real one does there. The counter opens all the same."""
    (tmp_path / "weasyprint.py").write_text("raise OSError(\"cannot load library 'libpango-1.0-0'\")")
    with shop.open("--address", NETWORK, PYTHONPATH=str(tmp_path)) as child:
        assert shop.get("/ping")[0].status == 204
        assert child.stderr
        assert any("PDF needs the Pango text library" in line for line in iter(child.stderr.readline, ""))


def refused(data: Path, *arguments: object) -> str:
    """The one line on standard error."""
    result = CliRunner().invoke(main, ["--data", str(data), "serve", *map(str, arguments)])
    assert (result.exit_code, result.stdout) == (2, ""), result.output
    assert len(result.stderr.splitlines()) == 1
    return result.stderr


def test_another_address_is_refused_unless_it_is_asked_for(tmp_path: Path) -> None:
    port = free_port()
    prepare(tmp_path, "Corner Frets", serving.own_address(NETWORK), port, datetime.now(UTC))
    other = free_port()
    sentence = refused(tmp_path, "--lan", "--port", other)
    assert f"know the counter as https://{NETWORK}:{port}" in sentence and "--new-origin" in sentence
    told: list[tuple[Running, Trust]] = []

    def stop(running: Running, trust: Trust) -> None:
        told.append((running, trust))
        running.stop()

    wish = Wish(NETWORK, other, free_port(), new_origin=True)
    thread = threading.Thread(target=run_lan, args=(tmp_path, None, wish, stop))
    thread.start()
    thread.join(WAIT)
    assert told[0][0].port == other
    store = Store(tmp_path)
    assert noted(store.db, "shop’s address fixed") == {
        "origin": f"https://{NETWORK}:{other}",
        "before": f"https://{NETWORK}:{port}",
        "new_authority": False,
    }
    store.close()


def test_what_cannot_be_served_is_said_before_an_address_is_fixed(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind((NETWORK, 0))
        taken.listen()
        port = taken.getsockname()[1]
        lan = ("--lan", "--address", NETWORK)
        assert f"Port {port} is taken" in refused(tmp_path, *lan, "--port", port)
        assert f"Port {port} is taken" in refused(tmp_path, *lan, "--port", free_port(), "--trust-port", port)
    free = free_port()
    assert f"Port {free} is taken" in refused(tmp_path, *lan, "--port", free, "--trust-port", free)
    assert "does not have the address 10.255.255.1" in refused(tmp_path, "--lan", "--address", "10.255.255.1")
    assert "not an address of a private network" in refused(tmp_path, "--lan", "--address", "203.0.113.7")
    assert "name one above 0" in refused(tmp_path, *lan, "--port", 0)
    assert "--address says" in refused(tmp_path, "--lan", "--host", NETWORK)
    assert "go with --lan" in refused(tmp_path, "--new-origin")
    (tmp_path / "tallyfret.toml").write_text('[server]\norigin = "https://counter.example.org"\n')
    assert "reverse proxy" in refused(tmp_path, *lan, "--port", free)
    assert not (tmp_path / "authority").exists()


def test_the_running_server_takes_up_a_renewed_certificate(tmp_path: Path) -> None:
    """It was made 61 days ago, so to speak; the question asked at the start renews it."""
    moments = iter([datetime.now(UTC) - timedelta(days=61)])
    ready: Queue[Running] = Queue()
    wish = Wish(NETWORK, free_port(), free_port())
    arguments = (
        tmp_path,
        None,
        wish,
        lambda at, trust: ready.put(at),
        lambda: next(moments, datetime.now(UTC)),
    )
    thread = threading.Thread(target=run_lan, args=arguments)
    thread.start()
    running = ready.get(timeout=WAIT)
    shop = Shop(tmp_path, running.port, 0)
    pem = tmp_path / "authority" / "server.pem"
    context = ssl.create_default_context(cadata=shop.root.decode())
    left = timedelta(0)
    for _ in range(2400):
        plain = socket.create_connection((NETWORK, running.port), timeout=WAIT)
        with context.wrap_socket(plain, server_hostname=NETWORK) as line:
            shown = x509.load_der_x509_certificate(line.getpeercert(binary_form=True) or b"")
        left = shown.not_valid_after_utc - datetime.now(UTC)
        if left > timedelta(days=80):
            break
        threading.Event().wait(0.05)
    running.stop()
    thread.join(WAIT)
    assert left > timedelta(days=80)
    assert shown == x509.load_pem_x509_certificate(pem.read_bytes())


def test_plain_http_says_that_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopping(
        make: Any, host: str, port: int, tls: Any, on_ready: Callable[[Running], object], **_: Any
    ) -> None:
        on_ready(Running("http", host, port, lambda: None))

    monkeypatch.setattr(serving, "serve", stopping)
    monkeypatch.setattr(serve, "_warm_press", lambda: None)
    Store(tmp_path).close()
    told = (
        ("192.168.1.5", "“tallyfret staff owner” makes one"),
        ("0.0.0.0", "  http://127.0.0.1:8642/setup?code="),
        ("0.0.0.0", "This is plain http"),
        ("0.0.0.0", "at http://127.0.0.1:8642/, and at every other address of this machine, and"),
        ("::1", "Only this machine"),
    )
    for host, sentence in told:
        result = CliRunner().invoke(main, ["--data", str(tmp_path), "serve", "--host", host])
        assert result.exit_code == 0 and sentence in result.stdout
    assert "Only this machine" in CliRunner().invoke(main, ["--data", str(tmp_path), "serve"]).stdout


# Reverse proxies

SPOKEN = {
    "X-Forwarded-For": "198.51.100.7",
    "X-Forwarded-Proto": "https",
    "X-Forwarded-Host": "counter.example.org",
}
PASSWORD = "seven brass tuners"


@pytest.fixture
def behind(tmp_path: Path) -> Iterator[Callable[..., Flask]]:
    """Makes the app as those settings want it, with an owner."""
    made: list[Flask] = []

    def make(fixed: ServerSettings) -> Flask:
        app = shop_app(tmp_path / "data", None, fixed)
        ctx = app.extensions["context"]
        with ctx.store.writing() as db:
            people.add(db, "Mara Lindt", "owner", ctx.now(), password_hash=passwords.hashed(PASSWORD))
        made.append(app)
        return app

    yield make
    for app in made:
        app.extensions["context"].store.close()


def sign_in(app: Flask, password: str = PASSWORD, peer: str = "127.0.0.1", **headers: str) -> Any:
    form = {"name": "Mara Lindt", "password": password}
    return app.test_client().post(
        "/signin/owner", data=form, headers={**SPOKEN, **headers}, environ_base={"REMOTE_ADDR": peer}
    )


def tried_from(app: Flask) -> str:
    """The client's address by which the newest try was counted."""
    sql = "select about from attempts where kind = 'address' order by rowid desc limit 1"
    (row,) = app.extensions["context"].store.db.execute(sql)
    return str(row[0])


def noted(db: Database, what: str) -> dict[str, Any]:
    """The newest event of that kind."""
    (row,) = db.execute("select detail from events where what = ? order by id desc limit 1", [what])
    detail: dict[str, Any] = json.loads(row[0])
    return detail


def test_nobody_is_believed_by_default(behind: Callable[..., Flask]) -> None:
    app = behind(ServerSettings())
    cookies = sign_in(app).headers["Set-Cookie"]
    assert "Secure" not in cookies and "__Host-" not in cookies
    sign_in(app, "wrong")
    assert tried_from(app) == "127.0.0.1"
    assert sign_in(app, Origin="https://counter.example.org").status_code == 403


def test_one_proxy_is_believed_where_the_shop_says_so(behind: Callable[..., Flask]) -> None:
    app = behind(ServerSettings(proxies=1))
    cookies = sign_in(app, Origin="https://counter.example.org").headers["Set-Cookie"]
    assert cookies.startswith("__Host-session=") and "Secure" in cookies
    assert sign_in(app, Origin="http://localhost").status_code == 403
    sign_in(app, "wrong", **{"X-Forwarded-For": "203.0.113.9, 198.51.100.7"})
    assert tried_from(app) == "198.51.100.7"


def test_whoever_else_asks_a_shop_with_a_proxy_is_not_believed(behind: Callable[..., Flask]) -> None:
    app = behind(ServerSettings(proxies=1, proxies_at=(ip_network("172.18.0.0/16"),)))
    for peer in ("192.168.1.77", "127.0.0.1", "::1", ""):
        assert "Secure" not in sign_in(app, peer=peer).headers["Set-Cookie"]
        sign_in(app, "wrong", peer=peer)
        assert tried_from(app) == peer
    for peer in ("172.18.0.3", "::ffff:172.18.0.3"):
        assert "Secure" in sign_in(app, peer=peer).headers["Set-Cookie"]


def test_a_proxy_never_passes_for_the_person_at_this_machine(tmp_path: Path) -> None:
    app = shop_app(tmp_path, None, ServerSettings(proxies=1))
    spoken = {"X-Forwarded-For": "127.0.0.1", "X-Forwarded-Host": "localhost"}
    code = {"code": app.config["SETUP_CODE"]}
    assert app.test_client().get("/setup", query_string=code, headers=spoken).status_code == 403
    assert app.test_client().get("/metrics", headers=spoken).status_code == 404
    app.extensions["context"].store.close()


def test_this_machine_itself_is_known_beside_its_proxy(tmp_path: Path) -> None:
    """The shop's proxy says whom it asks for; what it did not pass on was asked here."""
    app = shop_app(tmp_path, None, ServerSettings(proxies=1), "abcd")

    assert app.test_client().get("/metrics").status_code == 200
    assert 'name="password"' in app.test_client().get("/setup?code=abcd").text
    app.extensions["context"].store.close()


def test_the_settings_are_read_and_wrong_ones_said(tmp_path: Path) -> None:
    assert server_settings(tmp_path) == ServerSettings()
    file = tmp_path / "tallyfret.toml"
    file.write_text(
        '[server]\nproxies = 2\nproxies_at = ["172.18.0.0/16"]\norigin = "https://a.example.org:8443"\n'
    )
    assert server_settings(tmp_path) == ServerSettings(
        2, (ip_network("172.18.0.0/16"),), "https://a.example.org:8443"
    )
    for wrong, says in {
        "proxies = true": "proxies is how many",
        "proxies = -1": "proxies is how many",
        'proxies_at = "127.0.0.1"': "proxies_at lists",
        'proxies_at = ["proxy"]': "proxies_at lists",
        'origin = "counter.example.org"': "origin is an address",
        'origin = "https://counter.example.org/"': "origin is an address",
        'origin = "https://a:x"': "origin is an address",
        "origin = 3": "origin is an address",
        "proxy = 1": "knows no “proxy”",
    }.items():
        file.write_text(f"[server]\n{wrong}\n")
        with pytest.raises(SettingsError, match=says):
            server_settings(tmp_path)
        assert says in refused(tmp_path)
