"""Forms: read in one place, and filled in again as they were typed."""

from __future__ import annotations

import re
from pathlib import Path

INTAKE = Path(__file__).resolve().parents[2] / "intake"
READS_A_BODY = re.compile(r"\brequest\.(form|values)\b")


def test_nothing_but_the_forms_reads_the_fields_of_a_body() -> None:
    files = sorted(INTAKE.rglob("*.py"))

    readers = [str(file.relative_to(INTAKE)) for file in files if READS_A_BODY.search(file.read_text())]

    assert readers == ["web/forms.py"]
