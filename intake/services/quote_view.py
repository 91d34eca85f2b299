"""One frozen quote as it is looked at, picked from and answered, by the customer or at the counter."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from sqlite_utils import Database

from intake.book.model import Book
from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper import labels
from intake.paper.formats import Formats
from intake.paper.ledger import JobView
from intake.paper.view import PrintedQuote, printed_quote
from intake.quoting.model import Offer, Quote, Walkin
from intake.quoting.notes import share_note
from intake.quoting.phrases import phrase
from intake.quoting.selection import Menu, Selection
from intake.quoting.serialise import loads
from intake.services.commitments import bookings
from intake.services.context import Context
from intake.services.revision_diff import last_handed_out, since
from intake.services.walkins import from_json
from intake.store import decisions as answers
from intake.store import quotes, tickets
from intake.store.decisions import Answer
from intake.store.quotes import FrozenQuote
from intake.store.tickets import Ticket


@dataclass(frozen=True)
class Row:
    """A job as it can be picked. `state`: in, out, needed (nobody picked it), within, instead (picked, and
    another does it) or replaced (a picked one would need it, and another does it)."""

    id: str
    name: str
    quantity: str
    price: str
    state: str
    why: tuple[str, ...]
    note: str
    forecast: str


@dataclass(frozen=True)
class Card:
    """An offer as a button. `ready`: with a yes today; `last`: with one by the last day, "" where that is the
    same. `chosen`: just these jobs are picked. `later`: than the quote first said."""

    tier: str
    name: str
    total: str
    tax: str
    ready: str
    last: str
    marked: bool
    chosen: bool
    later: bool


class QuoteView:
    """A revision with everything that its pages say of it, in one language."""

    def __init__(
        self, ctx: Context, db: Database, frozen: FrozenQuote, ticket: Ticket, language: str
    ) -> None:
        self.ctx, self.db, self.frozen, self.ticket, self.language = ctx, db, frozen, ticket, language
        self.quote: Quote = loads(frozen.exact)
        self.book: Book = ctx.book_of(frozen.book_digest)
        self.walkin: Walkin = from_json(frozen.walkin)
        shop = self.book.shop
        self.texts = translations(language)
        self.formats = Formats(
            locale_for(language, shop.locale), shop.locale, self.quote.currency, self.texts, shop.measures
        )
        self.menu = Menu(self.quote, self.book, ctx.today, bookings(db, ticket.id, self.book, ctx.wall))

    @classmethod
    def of(cls, ctx: Context, db: Database, ticket: str, revision: int, language: str) -> QuoteView | None:
        """The visit of that revision; None for one that does not stand."""
        frozen, found = quotes.find(db, ticket, revision), tickets.find(db, ticket)
        return cls(ctx, db, frozen, found, language) if frozen and found else None

    @property
    def number(self) -> str:
        return f"{self.ticket.number}-{self.frozen.revision}"

    @property
    def newest(self) -> bool:
        """False once a later revision stands: it asks anew."""
        last = quotes.latest(self.db, self.ticket.id)
        return last is not None and last.revision == self.frozen.revision

    @property
    def valid(self) -> bool:
        return self.ctx.today <= self.quote.valid_until

    @cached_property
    def sha256(self) -> str:
        """What a yes is bound to: the hash of the whole quote, exact."""
        return hashlib.sha256(self.frozen.exact.encode()).hexdigest()

    @cached_property
    def view(self) -> PrintedQuote:
        """The same words and drawings as on paper."""
        return printed_quote(self.quote, self.book, self.walkin, self.formats, self.language)

    @cached_property
    def changes(self) -> tuple[str, ...]:
        """What differs from the revision that the customer had before, in words; none for a first one."""
        ticket, revision = self.ticket.id, self.frozen.revision
        earlier = last_handed_out(self.db, ticket, revision)
        said = since(self.db, ticket, earlier, self.quote, self.book)
        return tuple(words.in_(self.language) for words in said)

    @cached_property
    def go_ahead(self) -> Answer | None:
        return answers.go_ahead(self.db, self.ticket.id, self.frozen.revision)

    @cached_property
    def answers(self) -> list[Answer]:
        """What was said about this revision, oldest first."""
        every = answers.of_ticket(self.db, self.ticket.id)
        return [answer for answer in every if answer.revision == self.frozen.revision]

    def picked(self) -> tuple[str, ...]:
        """What is chosen just now: as the customer left it, else what the shop would do."""
        chosen = answers.chosen(self.db, self.ticket.id, self.frozen.revision)
        if chosen is None:
            return self.quote.offers["put_right"].jobs
        return tuple(id for id in chosen if id in self.menu.jobs)

    def cards(self, selection: Selection) -> list[Card]:
        """The distinct offers, from the smallest to the fullest."""
        cards = []
        shown = self.quote.distinct_offers()
        for (offer, tiers), said in zip(shown, self.view.offers, strict=True):
            now = self.menu.select(offer.jobs).offer
            cards.append(
                Card(
                    tier=tiers[0],
                    name=said.name,
                    total=said.total,
                    tax=said.tax,
                    ready=self.formats.day(now.first_day) if now.jobs else "",
                    last=self.last_day(now),
                    marked="put_right" in tiers and len(shown) > 1,
                    chosen=frozenset(offer.jobs) == frozenset(selection.offer.jobs),
                    later=bool(now.jobs) and now.ready > offer.ready,
                )
            )
        return cards

    def rows(self, selection: Selection) -> list[Row]:
        """Every job that can be picked, and those that the picked ones bring with them, in bench order."""
        standing = set(selection.offer.jobs)
        brought = [id for id in selection.offer.jobs if id not in self.menu.jobs]
        return [self._row(id, selection, standing) for id in (*self.menu.jobs, *brought)]

    def _row(self, id: str, selection: Selection, standing: set[str]) -> Row:
        state, note = self._state(id, selection, standing)
        job, said = self.menu.jobs.get(id), self._printed.get(id)
        if job is None or said is None:
            name = self.book.jobs[id].name.in_(self.language)
            return Row(id, name, "", "", state, (), note, "")
        return Row(
            id=id,
            name=f"{said.number}. {said.name}",
            quantity=said.quantity,
            price=self.formats.money(job.price),
            state=state,
            why=(*said.reasons, said.as_for) if said.as_for else tuple(said.reasons),
            note=note,
            forecast=said.forecast,
        )

    @cached_property
    def _printed(self) -> dict[str, JobView]:
        """Each job as the paper prints it: numbered, a reason that several share said once."""
        shown = [job for job in self.quote.jobs if any(job.id in o.jobs for o in self.quote.offers.values())]
        return {job.id: said for job, said in zip(shown, self.view.jobs, strict=True)}

    def _state(self, id: str, selection: Selection, standing: set[str]) -> tuple[str, str]:
        _ = self.formats.gettext
        if id in selection.needed_by and id in standing:
            needers = self.names(selection.needed_by[id])
            return "needed", _("Needed for: {jobs}", jobs=needers) if needers else _("Goes with it")
        if id in selection.within:
            outer = self.names([selection.within[id]])
            return "within", _("Done within “{job}”, at no price of its own", job=outer)
        if id in selection.instead:
            stronger = self.names([selection.instead[id]])
            state = "instead" if id in selection.picked else "replaced"
            return state, _("“{job}” takes its place", job=stronger)
        if id in standing:
            return "in", ""
        first = [other for other in self.menu.jobs if other not in standing and other in self.menu.needs(id)]
        more = _("Needs first, and brings with it: {jobs}", jobs=self.names(first)) if first else ""
        return "out", more

    def leaving(self, id: str, selection: Selection) -> str:
        """What goes too when that job is dropped."""
        _, gone = self.menu.without(selection.picked, id)
        return self.names(gone)

    def names(self, ids: Iterable[str]) -> str:
        return ", ".join(labels.job(self.book, id, self.language) for id in ids)

    def sums(self, offer: Offer) -> list[tuple[str, str]]:
        """Jobs, the lines besides, as they add up to the total."""
        _, money = self.formats.gettext, self.formats.money
        jobs = offer.total - sum(line.amount for line in offer.lines)
        return [
            (_("Jobs"), money(jobs)),
            *((line.name.in_(self.language), money(line.amount)) for line in offer.lines),
        ]

    def last_day(self, offer: Offer) -> str:
        """When it is ready with a yes by the last day; "" where a yes today says the same."""
        return self.formats.day(offer.ready) if offer.jobs and offer.ready != offer.first_day else ""

    def share_words(self, offer: Offer) -> str:
        """Why an amount of discount is less than the shop gave: less is picked. "" where it is whole."""
        discount, whole = self.quote.discount, self.menu.whole
        if not offer.jobs or discount is None or not discount.amount or offer.before >= whole:
            return ""
        return share_note(discount, self.quote.currency).in_(self.language)

    def day_of(self, moment: str) -> str:
        """The day of a stored moment, at the counter."""
        return self.formats.day(datetime.fromisoformat(moment).astimezone().date())

    def time_of(self, moment: str) -> str:
        """The time of day of a stored moment, at the counter."""
        return self.formats.clock(datetime.fromisoformat(moment).astimezone())

    def tier_name(self, offer: Offer) -> str:
        """What the choice is called: the offer with just these jobs, else the customer's own choice."""
        shown = self.quote.distinct_offers()
        for other, tiers in shown:
            if frozenset(other.jobs) == frozenset(offer.jobs) and len(shown) == 1:
                return self.formats.gettext("The work")
            if frozenset(other.jobs) == frozenset(offer.jobs):
                return phrase("put_right" if "put_right" in tiers else tiers[-1]).in_(self.language)
        return self.formats.gettext("Your own choice")
