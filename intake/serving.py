"""Serve the counter with waitress, on this machine only."""

from __future__ import annotations

import errno
import socket
from collections.abc import Callable
from pathlib import Path

from flask import Flask
from waitress.server import BaseWSGIServer, create_server

from intake.app import LARGEST_REQUEST, create_app
from intake.config import Settings

HOST = "127.0.0.1"
THREADS = 8
WHY = "Only this machine can reach it: staff cannot log in yet, so nobody else on the network may."


class PortTaken(OSError):
    """Something else listens there, or may not be listened to; the message is one sentence."""


def serve_app(data: Path, book: Path, port: int, say: Callable[[str], object]) -> None:
    """Serve until interrupted. Port 0 takes any free one. Raises BookError, PortTaken."""
    server = listen(create_app(Settings(data=data, book=book)), port)
    say(f"Tallyfret is at http://{HOST}:{server.effective_port}/ and keeps its data in {data}.")
    say(WHY)
    say("Ctrl+C stops it.")
    server.run()


def listen(app: Flask, port: int) -> BaseWSGIServer:
    """A server that listens on that port and does not answer yet. Raises PortTaken."""
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((HOST, port))
    except OSError as error:
        bound.close()
        if error.errno in (errno.EADDRINUSE, errno.EACCES):
            raise PortTaken(f"Port {port} is taken by another program; choose one with --port.") from error
        raise
    return create_server(
        app, sockets=[bound], threads=THREADS, ident="", max_request_body_size=LARGEST_REQUEST
    )
