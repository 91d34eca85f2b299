"""What costs much is bounded, and the rest of the shop goes on (ASVS 2.4.1, 15.2.2)."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image

from intake.paper import DocumentOptions
from intake.screens.access import sign_in
from intake.server.uvicorn_server import THREADS
from intake.services import documents, images
from intake.services.bounded_work import BoundedWork, OverloadedError, SingleFlight

WAIT = 60


def until(true: Callable[[], object]) -> None:
    end = time.monotonic() + WAIT
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


@contextmanager
def full(work: BoundedWork) -> Iterator[None]:
    """Every place of that work is taken, the running ones by blocks that last as long as this one."""
    done, threads = threading.Event(), ThreadPoolExecutor(work.most)

    def occupy() -> None:
        with work.turn():
            done.wait(WAIT)

    for _ in range(work.most):
        threads.submit(occupy)
    until(lambda: not work._places._value)
    try:
        yield
    finally:
        done.set()
        threads.shutdown()


def test_threads_are_left_for_everything_else() -> None:
    costly = (
        images.DECODING,
        documents.PRINTING,
        documents.FLIGHTS,
        sign_in.HASHING,
        sign_in.HASHING_OF_STRANGERS,
    )
    assert sum(work.most for work in costly) <= THREADS - 4


def test_a_document_that_many_ask_for_is_printed_once(site: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight at once: one prints, some wait, the rest are asked to come again; the board answers meanwhile."""
    begun, go_on, printed = threading.Event(), threading.Event(), []

    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        printed.append(options.paper)
        begun.set()
        go_on.wait(WAIT)
        return b"%PDF-1.7 once"

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    address = f"/tickets/{site.here.ticket}/quotes/1.pdf?paper=a4"
    with ThreadPoolExecutor(8) as threads:
        asked = [threads.submit(lambda: site.client("counter").get(address)) for _ in range(8)]
        assert begun.wait(WAIT)
        until(lambda: sum(one.done() for one in asked) == 2)
        assert site.client("counter").get("/").status_code == 200
        go_on.set()
        answers = [one.result(WAIT) for one in asked]

    assert printed == ["a4"]
    assert sorted(answer.status_code for answer in answers) == [200] * 6 + [503] * 2
    assert all(answer.data == b"%PDF-1.7 once" for answer in answers if answer.status_code == 200)
    assert all(answer.headers["Retry-After"] for answer in answers if answer.status_code == 503)


def test_a_photo_too_many_is_asked_for_again(site: Any) -> None:
    target = io.BytesIO()
    Image.new("RGB", (40, 30)).save(target, "JPEG")

    def send() -> Any:
        sent = {"photo": (io.BytesIO(target.getvalue()), "x.jpg")}
        key = {"Idempotency-Key": str(uuid4())}
        return site.client("counter").post(f"/tickets/{site.here.ticket}/photos", data=sent, headers=key)

    with full(images.DECODING):
        refused = send()

    assert (refused.status_code, "Saved-Key" in refused.headers) == (503, False)
    assert refused.headers["Retry-After"] and "try again" in refused.text
    assert send().status_code == 200


def test_sign_ins_without_end_do_not_take_every_core(site: Any) -> None:
    """Whatever the name, so that nothing is learnt from it."""
    nobody = {"environ_base": {"REMOTE_ADDR": "198.51.100.7"}}
    with full(sign_in.HASHING_OF_STRANGERS):
        answers = [
            site.client("nobody").post("/signin/owner", data={"name": name, "password": "x" * 12}, **nobody)
            for name in ("Somebody owner", "Nobody")
        ]

        here = site.client("nobody").post("/signin/owner", data={"name": "Nobody", "password": "x" * 12})

    assert [answer.status_code for answer in answers] == [503, 503]
    assert here.status_code == 401, "this machine and the shop's phones have turns of their own"


def test_a_try_that_finds_no_turn_counts_for_nothing(site: Any) -> None:
    form, counted = (
        {"name": "Somebody owner", "password": "x" * 12},
        "select kind, about, count from attempts",
    )
    before = site.ctx.store.db.execute(counted).fetchall()
    with full(sign_in.HASHING):
        answers = [site.client("nobody").post("/signin/owner", data=form) for _ in range(3)]

    assert [answer.status_code for answer in answers] == [503] * 3
    assert site.ctx.store.db.execute(counted).fetchall() == before


def test_a_turn_is_given_back_whatever_happens() -> None:
    work = BoundedWork(running=1, waiting=0)
    for _ in range(3):
        with pytest.raises(ZeroDivisionError), work.turn():
            _ = 1 / 0

    with work.turn(), pytest.raises(OverloadedError), work.turn():
        pytest.fail("two at once")


def test_an_error_reaches_everybody_who_waited_and_the_next_one_tries_anew() -> None:
    flight: SingleFlight[int] = SingleFlight(waiting=3)
    begun, go_on = threading.Event(), threading.Event()

    def fail() -> int:
        begun.set()
        go_on.wait(WAIT)
        raise ValueError("no")

    with ThreadPoolExecutor(3) as threads, ExitStack() as stack:
        stack.callback(go_on.set)
        first = threads.submit(flight.run, "a", fail)
        assert begun.wait(WAIT)
        others = [threads.submit(flight.run, "a", lambda: 2) for _ in range(2)]
        until(lambda: flight._places._value == 1)
        assert flight.run("b", lambda: 3) == 3
        go_on.set()
        assert [type(one.exception(WAIT)) for one in (first, *others)] == [ValueError] * 3

    assert flight.run("a", lambda: 4) == 4
