"""Messages between a worker and its parent: one line of JSON with `length`, then that many bytes."""

from __future__ import annotations

import json
from typing import IO, Any

OUT_OF_MEMORY = 73
"""With this exit status a worker says that a document asked for more memory than it may have."""


def read_message(stream: IO[bytes]) -> tuple[dict[str, Any], bytes] | None:
    """The next header and body; None at the end of the stream, or if it stops half-way."""
    line = stream.readline()
    if not line.endswith(b"\n"):
        return None
    header = json.loads(line)
    body = stream.read(header["length"])
    return (header, body) if len(body) == header["length"] else None


def write_message(stream: IO[bytes], header: dict[str, Any], body: bytes = b"") -> None:
    """Send one header line and its body."""
    stream.write(json.dumps({**header, "length": len(body)}).encode() + b"\n" + body)
    stream.flush()
