"""Every document passes outloud, a checker of PDF/UA-1 and of sense that is not ours."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from outloud import check
from PIL import Image

from intake.book.model import Book
from intake.paper import DocumentOptions, bench_html, press, receipt_html, render_quote_pdf, tag_html
from intake.quoting.model import Quote, Walkin

Case = tuple[Quote, Walkin]
URL = "https://shop.example/t/0192f0c1-7d2e-7a51-8b6f"
DAY = date(2026, 11, 25)
USUAL = DocumentOptions("1042", URL, "Ada")


def picture() -> bytes:
    body = io.BytesIO()
    Image.new("RGB", (400, 300), "tan").save(body, "JPEG")
    return body.getvalue()


def a_quote(case: Case, book: Book, language: str) -> bytes:
    photos = [("Open crack", picture())]
    return render_quote_pdf(case[0], book, case[1], replace(USUAL, language=language, photos=photos))


def a_bench_sheet(case: Case, book: Book, language: str) -> bytes:
    return press().render(bench_html(case[0], book, case[1], replace(USUAL, staff="", language=language)))


def a_receipt(case: Case, book: Book, language: str) -> bytes:
    pins = [{"part": "top", "kind": "crack", "state": "open", "size": "5 in"}]
    walkin = Walkin({**case[1].answers, "pins": pins}, frozenset({"neck"}))
    photos = [("Open crack", picture())]
    return press().render(receipt_html(book, walkin, DAY, replace(USUAL, language=language, photos=photos)))


def a_tag(case: Case, book: Book, language: str) -> bytes:
    return press().render(tag_html(book, case[1], DAY, replace(USUAL, language=language)))


DOCUMENTS = (a_quote, a_bench_sheet, a_receipt, a_tag)


@pytest.mark.parametrize("document", DOCUMENTS)
@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("case", ["simple", "full"])
def test_nothing_is_found(
    document: Callable[[Case, Book, str], bytes],
    language: str,
    case: str,
    book: Book,
    request: pytest.FixtureRequest,
    tmp_path: Path,
) -> None:
    file = tmp_path / "document.pdf"
    file.write_bytes(document(request.getfixturevalue(case), book, language))
    result = check(str(file))
    assert [str(each) for each in result.findings if each.severity in ("error", "warning")] == []
    assert result.errors == 0 and result.verdict == "pass"


def test_the_checker_would_find_something(tmp_path: Path) -> None:
    """A page without title and tags does not pass, so passing says something."""
    from weasyprint import HTML

    file = tmp_path / "bare.pdf"
    HTML(string="<p>No title, no tags").write_pdf(file)
    assert check(str(file)).errors
