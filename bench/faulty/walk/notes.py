"""What hands entered in a walk, and what screens showed of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Entry:
    """A value that a hand gave a part on one page, and what the screen showed there before: one value, and
    those of a clash. `weak`: the program filled it in at the hand's bidding."""

    phone: str
    page: int
    part: str
    shown: tuple[str, ...]
    value: str
    weak: bool = False


@dataclass
class Photos:
    """Chosen together on one page. `told`: the page has said what became of each."""

    page: int
    count: int
    told: bool = False
    excused: bool = False


@dataclass
class Notes:
    """`excused`: of pages that died or that asked before they were left, what they had not written down by
    then. `wrong`: what was found on the way."""

    entries: list[Entry] = field(default_factory=list)
    excused: set[tuple[int, str, str]] = field(default_factory=set)
    photos: list[Photos] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def entered(
        self, phone: str, page: int, seen: Mapping[str, Mapping[str, Any]], questions: Iterable[str] | None
    ) -> list[Entry]:
        """Note what the hand changed in those questions; None is all of them, filled in by the program.
        `seen` has the values before and after, and those of clashes that stood beside them."""
        wanted = None if questions is None else set(questions)
        before, beside = seen["before"], seen["beside"]
        made = [
            Entry(
                phone, page, part, (before.get(part, ""), *beside.get(part, ())), value, weak=wanted is None
            )
            for part, value in seen["after"].items()
            if value != before.get(part, "") and (wanted is None or part.split("/")[0] in wanted)
        ]
        self.entries += made
        return made

    def last_of_pages(self) -> dict[tuple[int, str], Entry]:
        """The last entry of each page and part."""
        return {(entry.page, entry.part): entry for entry in self.entries if not entry.weak}

    def last_of(self, phone: str) -> dict[str, Entry]:
        """The last entry of a phone in each part, whatever page it was on."""
        return {entry.part: entry for entry in self.entries if entry.phone == phone}

    def excuse(self, page: int, kept: set[tuple[str, str]]) -> None:
        """The page is gone; what it had not written down may be gone too."""
        for (at, part), entry in self.last_of_pages().items():
            if at == page and (part, entry.value) not in kept:
                self.excused.add((page, part, entry.value))

    def excuse_photos(self, page: int, *, told_too: bool) -> None:
        """The page is gone; photos that stood on it alone went with it."""
        for chosen in self.photos:
            if chosen.page == page and (told_too or not chosen.told):
                chosen.excused = True

    @property
    def photos_due(self) -> int:
        return sum(chosen.count for chosen in self.photos if not chosen.excused)

    def is_excused(self, entry: Entry) -> bool:
        return (entry.page, entry.part, entry.value) in self.excused
