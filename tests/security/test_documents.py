"""What is printed fetches nothing from network or disk, and prints hostile words as words."""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from datetime import date
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from pypdf import PdfReader

from intake.config import demo_book
from intake.paper import DocumentOptions, bench_html, press, receipt_html, render_quote_pdf, tag_html
from intake.quoting.model import Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

TODAY = date(2026, 11, 25)


class Asked(list[str]):
    """What was asked of a server on this machine, which is at `url`."""

    url = ""


@pytest.fixture
def asked() -> Iterator[Asked]:
    asked = Asked()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

        def log_message(self, *_: object) -> None:
            return

    server = HTTPServer(("127.0.0.1", 0), Handler)
    asked.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield asked
    server.shutdown()
    thread.join()
    server.server_close()


def hostile(asked: Asked, secret: Path) -> tuple[str, ...]:
    return (
        f"<img src={asked.url}/img>",
        f"<img src='{secret.as_uri()}'>",
        f"</style><style>@import url({asked.url}/css);*{{background:url({asked.url}/bg)}}</style>",
        f"<link rel=attachment href='{secret.as_uri()}'>",
        f"<svg><image href='{asked.url}/svg'/></svg>",
        f'" style="background:url({asked.url}/attr)" x="',
        f"<object data='{asked.url}/object'></object><iframe src='{asked.url}/frame'></iframe>",
        "<script>fetch('/x')</script>{{7*7}}{% include '/etc/passwd' %}",
    )


def walkin_with(words: str) -> Walkin:
    """A sample walk-in whose every field of words says that."""
    (path,) = (demo_book() / "walkins").glob("03-*.toml")
    taken, book = load_walkin(path), sample_book()
    answers = dict(taken.answers)
    for id, question in book.questions.items():
        if question.kind == "words":
            answers[id] = words
    return Walkin(**{**vars(taken), "answers": answers})


def document(kind: str, words: str) -> bytes:
    """That document of the walk-in, with the words as the staff's name too."""
    book, taken = sample_book(), walkin_with(words)
    quote = make_quote(book, taken, TODAY)
    assert not quote.assessment.problems
    options = DocumentOptions("7-1", "https://shop.example/7", words[:60])
    if kind == "quote":
        return render_quote_pdf(quote, book, taken, options)
    if kind == "bench sheet":
        return press().render(bench_html(quote, book, taken, options))
    if kind == "tag":
        return press().render(tag_html(book, taken, TODAY, options))
    return press().render(receipt_html(book, taken, TODAY, options))


@pytest.mark.parametrize("kind", ["quote", "bench sheet", "tag", "receipt"])
def test_hostile_words_ask_nobody_for_anything_and_are_printed(
    asked: Asked, tmp_path: Path, kind: str
) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("TOP-SECRET-WORDS")
    pdf = document(kind, " ".join(hostile(asked, secret)))
    assert asked == []
    pages = PdfReader(io.BytesIO(pdf)).pages
    text = "".join("".join(page.extract_text() for page in pages).split())
    assert "TOP-SECRET-WORDS" not in text and b"TOP-SECRET-WORDS" not in pdf
    assert "<img" in text, "the words are printed as words"
    with pytest.raises(HTTPError):
        urlopen(asked.url + "/probe")
    assert asked == ["/probe"], "or the test could not fail"
