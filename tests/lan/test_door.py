"""The plain door: what it lets a phone see, what it sends on, and what it keeps away from the program."""

from __future__ import annotations

from typing import Any

import pytest

from intake.lan.door import Door

ORIGIN = "https://192.168.1.20:8642"


class Seen:
    """A program behind the door that notes what reaches it."""

    def __init__(self) -> None:
        self.asked: list[dict[str, Any]] = []

    def __call__(self, environ: dict[str, Any], start: Any) -> list[bytes]:
        self.asked.append(environ)
        start("200 OK", [])
        return [b"shown"]


def knock(path: str, method: str = "GET", **headers: str) -> tuple[str, dict[str, str], Seen]:
    """Status, headers, and what the program saw."""
    behind, told = Seen(), []
    environ = {"REQUEST_METHOD": method, "PATH_INFO": path, **headers}
    b"".join(Door(behind, ORIGIN)(environ, lambda status, headers: told.append((status, dict(headers)))))
    return *told[0], behind


@pytest.mark.parametrize("path", ["/trust", "/trust/counter-root.crt", "/static/0123/css/trust.css"])
def test_it_shows_the_page_about_trust_without_anybodys_cookies(path: str) -> None:
    status, _, behind = knock(path, HTTP_COOKIE="session=x", HTTP_AUTHORIZATION="Basic x", HTTP_HOST="h")
    assert status == "200 OK"
    assert behind.asked == [{"REQUEST_METHOD": "GET", "PATH_INFO": path, "HTTP_HOST": "h"}]


@pytest.mark.parametrize(
    ("path", "onward"),
    [
        ("/", "/trust"),
        ("", "/trust"),
        ("/people", f"{ORIGIN}/people"),
        ("/trusty", f"{ORIGIN}/trusty"),
        ("/statics", f"{ORIGIN}/statics"),
        ("//evil.example/", f"{ORIGIN}//evil.example/"),
        ("/a\r\nSet-Cookie: x", f"{ORIGIN}/a%0D%0ASet-Cookie%3A%20x"),
        ("/Z\xc3\xbcrich", f"{ORIGIN}/Z%C3%BCrich"),
    ],
)
def test_all_else_is_sent_to_the_https_address(path: str, onward: str) -> None:
    status, headers, behind = knock(path, QUERY_STRING="code=secret")
    assert (status, headers["Location"], behind.asked) == ("302 Found", onward, [])


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_nothing_can_be_sent_through_it(method: str) -> None:
    for path in ("/trust", "/signin/owner"):
        status, _, behind = knock(path, method)
        assert (status, behind.asked) == ("405 Method Not Allowed", [])
