"""Documents on paper: what the counter asks of `intake.paper`, and what is kept of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from babel import Locale

from intake.book.model import Book, Shop
from intake.config import data_root
from intake.i18n import _
from intake.operations.metrics import PDF_SECONDS
from intake.paper import DocumentOptions, press, render_quote_pdf
from intake.paper.worker import WORKERS
from intake.quoting.model import Quote, Walkin
from intake.quoting.serialise import loads
from intake.services.bounded_work import BoundedWork, SingleFlight
from intake.services.context import Context
from intake.services.erasure import refuse_erased
from intake.services.errors import GoneError
from intake.services.walkins import as_json, from_json
from intake.store import photos
from intake.store.files import write_durably
from intake.store.quotes import FrozenQuote
from intake.store.tickets import Ticket

PAPERS = ("letter", "a4")
MOST_PHOTOS = 6
PRINTING = BoundedWork(running=WORKERS, waiting=2)
FLIGHTS: SingleFlight[bytes] = SingleFlight(waiting=5)
"""A document that several ask for at once is printed once."""
# Where letter is the usual paper, else A4: CLDR, supplemental data, paperSize "US-Letter"; from memory.
LETTER = frozenset(["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"])


def first_paper(shop: Shop) -> str:
    """The paper that the shop's country prints on."""
    return "letter" if Locale.parse(shop.locale).territory in LETTER else "a4"


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
    ctx: Context,
    book: Book,
    quote: Quote,
    walkin: Walkin,
    ticket: Ticket,
    revision: int,
    url: str,
    staff: str,
) -> Job:
    """What the document says besides the quote: its number, where the ticket lives, the photos of it."""
    return Job(book, quote, walkin, f"{ticket.number}-{revision}", url, photographs(ctx, ticket.id), staff)


def photographs(ctx: Context, ticket: str) -> tuple[tuple[str, bytes], ...]:
    """Captions and bytes of the ticket's first photos; one that is lost holds up no document."""
    taken = photos.shown(ctx.store.db, ticket)[:MOST_PHOTOS]
    files = [(number, ctx.store.photos / f"{photo.sha256}.jpg") for number, photo in enumerate(taken, 1)]
    return tuple(
        (_("Photo {number}", number=number), file.read_bytes()) for number, file in files if file.is_file()
    )


def pdf(job: Job, paper: str, language: str = "en") -> bytes:
    """The document as PDF. Raises PaperError with a sentence when it cannot be made, and OverloadedError."""
    options = DocumentOptions(job.number, job.url, job.staff, paper, language, job.photos)
    with PRINTING.turn(), PDF_SECONDS.time():
        return render_quote_pdf(job.quote, job.book, job.walkin, options)


def first_pdf(job: Job) -> bytes:
    """The document that is kept when a quote is frozen: the shop's first language, its country's paper."""
    shop = job.book.shop
    same = (job.number, job.staff, job.book.digest, as_json(job.walkin), job.quote.discount)
    return FLIGHTS.run(same, lambda: pdf(job, first_paper(shop), shop.languages[0]))


def stored_pdf(
    ctx: Context, frozen: FrozenQuote, ticket: Ticket, paper: str, url: str, language: str = ""
) -> bytes:
    """The file kept at freezing; in another language or on the other paper, printed once from the frozen
    quote and kept too. Empty words mean the first ones."""
    book = ctx.book_of(frozen.book_digest)
    usual = (first_paper(book.shop), book.shop.languages[0])
    wanted = (paper or usual[0], language or usual[1])
    first = ctx.store.quotes / frozen.pdf_file
    if wanted == usual:
        return first.read_bytes()
    code = "" if url else "-no-code"
    other = first.with_name(f"{first.stem}-{wanted[1]}-{wanted[0]}{code}.pdf")
    if other.exists():
        return other.read_bytes()

    def make() -> bytes:
        quote, walkin = loads(frozen.exact), from_json(frozen.walkin)
        job = job_of(ctx, book, quote, walkin, ticket, frozen.revision, url, frozen.staff)
        content = pdf(job, *wanted)
        _keep(ctx, ticket, other, content)
        return content

    return FLIGHTS.run(other, make)


def printed(ctx: Context, ticket: Ticket, what: str, html: str) -> bytes:
    """The page as PDF; the same page is printed once. What it said before is not kept.

    `what` names the document among the ticket's, its paper included. Raises PaperError and OverloadedError.
    """
    digest = hashlib.sha256(_style() + html.encode()).hexdigest()[:32]
    kept = copies(ctx, ticket.number) / f"{what}-{digest}.pdf"
    if kept.exists():
        return kept.read_bytes()
    return FLIGHTS.run(kept, lambda: _print_anew(ctx, ticket, kept, what, html))


def _print_anew(ctx: Context, ticket: Ticket, kept: Path, what: str, html: str) -> bytes:
    with PRINTING.turn(), PDF_SECONDS.time():
        content = press().render(html)
    kept.parent.mkdir(parents=True, exist_ok=True)
    for old in kept.parent.glob(f"{what}-*.pdf"):
        old.unlink(missing_ok=True)
    _keep(ctx, ticket, kept, content)
    return content


def _keep(ctx: Context, ticket: Ticket, file: Path, content: bytes) -> None:
    """Keep the document, unless the customer was erased while it was being printed.

    Erasing looks for files after its rows are gone, so that one of the two sees what the other did.
    """
    write_durably(file, content)
    try:
        refuse_erased(ctx.store.db, ticket.id)
    except GoneError:
        file.unlink(missing_ok=True)
        raise


def copies(ctx: Context, number: int) -> Path:
    """Where a ticket's bench sheet, tag and receipt are kept: copies that can be printed again."""
    return ctx.store.folder / "printed" / str(number)


@lru_cache
def _style() -> bytes:
    return (data_root() / "static" / "css" / "paper.css").read_bytes()
