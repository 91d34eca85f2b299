"""The message that brings a quote: text, HTML and the PDF, headers that nothing typed can break."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime

ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@(?:[A-Za-z0-9-]{1,63}\.)+[A-Za-z0-9-]{2,63}")
WIRE = policy.SMTP.clone(cte_type="7bit", max_line_length=76)


class AddressError(ValueError):
    """Not an address that mail can go to."""


@dataclass(frozen=True)
class Letter:
    """`sender` is the shop's address, `shop` its name; `reply_to` "" for the sender itself."""

    message_id: str
    sender: str
    shop: str
    recipient: str
    subject: str
    text: str
    html: str
    language: str
    date: datetime
    pdf: bytes = b""
    pdf_name: str = ""
    reply_to: str = ""


def checked(address: str) -> str:
    """The address without blanks around it. Raises BadAddress for anything but one plain ASCII address."""
    plain = address.strip()
    if len(plain) > 254 or not ADDRESS.fullmatch(plain) or ".." in plain:
        raise AddressError(plain)
    return plain


def build(letter: Letter) -> EmailMessage:
    """The message, ready for the wire. Raises BadAddress."""
    message = EmailMessage(policy=WIRE)
    message["From"] = Address(_line(letter.shop), addr_spec=checked(letter.sender))
    message["To"] = Address(addr_spec=checked(letter.recipient))
    if letter.reply_to:
        message["Reply-To"] = Address(addr_spec=checked(letter.reply_to))
    message["Subject"] = _line(letter.subject)
    message["Date"] = format_datetime(letter.date)
    message["Message-ID"] = letter.message_id
    message["Content-Language"] = letter.language
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(letter.text)
    message.add_alternative(letter.html, subtype="html")
    if letter.pdf:
        message.add_attachment(letter.pdf, maintype="application", subtype="pdf", filename=letter.pdf_name)
    return message


def _line(words: str) -> str:
    """One line without control characters: what is typed may be a header's words, never a header."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in words).split())
