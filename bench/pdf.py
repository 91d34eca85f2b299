"""How long a quote takes to become a PDF, against a bare WeasyPrint page in the same process.

    python bench/pdf.py [--rounds 15]

Prints medians over warm rounds: the page alone (view and template), the whole quote through the worker
(as the product does it), and one line of text through WeasyPrint with nothing of ours.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from weasyprint import HTML

from intake.book.load import load_book
from intake.paper import quote_html, render_quote_pdf
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin

DEMO = Path(__file__).resolve().parent.parent / "pricing_demo"
WALKINS = ("01-plain-restring", "03-old-flat-top-neck-reset", "06-dried-out")
DETAILS = {"number": "1042", "staff": "Ada", "url": "https://shop.example/t/0192f0c1-7d2e-7a51-8b6f"}
BARE = '<html lang="en"><title>x</title><p>One line of text.</p></html>'


def median_ms(work: Callable[[], object], rounds: int) -> float:
    """Median of `rounds` runs in milliseconds, after one that does not count."""
    times = []
    for _ in range(rounds + 1):
        start = time.perf_counter()
        work()
        times.append((time.perf_counter() - start) * 1000)
    return statistics.median(times[1:])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    book = load_book(DEMO)
    start = time.perf_counter()
    for name in WALKINS:
        walkin = load_walkin(DEMO / "walkins" / f"{name}.toml")
        quote = make_quote(book, walkin, date(2026, 11, 25))
        pdf = render_quote_pdf(quote, book, walkin, **DETAILS)
        if name == WALKINS[0]:
            print(f"cold start, first quote  {(time.perf_counter() - start) * 1000:6.0f} ms")
        page = median_ms(lambda q=quote, w=walkin: quote_html(q, book, w, **DETAILS), rounds)
        whole = median_ms(lambda q=quote, w=walkin: render_quote_pdf(q, book, w, **DETAILS), rounds)
        print(f"{name:<28} page {page:5.0f} ms, quote {whole:5.0f} ms, {len(pdf) / 1000:.0f} kB")
    bare = median_ms(lambda: HTML(string=BARE).write_pdf(), rounds)
    print(f"{'bare WeasyPrint page':<28} {bare:5.0f} ms")


if __name__ == "__main__":
    main()
