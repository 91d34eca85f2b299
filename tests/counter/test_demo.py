"""The demo, as somebody sees it who starts the program for the first time."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from intake import demo


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that something else listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_the_demo_takes_a_walk_in_to_its_pdf(
    tmp_path: Path, taken: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    demo.run(None, once=True, port=taken)
    said = capsys.readouterr().out
    assert re.search(rf"Port {taken} is taken; using \d+\.", said)
    total = re.search(r"Put right: \$([\d,]+\.\d\d), ready \w+ \d+, \d{4}", said)
    assert total and float(total[1].replace(",", "")) > 0
    place = re.search(r"Quote as PDF: (.+)", said)
    assert place
    pdf = Path(place[1])
    assert pdf.parent == tmp_path / "demo-data"
    assert pdf.read_bytes().startswith(b"%PDF")


def test_a_refused_step_stops_the_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_: object) -> list[tuple[str, str]]:
        return [("relief", "eight")]

    monkeypatch.setattr(demo, "to_fields", wrong)
    with pytest.raises(RuntimeError, match="answered 422"):
        demo.run(tmp_path, once=True, port=0)
