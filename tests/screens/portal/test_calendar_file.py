"""The calendar file, read back with other people's parser."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.services.calendar_file import LONGEST_LINE, ready_day

icalendar = pytest.importorskip("icalendar", reason="no icalendar, so calendar files are not read back")
WORDS = st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=200)


def made(**given: Any) -> bytes:
    usual: dict[str, Any] = {
        "uid": "ready-1", "day": date(2026, 12, 10), "made": datetime(2026, 11, 25, 15, tzinfo=UTC),
        "sequence": 1, "summary": "Ready", "place": "", "note": "",
    }  # fmt: skip
    return ready_day(**{**usual, **given})


@given(WORDS, WORDS, WORDS)
def test_any_words_come_back(summary: str, place: str, note: str) -> None:
    content = made(summary=summary or "x", place=place, note=note)
    assert all(len(line) <= LONGEST_LINE for line in content.split(b"\r\n"))
    (event,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert event["SUMMARY"] == (summary or "x")
    assert event.get("LOCATION", "") == place and event.get("DESCRIPTION", "") == note
    assert event["DTSTART"].dt == date(2026, 12, 10) and event["DTEND"].dt == date(2026, 12, 11)


def test_a_line_break_in_the_words_starts_no_new_property() -> None:
    content = made(summary="Ready\r\nATTENDEE:mailto:x@y.example\x0bZ")
    assert b"\r\nATTENDEE" not in content
    (event,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert "ATTENDEE" not in event and str(event["SUMMARY"]).startswith("Ready\nATTENDEE")


def test_the_customer_gets_the_day_agreed(customer: Any) -> None:
    assert customer.get("/ready.ics").status_code == 404
    customer.say_yes()
    answer = customer.get("/ready.ics")
    assert answer.mimetype == "text/calendar"
    (event,) = icalendar.Calendar.from_ical(answer.data).walk("VEVENT")
    assert event["DTSTART"].dt == date(2026, 12, 5)
    assert "Harbour Lane Strings" in event["SUMMARY"]
    (french,) = icalendar.Calendar.from_ical(customer.get("/ready.ics?lang=fr").data).walk("VEVENT")
    assert french["SUMMARY"] != event["SUMMARY"] and "instrument est prêt" in french["SUMMARY"]
    assert 'ready.ics?lang=fr"' in customer.get("?lang=fr").text
