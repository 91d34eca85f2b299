"""The sender's process killed in the middle: what may have gone is not sent again, what waits is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

SCRIPT = Path(__file__).with_name("one_sender.py")


@pytest.mark.parametrize(
    ("fault", "state", "took"), [({"DATA": "stall"}, "unsure", 1), ({"RCPT": "stall"}, "sent", 1)]
)
def test_kill(office: Any, serve: Any, wait_until: Any, fault: dict[str, str], state: str, took: int) -> None:
    box = serve(fault)
    id = office.put()
    command = [sys.executable, str(SCRIPT), str(office.store.folder), str(box.port)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    try:
        wait_until(lambda: next(iter(fault)) in box.said)
    finally:
        process.kill()
        process.wait()
    box.does.clear()
    sender = office.sender(box)
    sender.start()
    wait_until(lambda: office.mail(id).state == state)
    sender.stop()
    assert len(box.took) == took


def test_killed_between_the_servers_yes_and_the_note_of_it(office: Any, serve: Any, wait_until: Any) -> None:
    """The worst moment: the server has said that it took the message, and nothing here knows."""
    box = serve()
    id = office.put()
    command = [sys.executable, str(SCRIPT), str(office.store.folder), str(box.port), "forgetful"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    said = [process.stdout.readline().strip() for _ in range(2)]
    process.kill()
    process.wait()
    process.stdout.close()
    assert said == ["started", "taken"] or said == ["taken", "started"]
    assert office.mail(id).state == "sending" and len(box.took) == 1
    sender = office.sender(box)
    sender.start()
    wait_until(lambda: office.mail(id).state == "unsure")
    assert not sender.send_next()
    sender.stop()
    assert len(box.took) == 1
