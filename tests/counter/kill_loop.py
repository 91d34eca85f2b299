"""Starts the app, saves without pause and is killed, over and over: `kill_loop.py FOLDER TIMES SEED`.

Prints a line `key ticket revision relief` for every save that was answered. A process of its own,
because it forks: the children share one import of the program.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path
from uuid import uuid4

from intake.app import create_app
from intake.config import Settings


def save_for_ever(folder: Path) -> None:
    """A ticket after the other, three revisions of a step each; a line for each answer."""
    client = create_app(Settings(data=folder)).test_client()
    while True:
        ticket = str(uuid4())
        for revision in (1, 2, 3):
            key, relief = str(uuid4()), f"0.00{revision} in"
            form = {"relief": relief, "based_on": str(revision - 1)}
            answer = client.post(
                f"/tickets/{ticket}/steps/neck", data=form, headers={"Idempotency-Key": key, "Device": "d"}
            )
            if answer.status_code == 200 and answer.headers["Saved-Key"] == key:
                os.write(1, f"{key} {ticket} {revision} {relief}\n".encode())


def main(folder: Path, times: int, seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(times):
        child = os.fork()
        if not child:
            save_for_ever(folder)
        time.sleep(0.1 + chance.random() * 0.15)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
