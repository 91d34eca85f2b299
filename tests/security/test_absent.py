"""What the ASVS table calls not applicable is absent: nothing of ours names it, no package brings it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from intake.config import PACKAGE, data_root

ABSENT = {
    "LDAP": r"\bldap",
    "XPath": r"\bxpath|\blxml",
    "LaTeX": r"latex|pdftex",
    "HTML from an editor": r"contenteditable|execCommand|\bbleach\b",
    "JNDI": r"\bjndi",
    "memcache": r"memcache",
    "postMessage to others": r"(parent|window|opener)\.postMessage|postMessage\([^)]*[\"']\*",
    "GraphQL": r"graphql",
    "WebSocket": r"websocket",
    "codes by telephone": r"\bsms\b|one_time_password|\btotp\b",
    "identity providers": r"\bsaml|openid|oauth|\boidc|federat",
    "tenants": r"tenant",
    "signed tokens": r"\bjwt\b|\bjose\b|itsdangerous|SECRET_KEY",
    "encryption of our own": r"primitives\.ciphers|fernet|aesgcm",
    "keys from passwords": r"pbkdf2|hkdf|scrypt",
    "client certificates": r"verify_mode|CERT_REQUIRED",
    "services inside": r"\bredis\b|celery|\bamqp|\bgrpc",
    "WebRTC": r"RTCPeerConnection|getUserMedia",
}
PACKAGES = (
    r"(?m)^(python-ldap|lxml|pymemcache|graphql-core|websockets|wsproto|pyjwt|authlib|redis|celery|aiortc|pyotp)"
    "=="
)
KINDS = {".py", ".js", ".html"}


@cache
def ours() -> dict[Path, str]:
    """Program, scripts and templates, without what others wrote."""
    folders = (PACKAGE, data_root() / "static" / "js", data_root() / "templates")
    files = (file for folder in folders for file in folder.rglob("*") if file.suffix in KINDS)
    return {file: file.read_text("utf-8") for file in files if "vendor" not in file.parts}


@pytest.mark.parametrize("what", ABSENT)
def test_what_the_table_calls_absent_is_absent(what: str) -> None:
    pattern = re.compile(ABSENT[what], re.IGNORECASE)

    assert [str(file) for file, text in ours().items() if pattern.search(text)] == []


def test_no_package_brings_it_either() -> None:
    lock = (Path(__file__).parents[2] / "requirements.lock").read_text("utf-8")

    assert re.findall(PACKAGES, lock) == []
