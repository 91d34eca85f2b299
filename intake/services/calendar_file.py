"""The ready day as a calendar file: iCalendar, RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

LONGEST_LINE = 75
"""Octets of a line without its break: RFC 5545, section 3.1."""


def ready_day(
    *, uid: str, day: date, made: datetime, sequence: int, summary: str, place: str, note: str, url: str = ""
) -> bytes:
    """An all-day event. The same `uid` with a higher `sequence` takes the place of the earlier one."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Tallyfret//Ready day//EN",
        "METHOD:PUBLISH",
        "BEGIN:VEVENT",
        f"UID:{_escaped(uid)}",
        f"DTSTAMP:{made.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{sequence}",
        f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_escaped(summary)}",
        *([f"LOCATION:{_escaped(place)}"] if place else []),
        *([f"DESCRIPTION:{_escaped(note)}"] if note else []),
        *([f"URL:{url}"] if url else []),
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
        "END:VCALENDAR",
    ]
    return b"".join(_folded(line) for line in lines)


def _escaped(text: str) -> str:
    """RFC 5545, section 3.3.11; a control character would end the line or the file."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, "\\" + sign)
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(sign for sign in text if sign >= " " and sign != "\x7f")


def _folded(line: str) -> bytes:
    """Lines of at most 75 octets, never broken inside a character."""
    rows, room = [b""], LONGEST_LINE
    for sign in line:
        written = sign.encode()
        if len(rows[-1]) + len(written) > room:
            rows.append(b"")
            room = LONGEST_LINE - 1
        rows[-1] += written
    return b"\r\n ".join(rows) + b"\r\n"
