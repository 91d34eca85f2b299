"""What the page before saving takes over the last 50 quotes: `python bench/effect.py`.

Fifty tickets are quoted from the demo's walk-ins; then the labour rate is changed, and the page is asked for.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from intake.app import open_context
from intake.config import Settings, demo_book
from intake.quoting.effect import effect
from intake.quoting.walkin import load_walkin
from intake.screens.book_editor.validation import validate
from intake.services.current_book import load_files
from intake.store.books import read_folder

QUOTES = 50
RUNS = 5


def main() -> None:
    paths = sorted((demo_book() / "walkins").glob("*.toml"))
    walkins = {str(at): load_walkin(paths[at % len(paths)]) for at in range(QUOTES)}
    with tempfile.TemporaryDirectory() as data:
        old = open_context(Settings(Path(data))).book
    new = replace(old, shop=replace(old.shop, labour_rate=Decimal(90)))
    files = read_folder(demo_book())
    tell("load", lambda at: load_files(files))
    tell("load and check", lambda at: validate(files | {"README.md": str(at).encode()}, old))
    tell(f"effect on {QUOTES} quotes", lambda at: effect(old, new, walkins, datetime.now(UTC).date()))


def tell(what: str, run: Callable[[int], object]) -> None:
    taken = []
    for at in range(RUNS):
        began = time.perf_counter()
        run(at)
        taken.append(time.perf_counter() - began)
    middle, low, high = statistics.median(taken), min(taken), max(taken)
    print(f"{what}: {middle:.2f} s (median of {RUNS}; {low:.2f} to {high:.2f})")


if __name__ == "__main__":
    main()
