"""Quotes on paper: what the counter asks of `intake.paper`."""

from __future__ import annotations

from dataclasses import dataclass

from intake.book.model import Book
from intake.counter.desk import Desk
from intake.counter.frozen import thaw
from intake.counter.walkin import from_json
from intake.counter.words import _
from intake.operation.metrics import COUNTED
from intake.paper import render_quote_pdf
from intake.quoting.model import Quote, Walkin
from intake.store import photos
from intake.store.files import write_durably
from intake.store.quotes import FrozenQuote
from intake.store.tickets import Ticket

PAPERS = ("letter", "a4")
MOST_PHOTOS = 6


@dataclass(frozen=True)
class Job:
    """One quote to print; `url` is the ticket's address, `photos` captions and JPEG bytes, `staff` who
    assessed."""

    book: Book
    quote: Quote
    walkin: Walkin
    number: str
    url: str
    photos: tuple[tuple[str, bytes], ...] = ()
    staff: str = ""


def job_of(
    here: Desk, book: Book, quote: Quote, walkin: Walkin, ticket: Ticket, revision: int, url: str, staff: str
) -> Job:
    """What the document says besides the quote: its number, where the ticket lives, the photos of it."""
    taken = photos.of_ticket(here.store.db, ticket.id)[:MOST_PHOTOS]
    shown = tuple(
        (_("Photo %(number)s", number=number), (here.store.photos / f"{photo.sha256}.jpg").read_bytes())
        for number, photo in enumerate(taken, 1)
    )
    return Job(book, quote, walkin, f"{ticket.number}-{revision}", url, shown, staff)


def pdf(job: Job, paper: str, language: str = "en") -> bytes:
    """The document as PDF. Raises PaperError with a sentence when it cannot be made."""
    with COUNTED.timing("pdf"):
        return render_quote_pdf(
            job.quote,
            job.book,
            job.walkin,
            number=job.number,
            staff=job.staff,
            url=job.url,
            paper=paper,
            language=language,
            photos=job.photos,
        )


def stored_pdf(here: Desk, frozen: FrozenQuote, ticket: Ticket, paper: str, url: str) -> bytes:
    """The file kept at freezing; for the other paper, printed once from the frozen quote and kept too."""
    first = here.store.quotes / frozen.pdf_file
    if paper in ("", PAPERS[0]):
        return first.read_bytes()
    other = first.with_name(f"{first.stem}-{paper}.pdf")
    if not other.exists():
        book, quote, walkin = here.book_of(frozen.book_digest), thaw(frozen.exact), from_json(frozen.walkin)
        job = job_of(here, book, quote, walkin, ticket, frozen.revision, url, frozen.staff)
        write_durably(other, pdf(job, paper))
    return other.read_bytes()
