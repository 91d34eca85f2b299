"""How much discount somebody may give, held to at the giving, at every freeze and at every yes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from intake.book.model import Book, Shop
from intake.i18n import _
from intake.quoting.discount import share_given
from intake.quoting.model import Discount, Quote
from intake.quoting.selection import Menu
from intake.store.people import Role


def limit_of(role: Role | str, shop: Shop) -> Decimal:
    """The owner gives anything, everybody else up to the shop's `discount_most`."""
    return Decimal(1) if role == "owner" else shop.discount_most


def over_limit(quote: Quote, book: Book, most: Decimal) -> bool:
    """The quote's discount is more than that share of what the shop would do."""
    if quote.discount is None:
        return False
    return share_given(quote.discount, Menu(quote, book).whole) > most


def discount_as_kept(discount: Discount | None, kept: Discount | None) -> Discount | None:
    """The discount as the version wrote it that froze `kept`: an earlier one did not write the limit down."""
    return replace(discount, most=None) if discount and kept and kept.most is None else discount


def limit_sentence(most: Decimal) -> str:
    """Why it is refused."""
    return _("More than {limit} % is for the owner to give.", limit=f"{(most * 100).normalize():f}")
