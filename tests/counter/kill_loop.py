"""Starts the app, saves without pause and is killed, over and over.

`kill_loop.py FOLDER TIMES SEED DEVICE SESSION`, the last two the cookies of somebody who is signed in.
Prints a line `key ticket revision relief` for every save that was answered. Every other child is killed
while it starts or soon after, the rest once they have saved. A process of its own, because it forks: the
children share one import of the program.
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


def save_for_ever(folder: Path, saved: int, device: str, session: str) -> None:
    """A ticket after the other, three revisions of a step each; a line for each answer, a byte to `saved`."""
    client = create_app(Settings(data=folder)).test_client()
    client.set_cookie("device", device)
    client.set_cookie("session", session)
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
                os.write(saved, b".")


def main(folder: Path, times: int, seed: int, device: str, session: str) -> None:
    chance = random.Random(seed)
    for turn in range(times):
        saved, child_saved = os.pipe()
        child = os.fork()
        if not child:
            save_for_ever(folder, child_saved, device, session)
        os.close(child_saved)
        if turn % 2:
            os.read(saved, 1)
        time.sleep(chance.random() * 0.2)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(saved)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), *sys.argv[4:])
