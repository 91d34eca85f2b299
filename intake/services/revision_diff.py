"""What a revision says differently from an earlier one, in words."""

from __future__ import annotations

from sqlite_utils import Database

from intake.book.model import Book
from intake.book.text import Text
from intake.quoting.compare import differences
from intake.quoting.model import Quote
from intake.quoting.serialise import loads
from intake.store import decisions, links, quotes


def since(db: Database, ticket: str, earlier: int, quote: Quote, book: Book) -> tuple[Text, ...]:
    """Sentences on what differs from that revision; none without it. `book` is that of the quote."""
    frozen = quotes.find(db, ticket, earlier)
    return differences(loads(frozen.exact), quote, book) if frozen else ()


def last_handed_out(db: Database, ticket: str, before: int) -> int:
    """The last revision before that one which the customer has had, by link or at the counter; 0 for none."""
    had = [link.revision for link in links.of_ticket(db, ticket)]
    had += [answer.revision for answer in decisions.of_ticket(db, ticket)]
    return max((revision for revision in had if revision < before), default=0)
