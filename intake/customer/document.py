"""The quote's PDF in the customer's language, printed once from the frozen quote and kept."""

from __future__ import annotations

from intake.counter import printing
from intake.customer.visit import Visit


def pdf_of(visit: Visit, address: str) -> bytes:
    """The PDF; `address` is where the shop's counter is, for the code on the paper. Raises PaperError."""
    ticket_address = f"{address}/tickets/{visit.ticket.id}"
    return printing.stored_pdf(visit.here, visit.frozen, visit.ticket, "", ticket_address, visit.language)
