"""Headers that nothing typed can break, addresses that are addresses, settings that keep their password."""

from __future__ import annotations

from datetime import UTC, datetime
from email import message_from_bytes, policy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.mail.letter import AddressError, Letter, build, checked
from intake.mail.settings import MailSettingsError, load

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
HEADERS = {
    "From", "To", "Subject", "Date", "Message-ID", "Content-Language", "Auto-Submitted", "MIME-Version",
    "Content-Type",
}  # fmt: skip


def letter(**given: Any) -> Letter:
    usual: dict[str, Any] = {
        "message_id": "<1@shop.example>", "sender": "bench@shop.example", "shop": "Corner Bench",
        "recipient": "rose@home.example", "subject": "Quote", "text": "Hello", "html": "<p>Hello</p>",
        "language": "en", "date": NOW,
    }  # fmt: skip
    return Letter(**{**usual, **given})


@given(st.text(max_size=300), st.text(max_size=100))
def test_typed_words_are_never_a_header(subject: str, shop: str) -> None:
    raw = build(letter(subject=subject + "\r\nBcc: x@y.example", shop=shop + "\nX-Own: 1")).as_bytes()
    assert raw.isascii() and b"\n" not in raw.replace(b"\r\n", b"")
    message = message_from_bytes(raw, policy=policy.default)
    assert {name.title() for name in message} <= {name.title() for name in HEADERS}
    assert [a.addr_spec for a in message["From"].addresses] == ["bench@shop.example"]
    assert [a.addr_spec for a in message["To"].addresses] == ["rose@home.example"]


@pytest.mark.parametrize(
    "address",
    ["", "rose", "rose@", "@home.example", "a@b.example, c@d.example", "a@b.example\r\nRCPT TO:<x@y.example>",
     "a@b.example>", "<a@b.example>", "rose @home.example", "a..b@home.example", "röse@home.example",
     "a@" + "b" * 260 + ".example", "a@b.example\0"],
)  # fmt: skip
def test_no_address(address: str) -> None:
    with pytest.raises(AddressError):
        checked(address)


@pytest.mark.parametrize("address", ["rose@home.example", " r.o-f+shop@a.b.example ", "o'neil@home.example"])
def test_an_address(address: str) -> None:
    assert checked(address) == address.strip()


def test_no_mail_is_set_up_without_a_host(tmp_path: Path) -> None:
    assert load(tmp_path, {}) is None


def test_the_environment_stands_over_the_file(tmp_path: Path) -> None:
    (tmp_path / "mail.toml").write_text('host = "a.example"\nsender = "b@c.example"\nport = 2525\n')
    found = load(tmp_path, {"TALLYFRET_SMTP_HOST": "d.example", "TALLYFRET_SMTP_PASSWORD": "pass-word"})
    assert found and (found.host, found.port, found.security) == ("d.example", 2525, "starttls")
    assert "pass-word" not in repr(found)


@pytest.mark.parametrize(
    "text",
    ['host = "a.example"', 'host = "a.example"\nsender = "b@c.example"\nsecurity = "none"',
     'host = "a.example"\nsender = "b@c.example"\nport = "x"', 'host = "a"\nsender = "b@c"\ncolour = "red"',
     'host = "a"\nsender = "b@c.example"\naddress = "javascript:1"', 'password = "s3cret'],
)  # fmt: skip
def test_settings_that_do_not_serve_are_said(tmp_path: Path, text: str) -> None:
    (tmp_path / "mail.toml").write_text(text)
    with pytest.raises(MailSettingsError) as caught:
        load(tmp_path, {})
    assert "mail.toml" in str(caught.value) and "s3cret" not in str(caught.value)


def test_a_password_that_others_may_read_is_not_used(tmp_path: Path) -> None:
    """ASVS 13.3.2. Settings without one may lie open: the environment brings it."""
    settings = tmp_path / "mail.toml"
    settings.write_text('host = "a.example"\nsender = "b@c.example"\npassword = "s3cret"\n')
    for mode in (0o644, 0o640, 0o604):
        settings.chmod(mode)
        with pytest.raises(MailSettingsError, match="chmod 600") as caught:
            load(tmp_path, {})
        assert "s3cret" not in str(caught.value)

    settings.chmod(0o600)

    found = load(tmp_path, {})
    assert found and found.password == "s3cret"
