"""The log, one JSON object a line. No line holds what a person typed, a path's keys or an address.

Of an exception only its kind and the places in the code are written: its words could quote an answer.
"""

from __future__ import annotations

import json
import logging
import sys
import traceback
from datetime import UTC, datetime
from types import TracebackType
from typing import Any

REQUEST = "intake.request"
OURS = "intake"


class JsonLines(logging.Formatter):
    """`at`, `level`, `from`, `says`; `fields` of the record, and of an error its kind and its `places`."""

    def format(self, record: logging.LogRecord) -> str:
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line: dict[str, Any] = {
            "at": at.replace("+00:00", "Z"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": record.getMessage(),
            **getattr(record, "fields", {}),
        }
        if record.exc_info and record.exc_info[0]:
            line["error"] = record.exc_info[0].__name__
            line["places"] = _places(record.exc_info[2])
        return json.dumps(line, ensure_ascii=False)


class PlainLines(logging.Formatter):
    """The same of an error for whoever sits at the terminal."""

    def format(self, record: logging.LogRecord) -> str:
        """Another handler may have left the error's whole text on the record."""
        before, record.exc_text = record.exc_text, None
        try:
            return super().format(record)
        finally:
            record.exc_text = before

    def formatException(self, ei: Any) -> str:
        return "\n".join([f"{ei[0].__name__ if ei[0] else 'error'} at", *_places(ei[2])])


def _places(where: TracebackType | None) -> list[str]:
    frames = traceback.extract_tb(where)
    return [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames]


def to_stderr() -> None:
    """JSON lines for whoever collects them; at a terminal only what is wrong, as plain text."""
    terminal = sys.stderr.isatty()
    handler = logging.StreamHandler()
    handler.setFormatter(PlainLines() if terminal else JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.getLogger(OURS).setLevel(logging.WARNING if terminal else logging.INFO)
