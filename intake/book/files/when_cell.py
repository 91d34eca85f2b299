"""The cells and lines called `when`: a conjunction of tests, as the checklist has it.

`string_count: 12; family: steel-string, electric` holds where both facts meet their tests. A cell of the
column `when` stands for that many columns of dashes; a line `when,...` over the headings holds for every row.
"""

from __future__ import annotations

import re

from intake.book.sfeel import SFeelError

WHEN = "when"
_PIECE = re.compile(r'(?:"(?:[^"\\]|\\.)*"|[^;"])+')


def conditions(cell: str) -> list[tuple[str, str]]:
    """The facts named, each as a heading would name it (`room_rh [%]`), with its tests. Raises SFeelError."""
    if cell.strip() in ("", "-"):
        return []
    return [_condition(piece.strip()) for piece in _PIECE.findall(cell) if piece.strip()]


def _condition(piece: str) -> tuple[str, str]:
    heading, colon, tests = piece.partition(":")
    if not colon or not heading.strip() or not tests.strip():
        raise SFeelError(
            f"“{piece}” is not a condition; write it as string_count: 12; rod: one_way, two_way."
        )
    return heading.strip(), tests.strip()
