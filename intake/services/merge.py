"""What becomes of an edit: a value is only ever replaced by somebody who saw it. No I/O, no clock.

An edit names as its base the edits that its page showed in the part. The heads of a part are the edits that
nobody has replaced: one head is its value, several are an open clash. What no hand gave never weighs like
what a hand gave.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Literal

By = Literal["hand", "sound", "usual", "earlier"]
Fate = Literal["stands", "same", "clash", "replaced", "history"]
Equal = Callable[[str, str], bool]
NOTHING = "-"
"""Root of an edit that took back what was not there."""


@dataclass(frozen=True)
class Edit:
    """One value that one person gave one part."""

    id: str
    value: str
    base: tuple[str, ...] = ()
    by: str = "hand"

    @property
    def by_hand(self) -> bool:
        return self.by == "hand"

    @property
    def is_blank(self) -> bool:
        return not self.value.strip()


@dataclass(frozen=True)
class Outcome:
    """`same_as`: the head that said the same already, or NOTHING."""

    fate: Fate
    same_as: str = ""


@dataclass
class Part:
    """What the edits taken so far have made of a part.

    `roots`: every edit → the one that it is the same as, or itself. `named`: id → the edits that had it as
    their base, known or not.
    """

    heads: list[Edit] = field(default_factory=list)
    roots: dict[str, str] = field(default_factory=dict)
    named: dict[str, list[Edit]] = field(default_factory=dict)

    @property
    def value(self) -> str:
        """What stands; nothing while a clash is open."""
        return self.heads[0].value if len(self.heads) == 1 else ""

    def seen(self, edit: Edit) -> set[str]:
        """Ids of the heads that the edit's page showed."""
        roots = {self.roots.get(id, id) for id in edit.base}
        return {head.id for head in self.heads if head.id in roots}

    def take(self, edit: Edit, equal: Equal) -> Outcome:
        """Decide what becomes of a new edit, and take it in."""
        outcome = self._decide(edit, equal)
        self.replay(edit, outcome)
        if outcome.fate in ("replaced", "history"):
            return outcome
        open_now = len(self.heads) > 1
        return Outcome("clash" if open_now else "same" if outcome.same_as else "stands", outcome.same_as)

    def replay(self, edit: Edit, outcome: Outcome) -> None:
        """Take in an edit of which it was decided before what becomes of it."""
        self.roots[edit.id] = outcome.same_as or edit.id
        if outcome.fate == "history":
            return
        seen = self.seen(edit)
        for id in edit.base:
            self.named.setdefault(id, []).append(edit)
        if outcome.fate == "replaced":
            by = {self.roots[other.id] for other in self._replacing(edit)}
            self.heads = [head for head in self.heads if head.id not in seen - by] or self.heads
        elif outcome.same_as != NOTHING:
            self._put(edit, seen - {outcome.same_as}, new=not outcome.same_as)

    def _put(self, edit: Edit, seen: set[str], *, new: bool) -> None:
        left = [
            head for head in self.heads if head.id not in seen and not (edit.by_hand and not head.by_hand)
        ]
        self.heads = [*left, edit] if new else left

    def _decide(self, edit: Edit, equal: Equal) -> Outcome:
        if self._replacing(edit):
            return Outcome("replaced")
        if not self.heads:
            return Outcome("same", NOTHING) if edit.is_blank else Outcome("stands")
        says_so = next((head.id for head in self.heads if equal(head.value, edit.value)), "")
        if not edit.by_hand and not self._may_fill(edit):
            return Outcome("history", says_so)
        weaker = {head.id for head in self.heads if edit.by_hand and not head.by_hand}
        return Outcome("stands", "" if says_so in weaker else says_so)

    def _may_fill(self, edit: Edit) -> bool:
        """What no hand gave stands only where no hand's value does, nor a taking back that it missed."""
        seen = self.seen(edit)
        return all(not head.by_hand or (head.is_blank and head.id in seen) for head in self.heads)

    def _replacing(self, edit: Edit) -> list[Edit]:
        """Those who saw this edit before it came here, and replaced it."""
        named = self.named.get(edit.id, ())
        return [other for other in named if other.by_hand or not edit.by_hand or edit.is_blank]


def fold(taken: Iterable[tuple[Edit, Outcome]]) -> Part:
    """A part from its edits, in the order in which they were taken."""
    part = Part()
    for edit, outcome in taken:
        part.replay(edit, outcome)
    return part
