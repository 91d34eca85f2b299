"""Which language a customer reads."""

from __future__ import annotations

from intake.book.model import Shop
from intake.i18n import native_name
from intake.store.tickets import Ticket


def language_of(ticket: Ticket, shop: Shop) -> str:
    """What the customer reads: as chosen, else the shop's first language."""
    return ticket.language if ticket.language in shop.languages else shop.languages[0]


def choices(shop: Shop) -> list[tuple[str, str]]:
    """The shop's languages and their own names."""
    return [(one, native_name(one)) for one in shop.languages]
