"""The sender: a thread that takes what waits in the outbox to the mail server, one message at a time."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from intake.mail.letter import AddressError, Letter, build
from intake.mail.settings import MailSettings
from intake.mail.smtp import RefusedError, RetryLaterError, StoppedError, UnsureError, deliver
from intake.store import events, links, outbox, tickets
from intake.store.db import Store
from intake.store.outbox import Mail
from intake.store.ticket_state import TicketState

log = logging.getLogger(__name__)
LONGEST_SLEEP = 60.0
AFTER_TROUBLE = 10.0


@dataclass(frozen=True)
class Timing:
    """Seconds: of silence before a server is given up, and for a whole message."""

    silence: float = 30.0
    deadline: float = 300.0


class Sender:
    """`write` makes the letter of a message for a link's token, `expires` says how long that link holds.

    Start it once; `wake` it after something was put.
    """

    def __init__(
        self,
        store: Store,
        settings: MailSettings,
        now: Callable[[], datetime],
        write: Callable[[Mail, str], Letter | None],
        expires: Callable[[Mail], datetime | None],
        timing: Timing | None = None,
    ) -> None:
        self.store, self.settings, self.now = store, settings, now
        self._write, self._expires, self._timing = write, expires, timing or Timing()
        self._woken, self._ending = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin; what another run left half sent is not sent again by itself."""
        left = outbox.left_behind(self.store.db)
        for mail in left:
            self._finish(mail, "unsure", "The program ended while it was being sent.")
        if left:
            log.warning("post: %d messages may have gone or not; a person decides", len(left))
        self._thread = threading.Thread(target=self._run, name="post", daemon=True)
        self._thread.start()

    def wake(self) -> None:
        self._woken.set()

    def stop(self) -> None:
        """End after the message under way."""
        self._ending.set()
        self._woken.set()
        if self._thread:
            self._thread.join()

    def _run(self) -> None:
        while not self._ending.is_set():
            self._woken.clear()
            try:
                while not self._ending.is_set() and self.send_next():
                    pass
                pause = self._pause()
            except Exception:
                log.exception("post: trouble with the outbox")
                pause = AFTER_TROUBLE
            self._woken.wait(pause)
        self.store.close()

    def _pause(self) -> float:
        due = outbox.next_due(self.store.db)
        if not due:
            return LONGEST_SLEEP
        ahead = datetime.fromisoformat(due) - self.now()
        return min(max(ahead / timedelta(seconds=1), 0.05), LONGEST_SLEEP)

    def send_next(self) -> bool:
        """Try the message that is due; false if none is."""
        mail = outbox.due(self.store.db, self.now())
        if mail is None:
            return False
        self._send(mail)
        return True

    def _send(self, mail: Mail) -> None:
        """A link is made for each attempt and kept only as a hash; one that was not sent is dropped."""
        until = self._expires(mail)
        if until is None:
            self._finish(mail, "refused", "The quote is past its day, or a newer one stands.")
            return
        with self.store.writing() as db:
            link, token = links.make(db, mail.ticket, mail.revision, until.date(), mail.language, self.now())
        begun = False

        def may_go() -> bool:
            nonlocal begun
            with self.store.writing() as db:
                begun = outbox.start(db, mail, link, self.now())
            return begun

        sent = False
        try:
            letter = self._write(mail, token)
            if letter is None:
                raise RefusedError("The quote is no longer here.")
            timing = self._timing
            said = deliver(
                self.settings, build(letter), mail.recipient, may_go,
                silence=timing.silence, deadline=timing.deadline,
            )  # fmt: skip
            sent = True
            self._finish(mail, "sent", said)
        except AddressError:
            self._finish(mail, "refused", "This is not an address that mail can go to.")
        except RefusedError as error:
            self._finish(mail, "refused", str(error))
        except UnsureError as error:
            sent = True
            self._finish(mail, "unsure", str(error))
        except RetryLaterError as error:
            self._later(mail, str(error), counted=begun)
        except StoppedError:
            log.info("post: message %d is somebody else's now", mail.id)
        except Exception:
            log.exception("post: message %d", mail.id)
            sent = begun
            self._after_our_fault(mail, begun)
        finally:
            if not sent:
                with self.store.writing() as db:
                    links.drop(db, link)

    def _after_our_fault(self, mail: Mail, begun: bool) -> None:
        """A fault of this program holds up no other message."""
        words = "This program failed while it sent the message."
        if begun:
            self._finish(mail, "unsure", words)
            return
        self._later(mail, words, counted=False)

    def _later(self, mail: Mail, said: str, *, counted: bool) -> None:
        with self.store.writing() as db:
            again = outbox.later(db, mail.id, said, self.now(), counted=counted)
        if not again:
            self._finish(mail, "refused", said)

    def _finish(self, mail: Mail, state: str, said: str) -> None:
        now = self.now()
        with self.store.writing() as db:
            outbox.finish(db, mail.id, state, said, now)
            events.record(db, f"mail {state}", now, ticket=mail.ticket, revision=mail.revision)
            found = tickets.find(db, mail.ticket)
            shown = TicketState.SENT if state == "sent" else TicketState.UNSENT
            if found and found.state in (TicketState.SENT, TicketState.UNSENT) and found.state != shown:
                tickets.change(db, mail.ticket, now, state=shown)
