"""How long a quote takes, stage by stage: `python bench/quote.py` prints medians in milliseconds.

It takes the demo shop's walk-in with the most answers; loading the book is measured too, once a start.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from statistics import median
from time import perf_counter
from typing import Any

from intake.book.answers import read_answers
from intake.book.files.load import load_book
from intake.config import demo_book
from intake.quoting.assess import assess, find, known_facts
from intake.quoting.plan import make_plan
from intake.quoting.quote import cost_jobs, make_quote, quote_assessment
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin
from intake.trade.registry import compute_readings

TODAY = date(2026, 11, 24)
ROUNDS = 200
GOAL = 10.0


def milliseconds(call: Callable[[], Any], rounds: int = ROUNDS) -> float:
    """The median of that many calls, after one that fills the caches."""
    call()
    times = []
    for _ in range(rounds):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return median(times) * 1000


def main() -> None:
    book = load_book(demo_book())
    walkins = [load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))]
    walkin = max(walkins, key=lambda each: len(each.answers))
    values = read_answers(book, walkin.answers).values
    facts = known_facts(book, values)
    given = {**facts, **book.beside}
    assessment = assess(book, walkin)
    plan = make_plan(assessment, book)
    quote = quote_assessment(book, assessment, TODAY)
    stages: dict[str, Callable[[], Any]] = {
        "answers": lambda: read_answers(book, walkin.answers),
        "targets, defaults": lambda: known_facts(book, values),
        "readings": lambda: compute_readings(given),
        "findings": lambda: find(book, dict(assessment.facts)),
        "plan": lambda: make_plan(assessment, book),
        "hours, job prices": lambda: cost_jobs(plan, assessment.facts, book),
        "plan to quote": lambda: quote_assessment(book, assessment, TODAY),
        "JSON": lambda: quote_json(quote),
        "all: make_quote": lambda: make_quote(book, walkin, TODAY),
    }
    print(f"{walkin.title}: {len(walkin.answers)} answers, {len(assessment.findings)} findings, "
          f"{len(quote.jobs)} jobs; {ROUNDS} rounds")  # fmt: skip
    print(f"{'stage':<20}{'median, ms':>12}")
    print(f"{'load the book':<20}{milliseconds(lambda: load_book(demo_book()), 5):>12.2f}")
    for name, call in stages.items():
        print(f"{name:<20}{milliseconds(call):>12.2f}")
    print(f"goal for make_quote: under {GOAL:.0f} ms")


if __name__ == "__main__":
    main()
