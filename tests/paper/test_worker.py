"""Rendering in child processes: limits, faults, threads and a clean end."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from pypdf import PdfReader

from intake.paper.errors import PangoMissingError, PaperError, TooSlowError
from intake.paper.worker import Press

ROOT = Path(__file__).resolve().parents[2]
PAGE = '<html lang="en"><title>x</title><p>hello</p></html>'
ENDLESS = '<html lang="en"><title>x</title><table>' + "<tr><td>row</td></tr>" * 20000


@pytest.fixture
def press() -> Iterator[Press]:
    press = Press()
    yield press
    press.close()


@pytest.fixture(scope="module")
def standing() -> Iterator[Press]:
    """One press for what does a worker no harm."""
    press = Press()
    yield press
    press.close()


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return "zombie" not in Path(f"/proc/{pid}/status").read_text() if Path("/proc").is_dir() else True


def test_one_worker_serves_again_and_again(press: Press) -> None:
    assert all(press.render(PAGE).startswith(b"%PDF-") for _ in range(3))
    assert len(press._all) == 1


@pytest.mark.parametrize(
    "page",
    [PAGE, PAGE.replace("hello", "hel\x07lo"), PAGE.replace("</p>", "<br>more")],
    ids=["XML", "bell", "HTML"],
)
def test_what_is_no_xml_is_printed_too(standing: Press, page: str) -> None:
    assert len(PdfReader(io.BytesIO(standing.render(page))).pages) == 1


def test_threads_share_two_workers(press: Press) -> None:
    with ThreadPoolExecutor(6) as threads:
        results = list(threads.map(press.render, [PAGE] * 12))
    assert all(result.startswith(b"%PDF-") for result in results)
    assert 1 <= len(press._all) <= 2


def test_a_document_that_takes_too_long_is_given_up(press: Press) -> None:
    press.warm()
    with pytest.raises(TooSlowError, match=r"0\.5 seconds"):
        press.render(ENDLESS, seconds=0.5)
    assert press.render(PAGE).startswith(b"%PDF-")


def test_a_fault_in_one_document_spares_the_next(standing: Press) -> None:
    with pytest.raises(PaperError, match="could not be made"):
        standing.render("<html lang=en><title>x</title>" + "<div>" * 3000)
    assert standing.render(PAGE).startswith(b"%PDF-")


def test_a_worker_that_died_is_replaced(press: Press) -> None:
    press.warm()
    (child,) = press._all
    child._process.kill()
    child._process.wait()
    assert press.render(PAGE).startswith(b"%PDF-")


@pytest.mark.deep
@pytest.mark.skipif(sys.platform != "linux", reason="only Linux enforces the limit")
def test_a_document_may_not_take_all_memory() -> None:
    press = Press(memory=330 << 20)
    try:
        with pytest.raises(PaperError, match="memory"):
            press.render(ENDLESS, seconds=60)
        assert press.render(PAGE).startswith(b"%PDF-")
    finally:
        press.close()


def test_missing_pango_is_said_with_the_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A WeasyPrint that fails as the real one does where Pango is not installed."""
    (tmp_path / "weasyprint.py").write_text("raise OSError(\"cannot load library 'libpango-1.0-0'\")")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(PangoMissingError, match=r"apt install libpango.*brew install pango"):
        Press().render(PAGE)


def test_close_leaves_no_process(press: Press) -> None:
    press.warm()
    (child,) = press._all
    press.close()
    assert not alive(child._process.pid)


@pytest.mark.parametrize(
    "ending",
    [
        "",
        pytest.param("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", marks=pytest.mark.deep),
        pytest.param("raise SystemExit(3)", marks=pytest.mark.deep),
    ],
)
def test_the_parents_end_is_the_workers_end(ending: str) -> None:
    """Also while a document is being made in another thread, and when the parent is killed."""
    script = f"""
import threading, time
from intake.paper.worker import press
press().render({PAGE!r})
print([child._process.pid for child in press()._all][0], flush=True)
threading.Thread(target=press().render, args=({PAGE!r} + "<p>word</p>" * 8000,), daemon=True).start()
time.sleep(0.2)
{ending}
"""
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    pid = int(done.stdout.split()[0])
    deadline = time.monotonic() + 120
    while alive(pid) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert not alive(pid)


@pytest.mark.skipif(not hasattr(os, "getpriority"), reason="POSIX")
def test_a_document_gives_way_to_whoever_saves(monkeypatch: pytest.MonkeyPatch) -> None:
    """The process that prints asks for less of the processor than the server's own."""
    own = Press(workers=1)
    own.warm()
    (child,) = own._idle

    priority = os.getpriority(os.PRIO_PROCESS, child._process.pid)

    own.close()
    assert priority > os.getpriority(os.PRIO_PROCESS, 0)
