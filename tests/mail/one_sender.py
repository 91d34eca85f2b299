"""A sender in a process of its own, to be killed: `python one_sender.py DATA PORT [forgetful]`.

The forgetful one never comes to write down that the server took the message.
"""

from __future__ import annotations

import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from intake.mail.letter import Letter
from intake.mail.sender import Sender
from intake.mail.settings import MailSettings
from intake.store.db import Store
from intake.store.outbox import Mail


def write(mail: Mail, token: str) -> Letter:
    now = datetime(2026, 11, 25, tzinfo=UTC)
    return Letter(
        mail.message_id, "bench@shop.example", "Bench", mail.recipient, "Quote", token, "<p></p>", "en", now
    )


def now() -> datetime:
    return datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


store = Store(Path(sys.argv[1]))
settings = MailSettings("127.0.0.1", int(sys.argv[2]), "none", "bench@shop.example")
sender = Sender(store, settings, now, write, lambda mail: now() + timedelta(days=30))
if "forgetful" in sys.argv:
    sender._finish = lambda *_: (print("taken", flush=True), time.sleep(60))  # type: ignore[method-assign]
sender.start()
print("started", flush=True)
time.sleep(60)
