"""Serve the counter with waitress, on this machine only."""

from __future__ import annotations

import errno
from collections.abc import Callable
from pathlib import Path

from waitress import create_server

from intake.app import create_app
from intake.config import Settings

HOST = "127.0.0.1"
WHY = "Only this machine can reach it: staff cannot log in yet, so nobody else on the network may."


class PortTaken(OSError):
    """Something else listens there; the message is one sentence."""


def serve_app(data: Path, book: Path, port: int, say: Callable[[str], object]) -> None:
    """Serve until interrupted. Port 0 takes any free one. Raises BookError, PortTaken."""
    app = create_app(Settings(data=data, book=book))
    try:
        server = create_server(app, host=HOST, port=port, ident="tallyfret")
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise PortTaken(f"Port {port} is taken by another program; choose one with --port.") from error
        raise
    say(f"Tallyfret is at http://{HOST}:{server.effective_port}/ and keeps its data in {data}.")
    say(WHY)
    say("Ctrl+C stops it.")
    server.run()
