"""Faults done on purpose, and what came of them: `python bench/faults.py [--times 200]` prints the table.

Run it as root to have small file systems made for the full and the read-only disk; else a limit on the size
of files stands in for the one, and the other is left out.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parent))
from faulty import crashes, crowds, disks, mail, statements, torn
from faulty.trial import Trial

OLDEST = Path(__file__).parents[1] / "tests/store/schemas/01-tickets_and_steps.sql"
Run = Callable[[Path], Trial]


def runs(times: int, mount: bool) -> Iterator[Run]:
    """Every fault, each in a folder of its own."""
    yield lambda at: crashes.saves(at, times, 1)
    yield lambda at: crashes.uploads(at, times, 2)
    yield lambda at: crashes.quotes(at, max(times // 4, 1), 3)
    yield lambda at: mail.sends(at, times, 10)
    yield lambda at: crashes.updates(at, times, 4, OLDEST)
    yield lambda at: crashes.backups(at, times, 5)
    yield lambda at: crashes.restores(at, times, 6)
    yield lambda at: torn.logs(at, times, 11)
    yield lambda at: disks.full(
        at, disks.short_files, max(times // 20, 1), "disk full (limit on the size of files)"
    )
    if mount:
        yield on_small_disk(
            lambda at: disks.full(at, disks.filled, max(times // 20, 1), "disk full (6 MB file system)")
        )
        yield on_small_disk(disks.read_only)
    yield disks.turned_read_only
    yield lambda at: disks.damaged_pages(at, times, 7)
    yield lambda at: disks.damaged_photos(at, times, 8)
    yield lambda at: disks.clock_jumps(at, max(times // 4, 1), 9)
    yield crowds.two_servers
    yield crowds.crowd
    yield crowds.too_large
    yield crowds.slow_clients
    for what in ("save", "upload", "quote"):
        yield lambda at, what=what: statements.every(at, what)  # type: ignore[misc]
        yield lambda at, what=what: statements.every(at, what, late=True)  # type: ignore[misc]


def on_small_disk(run: Run) -> Run:
    def mounted(at: Path) -> Trial:
        with disks.small_disk(at / "disk") as disk:
            return run(disk)

    return mounted


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200, help="how often the random ones are tried")
    times = parser.parse_args().times
    print("| fault | tries | lost | what the user saw |\n|---|---|---|---|")
    with TemporaryDirectory() as name:
        mount = disks.may_mount(Path(name) / "mount")
        for number, run in enumerate(runs(times, mount)):
            trial = run(Path(name) / str(number))
            print(f"| {trial.fault} | {trial.tries} | {trial.lost} | {trial.saw} |", flush=True)


if __name__ == "__main__":
    main()
