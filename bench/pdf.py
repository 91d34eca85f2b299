"""How long the documents take to become PDF, beside a bare WeasyPrint page and Chromium.

    python bench/pdf.py [--rounds 15]

Prints medians over warm rounds, taken in turns, for each of three quotes: the page alone (view and
template), the whole quote through the worker (as the product does it), a bare WeasyPrint page with the same
words on the same number of pages (nothing of ours: no style, tags, tables or drawings; in a process of its
own, as ours is), the same HTML given to WeasyPrint as its manual says (no worker of ours, no tags and no
attachment; in that same process), and Chromium printing the same HTML with the same style and fonts, in one
warm browser and as a command started for the print. Then the other documents of the middle one.
"""

from __future__ import annotations

import argparse
import base64
import io
import re
import shutil
import statistics
import subprocess
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import ExitStack
from datetime import date
from html import escape
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright
from pypdf import PdfReader
from weasyprint import HTML

from intake.book.files.load import load_book
from intake.book.model import Book
from intake.paper import (
    DocumentOptions,
    bench_html,
    press,
    quote_html,
    receipt_html,
    render_quote_pdf,
    tag_html,
)
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "pricing_demo"
WALKINS = ("01-plain-restring", "03-old-flat-top-neck-reset", "162-old-flat-top-everything")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
BESIDE = (
    "bare WeasyPrint page with the same words",
    "the same HTML straight through WeasyPrint",
    "Chromium, warm",
    "Chromium, started for the print",
)
DAY = date(2026, 11, 25)
DETAILS = DocumentOptions("1042", "https://shop.example/t/0192f0c1-7d2e-7a51-8b6f", "Ada")


def medians_ms(works: Sequence[Callable[[], object]], rounds: int) -> list[float]:
    """Median of each in milliseconds, in turns, so that a busy moment of the machine meets all alike; the
    first round does not count."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(rounds + 1):
        for work, taken in zip(works, times, strict=True):
            start = time.perf_counter()
            work()
            taken.append((time.perf_counter() - start) * 1000)
    return [statistics.median(taken[1:]) for taken in times]


def bare_page(pdf: bytes) -> str:
    """The words of a PDF line by line, page by page, with no style but the page breaks."""
    pages = [page.extract_text().splitlines() for page in PdfReader(io.BytesIO(pdf)).pages]
    body = '<p style="break-before: page">'.join("<br>".join(map(escape, lines)) for lines in pages)
    return (
        f'<html lang="en"><title>x</title><style>@page{{size:letter}}body{{font-size:9pt}}</style><p>{body}'
    )


def print_plain(html: str) -> bytes:
    """What WeasyPrint itself does for a page."""
    return bytes(HTML(string=html).write_pdf())


def for_chromium(html: str) -> str:
    """The same page with style and fonts inside, since a browser knows no `tallyfret:` addresses."""

    def inside(found: re.Match[str]) -> str:
        data = base64.b64encode((ROOT / "static" / found[1]).read_bytes()).decode()
        return f"url(data:font/woff2;base64,{data})"

    style = re.sub(r"url\(tallyfret:/([^)]+)\)", inside, (ROOT / "static/css/paper.css").read_text("utf-8"))
    return html.replace("</head>", f"<style>{style}</style></head>")


def start_chromium(page: Path, pdf: Path) -> None:
    """One print by a browser that is started for it, as from a shell."""
    command = [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run([*command, f"--print-to-pdf={pdf}", page.as_uri()], check=True, capture_output=True)


def measure_quote(
    name: str,
    case: tuple[Quote, Walkin],
    book: Book,
    page: object,
    other: Executor,
    folder: Path,
    rounds: int,
) -> None:
    quote, walkin = case
    html = quote_html(quote, book, walkin, DETAILS)
    pdf = render_quote_pdf(quote, book, walkin, DETAILS)
    printed, bare = for_chromium(html), bare_page(pdf)
    pages = len(PdfReader(io.BytesIO(pdf)).pages)

    def chromium() -> bytes:
        page.set_content(printed)  # type: ignore[attr-defined]
        return page.pdf(prefer_css_page_size=True, tagged=True, outline=True)  # type: ignore[attr-defined]

    file = folder / "quote.html"
    file.write_text(printed, "utf-8")
    view, whole, *beside = medians_ms(
        [
            lambda: quote_html(quote, book, walkin, DETAILS),
            lambda: render_quote_pdf(quote, book, walkin, DETAILS),
            lambda: other.submit(print_plain, bare).result(),
            lambda: other.submit(print_plain, printed).result(),
            chromium,
            lambda: start_chromium(file, folder / "quote.pdf"),
        ],
        rounds,
    )
    print(f"{name:<28} {pages} pages, {len(pdf) / 1000:.0f} kB: HTML {view:.0f} ms, quote {whole:.0f} ms")
    for what, taken in zip(BESIDE, beside, strict=True):
        print(f"    {what:<45} {taken:5.0f} ms (x {whole / taken:.2f})")


def measure_others(case: tuple[Quote, Walkin], book: Book, rounds: int) -> None:
    quote, walkin = case
    for name, work in (
        ("bench sheet", lambda: press().render(bench_html(quote, book, walkin, DETAILS))),
        ("receipt", lambda: press().render(receipt_html(book, walkin, DAY, DETAILS))),
        ("tag", lambda: press().render(tag_html(book, walkin, DAY, DETAILS))),
    ):
        print(f"{name:<28} {medians_ms([work], rounds)[0]:5.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    book = load_book(DEMO)
    walkins = [load_walkin(DEMO / "walkins" / f"{name}.toml") for name in WALKINS]
    cases = [(make_quote(book, walkin, DAY), walkin) for walkin in walkins]
    start = time.perf_counter()
    render_quote_pdf(cases[0][0], book, cases[0][1], DETAILS)
    print(f"cold start, first quote  {(time.perf_counter() - start) * 1000:6.0f} ms")
    with ExitStack() as stack:
        browser = stack.enter_context(sync_playwright()).chromium.launch(executable_path=CHROMIUM)
        page = browser.new_page()
        folder = Path(stack.enter_context(TemporaryDirectory()))
        other = stack.enter_context(ProcessPoolExecutor(1, get_context("spawn")))
        for name, case in zip(WALKINS, cases, strict=True):
            measure_quote(name, case, book, page, other, folder, rounds)
        browser.close()
    measure_others(cases[1], book, rounds)


if __name__ == "__main__":
    main()
