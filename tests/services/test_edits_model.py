"""Phones, tabs, a faulty line and a store that is set back: whatever happens, each hand's edit stands, was
replaced by somebody who saw it, equals what stands, or is in a clash."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from intake.services import edits as service
from intake.services.edits import Sender, Sent, Taken
from intake.store import edits, tickets
from intake.store.db import Store
from intake.store.edits import Row
from tests.memo import sample_book

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
TICKET = "0190a1b2-0000-7000-8000-000000000001"
PARTS = ("relief", "twist", "loose_frets/7", "left_the_book")
VALUES = ("", "0.008 in", ".008", "0.012 in", "0.014 in")
WHO, TAB = st.integers(0, 3), st.integers(0, 2)
ALIKE = {"0.008 in", ".008"}
BOOK = sample_book()
SMALLER = replace(BOOK, questions={id: one for id, one in BOOK.questions.items() if id != "relief"})


@dataclass
class Kept:
    """An edit on a phone; `at` 0 until the shop has it."""

    sent: Sent
    at: int = 0
    set_aside: bool = False


@dataclass
class Tab:
    """A page: what it showed when it was made, and with which version."""

    version: int = 0
    epoch: str = ""
    parts: dict[str, tuple[tuple[str, ...], str]] = field(default_factory=dict)


@dataclass
class Phone:
    """What one database holds, as the contract asks of a phone."""

    log: str = field(default_factory=lambda: str(uuid4()))
    number: int = 0
    epoch: str = ""
    version: int = 0
    kept: list[Kept] = field(default_factory=list)
    tabs: list[Tab] = field(default_factory=lambda: [Tab()])

    def shown(self, tab: Tab, part: str) -> tuple[tuple[str, ...], str]:
        """What the tab shows: its page with the phone's own edits over it that it does not know."""
        base, value = tab.parts.get(part, ((), ""))
        for one in self.kept:
            newer = not one.at or one.at > tab.version or tab.epoch != self.epoch
            if one.sent.part == part and newer and not one.set_aside:
                base, value = (one.sent.id,), one.sent.value
        return base, value

    def give(self, tab: Tab, part: str, value: str, by: str = "hand") -> Sent:
        self.number += 1
        base, _ = self.shown(tab, part)
        sent = Sent(str(uuid4()), part, value, base, by, "", self.log, self.number)
        self.kept.append(Kept(sent))
        return sent

    def begin_log(self) -> None:
        """Unsent edits get numbers of a new log; their ids stay."""
        self.log, self.number = str(uuid4()), 0
        for one in self.unsent():
            self.number += 1
            one.sent = replace(one.sent, log=self.log, seq=self.number)

    def unsent(self) -> list[Kept]:
        return [one for one in self.kept if not one.at and not one.set_aside]

    def hear(self, taken: Taken, life: edits.Life) -> None:
        """What the shop answered."""
        if (self.epoch and life.epoch != self.epoch) or life.version < self.version:
            for one in self.kept:
                one.at = 0
        self.epoch, self.version = life.epoch, life.version
        became = {one.id: one for one in taken.edits}
        for one in self.kept:
            if told := became.get(one.sent.id):
                one.at, one.set_aside = told.at, told.fate == "refused"
        for log, number in taken.gaps.items():
            held = {one.sent.seq for one in self.kept if one.sent.log == log}
            if number in held:
                for one in self.kept:
                    one.at = 0 if one.sent.log == log and one.sent.seq >= number else one.at
            elif log == self.log:
                self.begin_log()
            else:
                self.renumber(log)
        if self.log in taken.copied:
            self.begin_log()
        self.kept = [one for one in self.kept if not 0 < one.at <= life.backed_up]

    def renumber(self, log: str) -> None:
        for one in self.unsent():
            if one.sent.log == log:
                self.number += 1
                one.sent = replace(one.sent, log=self.log, seq=self.number)


@dataclass
class Request:
    """On its way to the shop."""

    phone: Phone
    sent: list[Sent]


class Edits(RuleBasedStateMachine):
    """Every rule is something that happens at a counter."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.root = Path(self.folder.name)
        self.store = Store(self.root / "shop")
        with self.store.writing() as db:
            tickets.ensure(db, TICKET, NOW)
        self.phones = [Phone(), Phone(), Phone()]
        self.on_the_way: list[Request] = []
        self.given: dict[str, Sent] = {}
        self.backup: tuple[Path, int] | None = None
        self.book = BOOK

    def teardown(self) -> None:
        try:
            self.settle()
        finally:
            self.store.close()
            self.folder.cleanup()

    @rule(
        who=WHO,
        tab=TAB,
        part=st.sampled_from(PARTS),
        value=st.sampled_from(VALUES),
    )
    def tap(self, who: int, tab: int, part: str, value: str) -> None:
        phone = self.phones[who % len(self.phones)]
        self.note(phone.give(phone.tabs[tab % len(phone.tabs)], part, value))

    @rule(who=WHO, tab=TAB)
    def pass_as_sound(self, who: int, tab: int) -> None:
        phone = self.phones[who % len(self.phones)]
        page = phone.tabs[tab % len(phone.tabs)]
        if not phone.shown(page, "twist")[1]:
            self.note(phone.give(page, "twist", "none", by="sound"))

    @rule(part=st.sampled_from(PARTS))
    def everybody_at_once(self, part: str) -> None:
        """Each on a page of before, each something else."""
        for phone, value in zip(self.phones, VALUES[1:], strict=False):
            self.note(phone.give(phone.tabs[0], part, value))
            phone.hear(*self.take(Request(phone, [one.sent for one in phone.unsent()])))

    @rule(who=WHO, part=st.sampled_from(PARTS), at=st.integers(0, 3))
    def choose(self, who: int, part: str, at: int) -> None:
        """Somebody opens the ticket, sees the clash, and takes one of its values."""
        phone = self.phones[who % len(self.phones)]
        tab = self.load(phone)
        held = edits.standing(self.store.db, TICKET).get(part)
        if tab and held and held.is_open and phone.shown(tab, part)[0] == held.heads:
            values = [row.value for row in edits.by_ids(self.store.db, held.heads).values()]
            self.note(phone.give(tab, part, values[at % len(values)]))

    def note(self, sent: Sent) -> None:
        self.given[sent.id] = sent

    @rule(who=WHO)
    def open_tab(self, who: int) -> None:
        self.load(self.phones[who % len(self.phones)])

    def load(self, phone: Phone) -> Tab:
        with self.store.reading() as db:
            life, held = edits.life(db), edits.standing(db, TICKET)
        tab = Tab(life.version, life.epoch, {part: (one.heads, one.value) for part, one in held.items()})
        phone.tabs = [*phone.tabs[-1:], tab]
        return tab

    @rule(
        who=WHO,
        most=st.integers(1, 5),
        line=st.sampled_from(["up", "no answer", "twice", "slow"]),
    )
    def send(self, who: int, most: int, line: str) -> None:
        phone = self.phones[who % len(self.phones)]
        request = Request(phone, [one.sent for one in phone.unsent()[:most]])
        if not request.sent:
            return
        if line == "slow":
            self.on_the_way.append(request)
        elif line == "no answer":
            self.take(request)
        else:
            for _ in range(2 if line == "twice" else 1):
                phone.hear(*self.take(request))

    @precondition(lambda self: self.on_the_way)
    @rule(at=st.integers(0, 5), heard=st.booleans())
    def arrive_late(self, at: int, heard: bool) -> None:
        request = self.on_the_way.pop(at % len(self.on_the_way))
        answer = self.take(request)
        if heard:
            request.phone.hear(*answer)

    def take(self, request: Request) -> tuple[Taken, edits.Life]:
        with self.store.writing() as db:
            taken = service.take(db, self.book, TICKET, request.sent, Sender(), NOW)
            return taken, edits.life(db)

    @rule()
    def restart(self) -> None:
        self.store.close()
        self.store = Store(self.root / "shop")

    @rule()
    def back_up(self) -> None:
        with self.store.writing() as db:
            version = edits.life(db).version
        copy = self.root / f"backup-{uuid4()}.db"
        self.store.db.conn.execute("vacuum into ?", [str(copy)])
        with self.store.writing() as db:
            db.execute("update lives set backed_up = max(backed_up, ?)", [version])
        self.backup = copy, version

    @precondition(lambda self: self.backup)
    @rule()
    def set_back(self) -> None:
        assert self.backup
        self.store.close()
        shutil.rmtree(self.root / "shop")
        (self.root / "shop").mkdir()
        shutil.copy(self.backup[0], self.root / "shop" / "tallyfret.db")
        self.store = Store(self.root / "shop")
        with self.store.writing() as db:
            edits.begin_anew(db)

    @precondition(lambda self: len(self.phones) < 4)
    @rule(who=WHO)
    def copy_a_phone(self, who: int) -> None:
        one = self.phones[who % len(self.phones)]
        kept = [replace(each) for each in one.kept]
        self.phones.append(Phone(one.log, one.number, one.epoch, one.version, kept, [Tab()]))

    @rule()
    def change_the_book(self) -> None:
        self.book = SMALLER if self.book is BOOK else BOOK

    @invariant()
    def nothing_is_lost(self) -> None:
        rows = edits.of_ticket(self.store.db, TICKET)
        held = edits.standing(self.store.db, TICKET)
        for row in rows:
            assert row.fate != "refused", row
            if row.by == "hand":
                assert self.is_kept(row, rows, held), (row, held.get(row.part))

    @invariant()
    def what_stands_was_given(self) -> None:
        for part, held in edits.standing(self.store.db, TICKET).items():
            heads = edits.by_ids(self.store.db, held.heads)
            assert len(heads) == len(held.heads)
            assert all(head.part == part and head.id in self.given for head in heads.values())
            assert len({head.by == "hand" for head in heads.values()}) == 1
            assert held.value == (heads[held.heads[0]].value if len(heads) == 1 else "")

    def is_kept(self, row: Row, rows: list[Row], held: dict[str, edits.Standing]) -> bool:
        """The edit stands or clashes; or equals what does; or somebody who saw its value replaced it."""
        part = held.get(row.part)
        heads = [one for one in rows if part and one.id in part.heads]
        if any(self.same(row, head) for head in heads):
            return True
        mine = [one for one in rows if one.part == row.part]
        alike = {one.id for one in mine if one.id == row.id or self.same(row, one)}
        replaced = any(alike & set(one.base) and one.fate != "history" for one in mine)
        return replaced or (not row.value and row.fate == "same")

    def same(self, row: Row, other: Row) -> bool:
        """By the test's own measure: `.008` is 0.008 in where it is read as a relief."""
        return row.value == other.value or (row.part == "relief" and {row.value, other.value} == ALIKE)

    def settle(self) -> None:
        """The line is up, everybody comes back: the shop has every edit that a phone still held."""
        for request in self.on_the_way:
            self.take(request)
        for _ in range(4):
            for phone in self.phones:
                self.load(phone)
                phone.hear(Taken(), edits.life(self.store.db))
                while unsent := [one.sent for one in phone.unsent()[:50]]:
                    before = [one.id for one in unsent]
                    phone.hear(*self.take(Request(phone, unsent)))
                    assert self.moved_on(phone, before), before
        known = {row.id for row in edits.of_ticket(self.store.db, TICKET)}
        for phone in self.phones:
            assert {one.sent.id for one in phone.kept} <= known
        lost = self.given.keys() - known
        assert not lost
        self.nothing_is_lost()
        self.what_stands_was_given()

    def moved_on(self, phone: Phone, before: list[str]) -> bool:
        """An answer brought something: an edit taken, or other numbers or earlier edits to send."""
        after = [(one.sent.id, one.sent.log, one.sent.seq) for one in phone.unsent()[:50]]
        self.turns = getattr(self, "turns", 0) + 1
        return [id for id, _, _ in after] != before or self.turns < 500


EditsModel: Any = Edits.TestCase
EditsModel.settings = settings(stateful_step_count=30, phases=[Phase.explicit, Phase.reuse, Phase.generate])
