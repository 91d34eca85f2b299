"""Mail that waits to be sent. A row is written in the transaction that says "sent"; the sender does the rest.

States: waiting → sending → sent, refused or unsure; sent → returned, when a person read that it came back.
A row is `sending` from before the message's first byte until the server's answer: what was cut off between
the two may have gone, and only a person sends it again.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlite_utils import Database

from intake.i18n import N_, _
from intake.store import sql
from intake.store.timestamps import stamp

FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=1)
GIVEN_UP = timedelta(days=4)
"""How long a message is tried: RFC 5321, section 4.5.4.1, asks for at least four to five days."""


LABELS = {
    "waiting": N_("waits to be sent"),
    "sending": N_("is being sent"),
    "sent": N_("the mail server took it"),
    "refused": N_("was refused"),
    "unsure": N_("may have gone: the line broke before the answer"),
    "stopped": N_("stopped"),
    "returned": N_("came back"),
}
AGAIN = ("refused", "unsure", "returned")
CAME_BACK = ("sent", "unsure")
STOPPED = ("waiting", "unsure")
"""The states from which a person may have it sent again, say that it came back, or stop it."""


@dataclass(frozen=True)
class Mail:
    """`address` is where the links of this shop begin, `note` words of the shop, `said` the server's last."""

    id: int
    ticket: str
    revision: int
    message_id: str
    recipient: str
    language: str
    address: str
    note: str
    state: str
    attempts: int
    due: str
    created: str
    changed: str
    said: str
    link: int

    @property
    def state_label(self) -> str:
        return _(LABELS.get(self.state, self.state))

    @property
    def may_go_again(self) -> bool:
        return self.state in AGAIN

    @property
    def may_have_come_back(self) -> bool:
        return self.state in CAME_BACK

    @property
    def may_be_stopped(self) -> bool:
        return self.state in STOPPED


def put(
    db: Database,
    ticket: str,
    revision: int,
    *,
    recipient: str,
    language: str,
    address: str,
    domain: str,
    now: datetime,
    note: str = "",
) -> int:
    """Queue a message; its Message-ID is made once and stays, however often it is tried."""
    row = {
        "ticket": ticket,
        "revision": revision,
        "message_id": f"<{secrets.token_hex(16)}@{domain}>",
        "recipient": recipient,
        "language": language,
        "address": address,
        "note": note,
        "state": "waiting",
        "attempts": 0,
        "due": stamp(now),
        "created": stamp(now),
        "changed": stamp(now),
        "said": "",
        "link": 0,
    }
    return sql.insert(db, "outbox", row)


def find(db: Database, id: int) -> Mail | None:
    """One message."""
    return next((Mail(**row) for row in sql.select(db, "outbox", "id = ?", [id])), None)


def of_ticket(db: Database, ticket: str) -> list[Mail]:
    """A ticket's messages, oldest first."""
    return [Mail(**row) for row in sql.select(db, "outbox", "ticket = ?", [ticket], order_by="id")]


def waiting_for(db: Database, ticket: str, revision: int, recipient: str) -> Mail | None:
    """A message to the same address that is still to go: a second tap queues no second one."""
    where = "ticket = ? and revision = ? and recipient = ? and state in ('waiting', 'sending')"
    rows = sql.select(db, "outbox", where, [ticket, revision, recipient])
    return next((Mail(**row) for row in rows), None)


def due(db: Database, now: datetime) -> Mail | None:
    """The message that has been due longest."""
    rows = sql.select(db, "outbox", "state = 'waiting' and due <= ?", [stamp(now)], order_by="due", limit=1)
    return next((Mail(**row) for row in rows), None)


def start(db: Database, mail: Mail, link: int, now: datetime) -> bool:
    """Mark it as being sent; false if another sender was quicker or somebody stopped it."""
    done = db.execute(
        "update outbox set state = 'sending', link = ?, attempts = attempts + 1, changed = ?"
        " where id = ? and state = 'waiting'",
        [link, stamp(now), mail.id],
    )
    return done.rowcount == 1


def finish(db: Database, id: int, state: str, said: str, now: datetime) -> None:
    """What became of it: sent, refused or unsure. One that was erased meanwhile stays so."""
    sql = "update outbox set state = ?, said = ?, changed = ? where id = ?"
    db.execute(sql, [state, said[:500], stamp(now), id])


def later(db: Database, id: int, said: str, now: datetime, *, counted: bool) -> bool:
    """Try again after a wait that doubles; false once four days are over, and nothing is changed then.
    `counted`: the attempt stands already."""
    mail = find(db, id)
    if mail is None or stamp(now - GIVEN_UP) > mail.created:
        return False
    attempts = mail.attempts + (not counted)
    sql.update(
        db,
        "outbox",
        id,
        {
            "state": "waiting",
            "attempts": attempts,
            "due": stamp(now + wait_after(attempts)),
            "said": said[:500],
            "changed": stamp(now),
        },
    )
    return True


def wait_after(attempts: int) -> timedelta:
    """1 minute, 2, 4 … up to an hour."""
    return min(FIRST_WAIT * 2 ** min(max(attempts - 1, 0), 20), LONGEST_WAIT)


def left_behind(db: Database) -> list[Mail]:
    """After a start: what was being sent when the program ended, and may have gone."""
    return [Mail(**row) for row in sql.select(db, "outbox", "state = 'sending'")]


def again(db: Database, ticket: str, id: int, now: datetime) -> bool:
    """A person wants what was refused, is unsure or came back to be sent again, under the same Message-ID."""
    done = db.execute(
        "update outbox set state = 'waiting', attempts = 0, due = ?, created = ?, changed = ?"
        " where id = ? and ticket = ? and state in (?, ?, ?)",
        [stamp(now), stamp(now), stamp(now), id, ticket, *AGAIN],
    )
    return done.rowcount == 1


def returned(db: Database, ticket: str, id: int, now: datetime) -> bool:
    """A person found in the shop's mailbox that the message could not be delivered after all."""
    done = db.execute(
        "update outbox set state = 'returned', changed = ? where id = ? and ticket = ? and state in (?, ?)",
        [stamp(now), id, ticket, *CAME_BACK],
    )
    return done.rowcount == 1


def stop(db: Database, ticket: str, id: int, now: datetime) -> bool:
    """A person takes back what has not gone yet, or settles what may have gone."""
    done = db.execute(
        "update outbox set state = 'stopped', changed = ? where id = ? and ticket = ? and state in (?, ?)",
        [stamp(now), id, ticket, *STOPPED],
    )
    return done.rowcount == 1


def next_due(db: Database) -> str:
    """When the next waiting message is due, as a stamp; empty if none waits."""
    (found,) = db.execute("select coalesce(min(due), '') from outbox where state = 'waiting'").fetchone()
    return str(found)
