"""The quote's PDF in the customer's language, printed once from the frozen quote and kept."""

from __future__ import annotations

from intake.counter import printing
from intake.customer.visit import Visit
from intake.store.files import write_durably

FIRST_LANGUAGE = "en"
"""The language in which the counter prints a quote when it freezes it."""


def pdf_of(visit: Visit, address: str) -> bytes:
    """The PDF; `address` is where the shop's counter is, for the code on the paper. Raises PaperError."""
    here, frozen = visit.here, visit.frozen
    ticket_address = f"{address}/tickets/{visit.ticket.id}"
    if visit.language == FIRST_LANGUAGE:
        return printing.stored_pdf(here, frozen, visit.ticket, "", ticket_address)
    first = here.store.quotes / frozen.pdf_file
    other = first.with_name(f"{first.stem}-{visit.language}.pdf")
    if not other.exists():
        job = printing.job_of(
            here,
            visit.book,
            visit.quote,
            visit.walkin,
            visit.ticket,
            frozen.revision,
            ticket_address,
            frozen.staff,
        )
        write_durably(other, printing.pdf(job, printing.PAPERS[0], visit.language))
    return other.read_bytes()
