"""The outbox against a real SMTP server that refuses, stalls, drops the line and delivers twice."""

from __future__ import annotations

import threading
from datetime import timedelta
from typing import Any

import pytest

from intake.store import events, links, outbox
from intake.store.outbox import GIVEN_UP, LONGEST_WAIT

STALLED = 5.0
"""Seconds of silence after which a server that never answers is given up: all else is answered by then."""


def test_the_message_arrives_whole(office: Any, serve: Any) -> None:
    box = serve()
    id = office.put()
    assert office.sender(box).send_next()
    (message,) = box.messages
    assert office.mail(id).state == "sent"
    assert message["Message-ID"] == office.mail(id).message_id
    assert message["To"] == "rose@home.example" and "Corner Bench" in message["From"]
    text = message.get_body(("plain",)).get_content()
    assert "\n.a line that begins with a dot" in text.replace("\r\n", "\n")
    html = message.get_body(("html",)).get_content()
    (pdf,) = message.iter_attachments()
    assert (pdf.get_content_type(), pdf.get_filename()) == ("application/pdf", "quote-1-1.pdf")
    assert pdf.get_content() == b"%PDF-1.7 \r\n.\r\n " + bytes(range(256))
    token = text.split("/q/")[1].split()[0]
    assert token in html
    link = links.find(office.store.db, token)
    assert link and link.id == office.mail(id).link


def test_nothing_is_sent_twice(office: Any, serve: Any) -> None:
    box = serve()
    office.put()
    sender = office.sender(box)
    assert sender.send_next() and not sender.send_next()
    assert len(box.took) == 1


def test_what_a_server_delivers_twice_is_one_message(office: Any, serve: Any) -> None:
    """One row, one link and one Message-ID, by which a mail program knows the second copy."""
    box = serve({"DATA": "twice"})
    id = office.put()
    sender = office.sender(box)
    assert sender.send_next() and not sender.send_next()
    first, second = box.messages
    assert first["Message-ID"] == second["Message-ID"] == office.mail(id).message_id
    assert box.took[0] == box.took[1] and office.mail(id).state == "sent"
    assert len(links.of_ticket(office.store.db, "t")) == 1


@pytest.mark.parametrize("command", ["MAIL", "RCPT", "DATA"])
def test_a_refusal_stands_on_the_ticket(office: Any, serve: Any, command: str) -> None:
    box = serve({command: "550 5.1.1 Nobody of that name"})
    id = office.put()
    office.sender(box).send_next()
    mail = office.mail(id)
    assert (mail.state, mail.said) == ("refused", "550 5.1.1 Nobody of that name")
    assert events.of_ticket(office.store.db, "t")[-1]["what"] == "mail refused"
    assert links.of_ticket(office.store.db, "t") == []


@pytest.mark.parametrize("command", ["MAIL", "RCPT", "DATA"])
def test_not_now_is_tried_again_later_and_later(office: Any, serve: Any, command: str) -> None:
    box = serve({command: "451 4.7.1 Come back"})
    id = office.put()
    sender = office.sender(box)
    waits = []
    for attempt in range(1, 9):
        assert sender.send_next()
        mail = office.mail(id)
        assert (mail.state, mail.attempts) == ("waiting", attempt)
        assert not sender.send_next()
        waits.append(outbox.wait_after(attempt))
        office.clock.move(seconds=waits[-1].total_seconds())
    assert waits == sorted(waits) and waits[1] == 2 * waits[0] and waits[-1] == LONGEST_WAIT
    box.does.clear()
    sender.send_next()
    assert office.mail(id).state == "sent" and len(box.took) == 1
    assert len(links.of_ticket(office.store.db, "t")) == 1


def test_it_is_given_up_after_days(office: Any, serve: Any) -> None:
    box = serve({"RCPT": "450 full"})
    id = office.put()
    office.clock.move(seconds=(GIVEN_UP + timedelta(hours=1)).total_seconds())
    office.sender(box).send_next()
    assert office.mail(id).state == "refused"
    kinds = "select what from events where ticket = 't' and what like 'mail %'"
    assert [what for (what,) in office.store.db.execute(kinds)] == ["mail refused"]


def test_a_server_that_is_away_costs_nothing(office: Any, serve: Any) -> None:
    box = serve()
    box.port = 1
    id = office.put()
    office.sender(box).send_next()
    assert office.mail(id).state == "waiting"


@pytest.mark.parametrize("command", ["MAIL", "RCPT"])
@pytest.mark.parametrize("fault", ["drop", pytest.param("stall", marks=pytest.mark.deep)])
def test_trouble_before_the_message_is_tried_again(office: Any, serve: Any, command: str, fault: str) -> None:
    box = serve({command: fault})
    id = office.put()
    office.sender(box, silence=STALLED if fault == "stall" else 60.0).send_next()
    assert office.mail(id).state == "waiting"
    box.does.clear()
    office.clock.move(minutes=5)
    office.sender(box).send_next()
    assert office.mail(id).state == "sent" and len(box.took) == 1


@pytest.mark.parametrize("fault", ["drop", "stall"])
def test_trouble_after_the_message_asks_a_person(office: Any, serve: Any, fault: str) -> None:
    """The server has it but its answer never comes: a person sends it again, under the same Message-ID."""
    box = serve({"DATA": fault})
    id = office.put()
    sender = office.sender(box, silence=STALLED if fault == "stall" else 60.0)
    sender.send_next()
    assert office.mail(id).state == "unsure" and len(box.took) == 1
    office.clock.move(days=1)
    assert not sender.send_next()
    box.does.clear()
    with office.store.writing() as db:
        assert outbox.again(db, "t", id, office.clock())
    sender.send_next()
    assert office.mail(id).state == "sent"
    first, second = box.messages
    assert first["Message-ID"] == second["Message-ID"]


def test_a_start_after_a_crash_sends_nothing_that_may_have_gone(office: Any, serve: Any) -> None:
    box = serve()
    crashed, waiting = office.put(), office.put("max@home.example")
    with office.store.writing() as db:
        outbox.start(db, office.mail(crashed), 0, office.clock())
    sender = office.sender(box)
    done = threading.Event()
    finish = sender._finish
    sender._finish = lambda *given: (finish(*given), done.set())  # type: ignore[method-assign]
    sender.start()
    assert done.wait(120)
    sender.stop()
    assert office.mail(crashed).state == "unsure"
    assert office.mail(waiting).state == "sent"
    assert [message["To"] for message in box.messages] == ["max@home.example"]


def test_two_senders_send_a_message_once(office: Any, serve: Any) -> None:
    box = serve()
    for number in range(5):
        office.put(f"c{number}@home.example")
    senders = [office.sender(box) for _ in range(3)]

    def run(sender: Any) -> None:
        while sender.send_next():
            pass
        office.store.close()

    threads = [threading.Thread(target=run, args=[sender]) for sender in senders]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(message["To"] for message in box.messages) == [f"c{n}@home.example" for n in range(5)]


def test_one_bad_message_holds_up_no_other(office: Any, serve: Any) -> None:
    box = serve()
    first = office.put("not an address")
    second = office.put()
    sender = office.sender(box)
    write = sender._write
    third = office.put("third@home.example")

    def fail(mail: Any, token: str) -> Any:
        if mail.id == third:
            raise RuntimeError("planted")
        return write(mail, token)

    sender._write = fail
    while sender.send_next():
        pass
    states = [office.mail(id).state for id in (first, second, third)]
    assert states == ["refused", "sent", "waiting"]


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_tls_with_a_login(office: Any, serve: Any, certificate: Any, security: str) -> None:
    authority, context = certificate
    box = serve(tls=security, context=context)
    id = office.put()
    more = {"security": security, "user": "bench", "authority": str(authority)}
    sender = office.sender(box, password="correct horse battery", **more)
    sender.send_next()
    assert office.mail(id).state == "sent", office.mail(id).said


def test_a_wrong_login_is_said_without_the_password(
    office: Any, serve: Any, certificate: Any, caplog: Any
) -> None:
    authority, context = certificate
    box = serve(tls="starttls", context=context)
    id = office.put()
    sender = office.sender(
        box, security="starttls", user="bench", password="hunter2secret", authority=str(authority)
    )
    caplog.set_level(0)
    sender.send_next()
    assert office.mail(id).state == "waiting" and "login" in office.mail(id).said
    assert "hunter2secret" not in office.mail(id).said + caplog.text + repr(sender.settings)


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_a_certificate_that_nobody_vouches_for_gets_no_login(
    office: Any, serve: Any, certificate: Any, security: str
) -> None:
    _, context = certificate
    box = serve(tls=security, context=context)
    id = office.put()
    office.sender(box, security=security, user="bench", password="x").send_next()
    assert office.mail(id).state == "waiting" and box.said == []


def test_a_server_without_tls_gets_no_mail(office: Any, serve: Any) -> None:
    box = serve()
    id = office.put()
    office.sender(box, security="starttls").send_next()
    assert office.mail(id).state == "waiting" and box.said == []
