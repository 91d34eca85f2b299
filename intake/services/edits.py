"""Edits taken into a ticket: in the order of their log, each merged into its part, none dropped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial

from sqlite_utils import Database

from intake.book.model import Book
from intake.book.parts import LONGEST_VALUE, is_part, question_of, same_value
from intake.services.assumptions import never_usual
from intake.services.merge import Edit, Fate, Outcome, Part, fold
from intake.store import edits
from intake.store.edits import Row, Standing

BY = ("hand", "sound", "usual", "earlier")
MOST_VALUES = 20
"""Values of one answer that wait for somebody to choose."""
MOST_PARTS = 3000
"""Answers that one ticket holds; the longest sample has some hundred."""


@dataclass(frozen=True)
class Sent:
    """One edit as a phone or a form gives it. Without a log no order is kept."""

    id: str
    part: str
    value: str
    base: tuple[str, ...] = ()
    by: str = "hand"
    act: str = ""
    log: str = ""
    seq: int = 0


@dataclass(frozen=True)
class Sender:
    """Who gave it: a member of staff and an enrolled phone by name, and what the browser calls itself."""

    who: str = ""
    phone: str = ""
    device: str = ""


@dataclass(frozen=True)
class Became:
    """What became of an edit. `fate` is one of the merge's, refused (with why: part, long, used, usual,
    many, values) or gap."""

    id: str
    fate: str
    at: int = 0
    why: str = ""


@dataclass
class Taken:
    """`gaps`: log → the number to send from. `copied`: logs whose numbers somebody else uses too."""

    edits: list[Became] = field(default_factory=list)
    gaps: dict[str, int] = field(default_factory=dict)
    copied: list[str] = field(default_factory=list)
    parts: set[str] = field(default_factory=set)

    @property
    def clashed(self) -> bool:
        return any(edit.fate == "clash" for edit in self.edits)


def take(db: Database, book: Book, ticket: str, sent: Iterable[Sent], by: Sender, now: datetime) -> Taken:
    """Take the edits in, within the caller's transaction; the ticket stands already."""
    taking = _Taking(db, book, ticket, by, now)
    for edit in sent:
        taking.taken.edits.append(taking.one(edit))
    taking.write_parts()
    return taking.taken


@dataclass
class _Taking:
    db: Database
    book: Book
    ticket: str
    by: Sender
    now: datetime
    taken: Taken = field(default_factory=Taken)
    parts: dict[str, Part] = field(default_factory=dict)
    changed: dict[str, int] = field(default_factory=dict)

    def one(self, edit: Sent) -> Became:
        known = edits.find(self.db, edit.id)
        if known is None and not self._in_order(edit):
            return Became(edit.id, "gap")
        if known is not None:
            self._in_order(edit)
            self.taken.parts.add(known.part)
            return self._known(known, edit)
        why = self._refusal(edit)
        if why:
            self._add(edit, "refused", why=why)
            return Became(edit.id, "refused", 0, why)
        outcome = self._part(edit.part).take(
            Edit(edit.id, edit.value, edit.base, edit.by), partial(same_value, self.book, edit.part)
        )
        at = self._add(edit, outcome.fate, outcome.same_as)
        self.changed[edit.part] = at
        self.taken.parts.add(edit.part)
        return Became(edit.id, outcome.fate, at)

    def _known(self, known: Row, edit: Sent) -> Became:
        same = (known.ticket, known.part, known.value) == (self.ticket, edit.part, edit.value)
        if not same:
            return Became(edit.id, "refused", 0, "used")
        return Became(edit.id, known.fate, 0 if known.fate == "refused" else known.at, known.why)

    def _in_order(self, edit: Sent) -> bool:
        """False at a gap. A number that another edit has used says that the log was copied."""
        if not edit.log:
            return True
        taken = edits.taken(self.db, self.ticket, edit.log)
        if edit.seq > taken + 1:
            self.taken.gaps[edit.log] = taken + 1
            return False
        if edit.seq == taken + 1:
            edits.take_number(self.db, self.ticket, edit.log, edit.seq)
        elif edits.find(self.db, edit.id) is None and edit.log not in self.taken.copied:
            self.taken.copied.append(edit.log)
        return True

    def _refusal(self, edit: Sent) -> str:
        if not is_part(edit.part) or edit.by not in BY or edit.id.split() != [edit.id]:
            return "part"
        if len(edit.value) > LONGEST_VALUE:
            return "long"
        if not self._has_room(edit.part):
            return "many"
        heads = {head.id for head in self._part(edit.part).heads}
        if len(heads) >= MOST_VALUES and heads.isdisjoint(edit.base):
            return "values"
        return "usual" if edit.by == "usual" and question_of(edit.part) in never_usual(self.book) else ""

    def _has_room(self, part: str) -> bool:
        """Whether the part stands already, or the ticket may hold another."""
        if self._part(part).heads:
            return True
        return edits.count_parts(self.db, self.ticket) + len(self.changed) < MOST_PARTS

    def _part(self, part: str) -> Part:
        if part not in self.parts:
            self.parts[part] = part_until(self.db, self.ticket, part)
        return self.parts[part]

    def _add(self, edit: Sent, fate: str, same_as: str = "", why: str = "") -> int:
        row = Row(**vars(edit), **vars(self.by), ticket=self.ticket, fate=fate, same_as=same_as, why=why)
        return edits.add(self.db, row, self.now).at

    def write_parts(self) -> None:
        """What stands now in each part that changed."""
        before = edits.standing(self.db, self.ticket)
        for name, at in self.changed.items():
            part, held = self.parts[name], before.get(name)
            if part.heads:
                heads = tuple(head.id for head in part.heads)
                first = held.first if held else at
                edits.stand(
                    self.db, self.ticket, Standing(name, part.value, part.heads[0].by, heads, first, at)
                )


def part_until(db: Database, ticket: str, part: str, version: int | None = None) -> Part:
    """A part as it was at a version; else as it is."""
    return fold_rows(edits.of_part(db, ticket, part, version))


def fold_rows(rows: Sequence[Row]) -> Part:
    """A part from its rows."""
    return fold((Edit(row.id, row.value, row.base, row.by), _outcome(row)) for row in rows)


def _outcome(row: Row) -> Outcome:
    fate: Fate = "replaced" if row.fate == "replaced" else "history" if row.fate == "history" else "stands"
    return Outcome(fate, row.same_as)
