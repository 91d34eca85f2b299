"""What the shop holds about a customer: handed out whole, or erased down to what bookkeeping needs."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from intake.store import (
    decisions,
    edits,
    events,
    links,
    outbox,
    photos,
    quotes,
    scrubbing,
    search,
    sql,
    steps,
    tickets,
)
from intake.store.db import Store
from intake.store.ticket_state import TicketState
from intake.store.timestamps import stamp

KEPT = frozenset({"bookkeeping"})
SPELT_OUT = frozenset(
    {"answers", "bookkeeping", "clashes", "events", "links", "outbox", "photos", "quotes", "steps"}
)
READING = "data.json"


def find(db: Database, customer: str) -> list[str]:
    """Ids of a customer's tickets: by `#number`, else by exactly that name, telephone or mail address."""
    plain = " ".join(customer.split())
    if plain.startswith("#") and plain[1:].isascii() and plain[1:].isdigit():
        rows = sql.query(db, "select id from tickets where number = ?", [int(plain[1:])])
        return [row["id"] for row in rows]
    rows = sql.query(
        db, "select id, name, phone from tickets where state <> ? order by number", [TicketState.ERASED]
    )
    return [row["id"] for row in rows if _is(db, row, plain.casefold())]


def _is(db: Database, row: dict[str, Any], wanted: str) -> bool:
    typed = [row["name"], row["phone"], *_emails(db, row["id"])]
    return bool(wanted) and wanted in {" ".join(words.split()).casefold() for words in typed}


def _emails(db: Database, ticket: str) -> list[str]:
    """Every mail address that the ticket ever had."""
    given = [row.value for row in edits.of_part(db, ticket, "customer_email")]
    return [*given, *_emails_before(db, ticket)]


def _emails_before(db: Database, ticket: str) -> list[str]:
    """Those of entries from before there were edits."""
    entries = steps.history(db, ticket, "customer")
    return [words for entry in entries for name, words in entry.fields if name == "customer_email"]


def data_of(db: Database, ids: Sequence[str]) -> dict[str, Any]:
    """All that the store holds of those tickets, as JSON can hold it. Hashes of links' tokens stay out."""
    return {"tickets": [_ticket(db, id) for id in ids]}


def _ticket(db: Database, id: str) -> dict[str, Any]:
    found = tickets.find(db, id)
    return {
        "ticket": vars(found) if found else None,
        "entries": [
            {**vars(entry), "fields": [list(pair) for pair in entry.fields]} for entry in _entries(db, id)
        ],
        "clashes": [{**row, "fields": json.loads(row["fields"])} for row in _rows(db, "clashes", id)],
        "quotes": [
            {**row, **{name: json.loads(row[name]) for name in ("walkin", "quote", "exact")}}
            for row in _rows(db, "quotes", id)
        ],
        "photos": [vars(photo) for photo in photos.of_ticket(db, id)],
        "links": [_without(vars(link), "token_sha256") for link in links.of_ticket(db, id)],
        "answers": [vars(answer) for answer in decisions.of_ticket(db, id)],
        "mail": [vars(mail) for mail in outbox.of_ticket(db, id)],
        "events": events.of_ticket(db, id),
        "bookkeeping": _rows(db, "bookkeeping", id),
        **{name: _rows(db, name, id) for name in _tables(db) if name not in SPELT_OUT},
    }


def _entries(db: Database, id: str) -> Iterable[steps.Entry]:
    for row in sql.query(db, "select distinct step from steps where ticket = ? order by step", [id]):
        yield from steps.history(db, id, row["step"])


def _tables(db: Database) -> list[str]:
    """Every table that holds something of a ticket, also one that a later version adds."""
    return sorted(table.name for table in db.tables if "ticket" in table.columns_dict)


def _rows(db: Database, table: str, id: str) -> list[dict[str, Any]]:
    return sql.select(db, table, "ticket = ?", [id])


def _without(row: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key != name}


def export(store: Store, ids: Sequence[str]) -> bytes:
    """A zip: `data.json`, the photos as they are kept, the PDFs."""
    target = io.BytesIO()
    with store.reading() as db, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(READING, json.dumps(data_of(db, ids), ensure_ascii=False, indent=2))
        for id in ids:
            for photo in photos.of_ticket(db, id):
                path = store.photos / f"{photo.sha256}.jpg"
                if path.exists():
                    archive.write(path, f"photos/{photo.sha256}.jpg")
            for path in _pdfs(store, db, id):
                archive.write(path, f"quotes/{path.name}")
    return target.getvalue()


def _pdfs(store: Store, db: Database, id: str) -> list[Any]:
    """The kept PDFs of a ticket, on every paper, and what else was printed of it."""
    stems = {row["pdf_file"].removesuffix(".pdf") for row in _rows(db, "quotes", id)}
    found = {path for stem in stems if stem for path in store.quotes.glob(f"{stem}*.pdf")}
    ticket = tickets.find(db, id)
    return sorted(found | _printed(store, ticket.number) if ticket else found)


def _printed(store: Store, number: int) -> set[Path]:
    """What was printed of the ticket with that number, also what no row names."""
    copies = store.folder / "printed" / str(number)
    return {*store.quotes.glob(f"{number}-*.pdf"), *copies.glob("*.pdf")}


def erase(store: Store, ids: Sequence[str], now: datetime) -> bool:
    """Forget the customer of those tickets; numbers, totals and days stay as bookkeeping.

    Rows first, in one transaction, then the files: what is left after a crash in between, or was printed
    meanwhile, is found by the ticket's number. The database file is written anew, so that nothing erased
    stays readable in its free pages. False while somebody who reads the state from before still holds it in
    the log; it is emptied once they are gone.
    """
    with store.writing() as db:
        files = {path for id in ids for path in _pdfs(store, db, id)}
        shown = {photo.sha256 for id in ids for photo in photos.of_ticket(db, id)}
        numbers = [found.number for id in ids if (found := tickets.find(db, id))]
        for id in ids:
            _keep_books(db, id, now)
            _forget(db, id, now)
        search.forget(db)
        shared = {sha for sha in shown if photos.known(db, sha)}
    files |= {path for number in numbers for path in _printed(store, number)}
    for path in (*files, *(store.photos / f"{sha}.jpg" for sha in shown - shared)):
        path.unlink(missing_ok=True)
    done = scrubbing.begin(store)
    if not done:
        scrubbing.finish_later(store)
    return done


def _keep_books(db: Database, id: str, now: datetime) -> None:
    """One row for each quote: what was offered, what was agreed, when."""
    found = tickets.find(db, id)
    for row in _rows(db, "quotes", id):
        frozen = quotes.FrozenQuote(**row)
        quote = json.loads(frozen.quote)
        yes = decisions.go_ahead(db, id, frozen.revision)
        kept = ("total", "labour", "parts", "tax", "deposit", "ready")
        totals = {tier: {name: offer[name] for name in kept} for tier, offer in quote["offers"].items()}
        agreed = {"at": yes.at, "total": yes.total, "deposit": yes.deposit, "ready": yes.ready} if yes else {}
        row = {
            "ticket": id,
            "revision": frozen.revision,
            "number": found.number if found else 0,
            "made_at": frozen.made_at,
            "currency": quote["currency"],
            "totals": json.dumps(totals),
            "agreed": json.dumps(agreed),
            "erased_at": stamp(now),
        }
        sql.insert_new(db, "bookkeeping", row)


def _forget(db: Database, id: str, now: datetime) -> None:
    found = tickets.find(db, id)
    for table in _tables(db):
        if table not in KEPT:
            sql.delete(db, table, "ticket = ?", [id])
    if found:
        # Kept answers of saves, refused ones too, may repeat what was typed; a phone needs no more of them
        # than that they came.
        db.execute("update keys set body = x'' where created >= ?", [found.created])
    tickets.change(db, id, now, name="", phone="", family="", serial="", state=TicketState.ERASED)
    events.record(db, "customer erased", now, ticket=id)
