"""Faults done on purpose, and what came of them: `python bench/faults.py [--times 200]` prints the table.

Run it as root to have small file systems made for the full and the read-only disk; else a limit on the size
of files stands in for the one, and the other is left out.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parent))
from faulty import crashes, crowds, disks, mail, statements, torn, walks
from faulty.trial import Trial
from faulty.walk.plants import PLANTS

OLDEST = Path(__file__).parents[1] / "tests/store/schemas/01-tickets_and_steps.sql"
Run = Callable[[Path], Trial]


def runs(times: int, mount: bool, seed: int = 12, until_lost: bool = False) -> Iterator[tuple[str, Run]]:
    """Every fault with a name for `--only`, each in a folder of its own."""
    yield "saves", lambda at: crashes.saves(at, times, 1)
    yield "uploads", lambda at: crashes.uploads(at, times, 2)
    yield "quotes", lambda at: crashes.quotes(at, max(times // 4, 1), 3)
    yield "sends", lambda at: mail.sends(at, times, 10)
    yield "updates", lambda at: crashes.updates(at, times, 4, OLDEST)
    yield "backups", lambda at: crashes.backups(at, times, 5)
    yield "restores", lambda at: crashes.restores(at, times, 6)
    yield "log", lambda at: torn.logs(at, times, 11)
    few = max(times // 20, 1)
    yield "full", lambda at: disks.full(at, disks.short_files, few, "disk full (limit on the size of files)")
    if mount:
        full = on_small_disk(lambda at: disks.full(at, disks.filled, few, "disk full (6 MB file system)"))
        yield "full", full
        yield "read-only", on_small_disk(disks.read_only)
    yield "read-only", disks.turned_read_only
    yield "pages", lambda at: disks.damaged_pages(at, times, 7)
    yield "photos", lambda at: disks.damaged_photos(at, times, 8)
    yield "clock", lambda at: disks.clock_jumps(at, max(times // 4, 1), 9)
    yield "walks", lambda at: walks.walks(at, times, seed, until_lost=until_lost)
    yield "servers", crowds.two_servers
    yield "crowd", crowds.crowd
    yield "large", crowds.too_large
    yield "slow", crowds.slow_clients
    for what in ("save", "upload", "quote"):
        yield "statements", lambda at, what=what: statements.every(at, what)  # type: ignore[misc]
        yield "statements", lambda at, what=what: statements.every(at, what, late=True)  # type: ignore[misc]


def on_small_disk(run: Run) -> Run:
    def mounted(at: Path) -> Trial:
        with disks.small_disk(at / "disk") as disk:
            return run(disk)

    return mounted


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200, help="how often the random ones are tried")
    parser.add_argument("--only", help="the faults of one name: saves, sends, updates, log, full, crowd …")
    parser.add_argument("--seed", type=int, default=12, help="of the first walk; each has one of its own")
    parser.add_argument(
        "--until-lost", action="store_true", help="no walk after the first that loses something"
    )
    parser.add_argument("--plants", nargs="*", help="prove the walks: put these faults back, or all, in turn")
    given = parser.parse_args()
    print("| fault | tries | lost | what the user saw |\n|---|---|---|---|")
    with TemporaryDirectory() as name:
        if given.plants is not None:
            tell(prove(Path(name), given.plants, given.times, given.seed))
            return
        mount = disks.may_mount(Path(name) / "mount")
        wanted = runs(given.times, mount, given.seed, given.until_lost)
        tell(
            run(Path(name) / str(number))
            for number, (fault, run) in enumerate(wanted)
            if given.only in (None, fault)
        )


def prove(at: Path, numbers: list[str], times: int, seed: int) -> Iterator[Trial]:
    """The walks with each of these planted faults; all of them where none is named."""
    for plant in PLANTS:
        if not numbers or plant.number in numbers:
            yield walks.proved(at / plant.number, plant, times, seed)


def tell(trials: Iterable[Trial]) -> None:
    for trial in trials:
        print(f"| {trial.fault} | {trial.tries} | {trial.lost} | {trial.saw} |", flush=True)


if __name__ == "__main__":
    main()
