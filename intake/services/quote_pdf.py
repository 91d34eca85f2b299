"""The quote's PDF in the customer's language, printed once from the frozen quote and kept."""

from __future__ import annotations

from intake.services import documents
from intake.services.quote_view import QuoteView


def pdf_of(visit: QuoteView, address: str) -> bytes:
    """The PDF; `address` is where the shop's counter is, for the code on the paper; without one there is no
    code. Raises PaperError."""
    ticket_address = f"{address}/tickets/{visit.ticket.id}" if address else ""
    return documents.stored_pdf(visit.ctx, visit.frozen, visit.ticket, "", ticket_address, visit.language)
