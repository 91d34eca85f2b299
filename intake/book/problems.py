"""What is wrong with a price book, place by place."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Problem:
    """One thing to mend. `row` is the row a spreadsheet shows, `column` its heading (or a key in TOML).

    `doubt`: it is possible and not likely, so whoever owns the book may say that it is meant.
    """

    file: str
    row: int | None
    column: str
    sentence: str
    doubt: bool = False

    def __str__(self) -> str:
        place = [self.file]
        if self.row is not None:
            place.append(f"row {self.row}")
        if self.column:
            place.append(self.column)
        return f"{', '.join(place)}: {self.sentence}"


class BookError(ValueError):
    """A book that cannot be loaded; `problems` lists everything found, not only the first."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def unknown(kind: str, id: str, known: Collection[str]) -> str:
    """The sentence on an id that nothing bears, with the nearest that something does."""
    near = get_close_matches(id, known, 1)
    return f"“{id}” is not a {kind} of this book" + (f"; is “{near[0]}” meant?" if near else ".")
