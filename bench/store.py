"""How the store grows: `python bench/store.py [SIZE ...] [--keep FOLDER]` prints medians at each size.

The shop's own program in this process, with the demo shop's book. The tickets are put in with straight
inserts: the demo's walk-ins by turns, each under its own name, telephone and serial, one in twenty agreed
years ago, fifty of those promised from today on. Photos are not part of it. Milliseconds, files in the
system's cache as far as they fit; the last column is the last size's median over the first's.
"""

from __future__ import annotations

import argparse
import json
import random
import sqlite3
import sys
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from urllib.parse import urlencode
from uuid import UUID, uuid4

import badge

from intake.app import create_app
from intake.book.answers import to_fields
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.book.parts import from_pairs
from intake.config import Settings, demo_book
from intake.services.context import Context
from intake.store.backup.backup import back_up
from intake.store.db import Store
from intake.store.ids import uuid7
from intake.store.search import row_of, words_in
from intake.store.step_conversion import FIRST as FIRST_VERSION

SIZES = (1_000, 100_000, 1_000_000)
TURNS = 41
BATCH = 20_000
FIRST = ("Ines", "Zoë", "Noor", "Tomasz", "Avery", "Lior", "Maud", "Kwame", "Sanna", "Yusuf")
LAST = ("Falk", "Lundé", "Okoro", "Brandt", "Skow", "Varga", "Ibsen", "Moreau", "Tanaka", "Quill")
NAMESAKES = 99_991
START = datetime(2000, 1, 1, 9, tzinfo=UTC)
AGREED, PROMISED, HOURS = 20, 50, Fraction(3, 2)
BOOKED = "insert into bench (ticket, day, seconds, ready) values (?, ?, ?, ?)"
TICKETS = """insert into tickets (id, number, created, updated, name, phone, family, serial, state, language,
    total, currency, ready) values (?, ?, ?, ?, ?, ?, ?, ?, ?, 'en', '480.00', 'USD', '2010-05-04')"""
EDITS = """insert into edits (at, id, ticket, part, value, base, by, act, log, seq, fate, same_as, why, who,
    phone, device, taken_at)
    values (?, ?, ?, ?, ?, '', 'hand', '', '', 0, 'stands', '', '', '', '', 'bench', ?)"""
PARTS = """insert into parts (ticket, part, value, by, heads, sides, first, at)
    values (?, ?, ?, 'hand', ?, 1, ?, ?)"""
EVENTS = """insert into events (at, who, device, what, ticket, detail)
    values (?, '', 'bench', 'step saved', ?, '{"step": "neck"}')"""
SEARCH = "insert into search (rowid, name, phone, serial, words) values (?, ?, ?, ?, ?)"
ANSWERS = """insert into answers (ticket, revision, kind, at, way, name, words, signature, quote_sha256, jobs,
    offer, total, currency, deposit, ready, who, link)
    values (?, 1, 'goahead', ?, 'link', 'x', '', 'typed', '', '[]', ?, '480.00', 'USD', '0', ?, '', 0)"""


@dataclass(frozen=True)
class Case:
    """A walk-in of the demo: each step's fields, and its words as the search keeps them."""

    family: str
    steps: tuple[tuple[str, list[tuple[str, str]]], ...]
    book: Book

    @property
    def words(self) -> list[str]:
        return list(words_in(self.parts.items()))

    @property
    def parts(self) -> dict[str, str]:
        kinds = {id: question.kind for id, question in self.book.questions.items()}
        return from_pairs(kinds, [pair for _, fields in self.steps for pair in fields])


def cases(book: Book) -> list[Case]:
    """The demo's walk-ins."""
    found = []
    for path in sorted((demo_book() / "walkins").glob("*.toml")):
        answers = tomllib.loads(path.read_text("utf-8"))["answers"]
        pairs = to_fields(book, answers)
        of_step = {
            step.id: [p for p in pairs if book.questions[p[0].split(".")[0]].step == step.id]
            for step in book.steps
        }
        found.append(Case(answers["family"], tuple(of_step.items()), book))
    return found


class Filler:
    """Puts tickets into an empty store."""

    def __init__(self, db: sqlite3.Connection, size: int, book: Book) -> None:
        self.db, self.size, self.chance = db, size, random.Random(size)
        self.cases = [(case.family, case.words, case.parts) for case in cases(book)]
        self.at = FIRST_VERSION

    def fill(self) -> None:
        for begin in range(1, self.size + 1, BATCH):
            self.db.execute("begin immediate")
            for number in range(begin, min(begin + BATCH, self.size + 1)):
                self.ticket(number)
            self.db.execute("commit")
        self.db.execute("update lives set version = ?", [self.at])
        self.db.execute("analyze")

    def ticket(self, number: int) -> None:
        family, words, parts = self.cases[number % len(self.cases)]
        id = str(UUID(int=number << 64 | self.chance.getrandbits(62), version=4))
        at = (
            (START + timedelta(minutes=13 * number)).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        )
        name, phone, serial = self.somebody(number)
        signed = number % AGREED == 0
        state = "signed" if signed else "quoted"
        self.db.execute(TICKETS, (id, number, at, at, name, phone, family, serial, state))
        for part, value in parts.items():
            self.at += 1
            edit = f"{id}.{self.at}"
            self.db.execute(EDITS, (self.at, edit, id, part, value, at))
            self.db.execute(PARTS, (id, part, value, edit, self.at, self.at))
        self.db.execute(EVENTS, (at, id))
        self.db.execute(SEARCH, (number, *row_of(name, phone, serial, words)))
        if signed:
            promised = number > self.size - PROMISED * AGREED
            day = (datetime.now(UTC) + timedelta(days=7)).date().isoformat() if promised else at[:10]
            self.db.execute(ANSWERS, (id, at, json.dumps({"bench": [[day, str(HOURS)]]}), day))
            if promised:
                self.db.execute(BOOKED, (id, day, round(HOURS * 3600), day))

    def somebody(self, number: int) -> tuple[str, str, str]:
        draw = self.chance
        name = f"{draw.choice(FIRST)} {draw.choice(LAST)}{number % NAMESAKES}"
        return (
            name,
            f"555 {draw.randrange(10**4):04} {draw.randrange(10**4):04}",
            f"S-{draw.randrange(10**7)}",
        )


class Bench:
    """One filled shop and what is measured in it."""

    def __init__(self, folder: Path, book: Book) -> None:
        app = create_app(Settings(data=folder, book=demo_book()))
        self.ctx: Context = app.extensions["context"]
        self.client = app.test_client()
        for pair in badge.cookie(folder).split("; "):
            self.client.set_cookie(*pair.split("=", 1))
        self.steps = cases(book)[2].steps
        self.tickets = self.ctx.store.db.table("tickets").count
        self.chance = random.Random(1)

    def measures(self) -> dict[str, Callable[[], object]]:
        return {
            "board": lambda: self.page("/"),
            "board, half way down": lambda: self.page(f"/?before={self.tickets // 2}"),
            "search, a name": lambda: self.find("name"),
            "search, a name's first word": lambda: self.find("name", lambda name: name.split()[0]),
            "search, a name's last word": lambda: self.find("name", lambda name: name.split()[-1]),
            "search, a name without its end": lambda: self.find("name", lambda name: name[:-1]),
            "search, a telephone": lambda: self.find("phone"),
            "search, a serial": lambda: self.find("serial"),
            "search, a word in every 20th": lambda: self.page("/?q=rattle"),
            "search, two letters": lambda: self.page("/?q=lu"),
            "search, a long word and a name": lambda: self.page("/?q=acoustic+ines"),
            "save of a step": lambda: self.save(str(uuid7(self.ctx.now())), *self.steps[0]),
            "quote, twelve steps saved": self.whole,
            "promised work": self.promised,
        }

    def find(self, column: str, typed: Callable[[str], str] = str) -> None:
        """Look for what one of the tickets holds there, or what of it is typed."""
        number = self.chance.randrange(self.tickets) + 1
        sql = f"select {column} from tickets where number = ?"  # noqa: S608
        held = self.ctx.store.db.execute(sql, [number]).fetchone()[0]
        self.page(f"/?{urlencode({'q': typed(held)})}")

    def page(self, path: str) -> None:
        assert self.client.get(path).status_code == 200, path

    def save(self, ticket: str, step: str, fields: list[tuple[str, str]]) -> None:
        form = urlencode([*fields, ("based_on", "0"), ("passed", "" if fields else "not_assessed")])
        headers = {"Idempotency-Key": str(uuid4()), "Device": "bench"}
        type_ = "application/x-www-form-urlencoded"
        answer = self.client.post(
            f"/tickets/{ticket}/steps/{step}", data=form, headers=headers, content_type=type_
        )
        assert answer.status_code in (200, 422), answer.text

    def whole(self) -> None:
        """A walk-in from the first step to its summary; a new measure each time: nothing is remembered."""
        ticket = str(uuid7(self.ctx.now()))
        for step, fields in self.steps:
            new = ("relief", f"0.00{self.chance.randrange(400, 999)} in")
            self.save(ticket, step, [new if name == "relief" else (name, value) for name, value in fields])
        self.page(f"/tickets/{ticket}/summary")

    def promised(self) -> None:
        from intake.store import bench

        taken = bench.taken(self.ctx.store.db, "", self.ctx.today)
        assert sum(seconds for _, seconds in taken) == PROMISED * HOURS * bench.HOUR


def once(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return (time.perf_counter() - begin) * 1000


def fill(data: Path, size: int, book: Book) -> None:
    """A store of that many tickets, unless it is there."""
    if (data / "filled").exists():
        return
    Store(data).close()
    with closing(sqlite3.connect(data / "tallyfret.db", isolation_level=None)) as db:
        db.execute("pragma synchronous = off")
        db.execute("pragma cache_size = -1000000")
        taken = once(Filler(db, size, book).fill)
        db.execute("pragma wal_checkpoint(truncate)")
    (data / "filled").touch()
    print(f"{size} tickets put in within {taken / 1000:.0f} s", file=sys.stderr, flush=True)


def medians(benches: list[Bench]) -> Iterator[tuple[str, list[float]]]:
    """Of every measure, each size's median in milliseconds. The sizes take turns, so that whatever else the
    machine does meets all alike; the first turn is not counted."""
    for says in benches[0].measures():
        works = [bench.measures()[says] for bench in benches]
        turns = 11 if "twelve" in says else TURNS
        taken = [[once(work) for work in works] for _ in range(turns + 1)][1:]
        yield says, [median(column) for column in zip(*taken, strict=True)]


def figures(folder: Path, sizes: list[int], book: Book) -> Iterator[tuple[str, list[float]]]:
    """Every figure, a row for all sizes."""
    datas = [folder / str(size) for size in sizes]
    for data, size in zip(datas, sizes, strict=True):
        fill(data, size, book)
    yield "file, MB", [(data / "tallyfret.db").stat().st_size / 1e6 for data in datas]
    yield "start with its check", [once(partial(start, data)) for data in datas]
    benches = [Bench(data, book) for data in datas]
    yield from medians(benches)
    for bench in benches:
        bench.ctx.store.close()
    yield "backup, read back", [once(partial(backed_up, data)) for data in datas]


def start(data: Path) -> None:
    Store(data).close()


def backed_up(data: Path) -> None:
    with TemporaryDirectory(dir=data.parent) as name:
        back_up(data, Path(name), datetime.now(UTC), "asked")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", type=int, nargs="*", default=list(SIZES))
    parser.add_argument("--keep", type=Path, help="a folder for the filled stores, to be used again")
    given = parser.parse_args()
    book = load_book(demo_book())
    print(f"| tickets | {' | '.join(f'{size:,}' for size in given.sizes)} | last of first |")
    print("|---|" + "---:|" * (len(given.sizes) + 1))
    with TemporaryDirectory() as own:
        for says, values in figures(given.keep or Path(own), given.sizes, book):
            print(f"| {says} | {' | '.join(f'{value:,.1f}' for value in values)} ", end="")
            print(f"| {values[-1] / values[0]:.2f} |", flush=True)


if __name__ == "__main__":
    main()
