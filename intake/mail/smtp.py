"""One message to one SMTP server, and what became of it: said exactly as far as SMTP allows.

Until the message's first byte nothing can have been delivered, so any trouble is `Later` or `Refused`.
Between that byte and the server's answer the line may break when the message has been taken: `Unsure`.
"""

from __future__ import annotations

import re
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable
from email.message import EmailMessage

from intake.mail.settings import MailSettings

SILENCE = 30.0
DEADLINE = 300.0


class RefusedError(Exception):
    """The server will not take it (5xx): its words."""


class RetryLaterError(Exception):
    """Not now (4xx), or the server cannot be reached: nothing was delivered."""


class UnsureError(Exception):
    """The line broke before the server said whether it took the message."""


class StoppedError(Exception):
    """`may_go` said no: somebody else has the message."""


def deliver(
    settings: MailSettings,
    message: EmailMessage,
    recipient: str,
    may_go: Callable[[], bool],
    *,
    silence: float = SILENCE,
    deadline: float = DEADLINE,
) -> str:
    """Hand the message over; the server's words when it took it.

    `may_go` is called once, before the first byte of the message. Raises Refused, Later, Unsure, Stopped.
    """
    begun = False
    try:
        with _connection(settings, silence) as server, _cut_off(server, deadline):
            _address(server, settings.sender, recipient)
            if not may_go():
                raise StoppedError
            begun = True
            _expect(server.docmd("DATA"), 354)
            server.send(_wire(message))
            answer = _expect(server.getreply(), 250)
            _quit(server)
            return answer
    except smtplib.SMTPAuthenticationError as error:
        raise RetryLaterError(f"The mail server did not accept the login ({error.smtp_code}).") from None
    except smtplib.SMTPResponseException as error:
        raise (RefusedError if 500 <= error.smtp_code < 600 else RetryLaterError)(_words(error)) from None
    except (smtplib.SMTPException, OSError) as error:
        words = str(error) or type(error).__name__
        raise (UnsureError if begun else RetryLaterError)(words) from None


def _connection(settings: MailSettings, silence: float) -> smtplib.SMTP:
    """A server that we talk to in private and that knows us. Raises what smtplib raises."""
    context = ssl.create_default_context(cafile=settings.authority or None)
    if settings.security == "tls":
        server: smtplib.SMTP = smtplib.SMTP_SSL(
            settings.host, settings.port, timeout=silence, context=context
        )
    else:
        server = smtplib.SMTP(settings.host, settings.port, timeout=silence)
    try:
        server.ehlo_or_helo_if_needed()
        if settings.security == "starttls":
            server.starttls(context=context)
            server.ehlo()
        if settings.user:
            server.login(settings.user, settings.password)
    except BaseException:
        server.close()
        raise
    return server


class _cut_off:
    """A server that trickles bytes for ever is cut off after so many seconds."""

    def __init__(self, server: smtplib.SMTP, seconds: float) -> None:
        self._timer = threading.Timer(seconds, self._cut, [server])
        self._timer.daemon = True

    def __enter__(self) -> None:
        self._timer.start()

    def __exit__(self, *_: object) -> None:
        self._timer.cancel()

    @staticmethod
    def _cut(server: smtplib.SMTP) -> None:
        if server.sock:
            server.sock.shutdown(socket.SHUT_RDWR)


def _address(server: smtplib.SMTP, sender: str, recipient: str) -> None:
    _expect(server.mail(sender), 250)
    _expect(server.rcpt(recipient), 250, 251)


def _expect(reply: tuple[int, bytes], *codes: int) -> str:
    code, words = reply
    if code == -1:
        raise smtplib.SMTPServerDisconnected("The mail server hung up.")
    if code not in codes:
        raise smtplib.SMTPResponseException(code, words)
    return f"{code} {words.decode('ascii', 'replace')}"


def _wire(message: EmailMessage) -> bytes:
    """Lines end in CR LF, those that begin with a dot get another (RFC 5321, section 4.5.2)."""
    lines = re.sub(rb"\r\n|\r|\n", b"\r\n", message.as_bytes())
    stuffed = re.sub(rb"(?m)^\.", b"..", lines)
    return stuffed + (b"" if stuffed.endswith(b"\r\n") else b"\r\n") + b".\r\n"


def _quit(server: smtplib.SMTP) -> None:
    """The message is taken: what happens to the line now is nobody's worry."""
    try:
        server.quit()
    except (smtplib.SMTPException, OSError):
        server.close()


def _words(error: smtplib.SMTPResponseException) -> str:
    words = (
        error.smtp_error.decode("utf-8", "replace")
        if isinstance(error.smtp_error, bytes)
        else error.smtp_error
    )
    printable = "".join(sign if sign.isprintable() else " " for sign in words)
    return f"{error.smtp_code} {printable}"
