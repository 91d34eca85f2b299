"""Passwords that are guessed first: a name that stands on the shop's door, a row of keys, one letter only.

Long lists of passwords that others lost would find more; none is shipped (see ASVS.md, 6.2.4).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

ROWS = (
    "abcdefghijklmnopqrstuvwxyz", "0123456789", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop",
    "azertyuiop",
    "qsdfghjklm", "1q2w3e4r5t6y7u8i9o0p", "qazwsxedcrfvtgbyhnujm",
)  # fmt: skip
WORDS = frozenset(
    {
        "password", "passphrase", "secret", "letmein", "welcome", "admin", "administrator", "owner",
        "changeme", "iloveyou", "sunshine", "princess", "football", "baseball", "monkey", "dragon",
        "motdepasse", "bonjour", "soleil", "doudou", "test", "login", "hello", "guitar", "guitare",
        "luthier", "repair", "workshop", "atelier", "tallyfret", "counter",
    }
)  # fmt: skip
"""Common ones, from memory, and the words of this trade and program: what somebody would try here first."""
LONG = 64
FEWEST_SIGNS = 4
MOST_DIGITS = 6
"""Besides words and rows, fewer letters than that and no more digits than these: a year, a `1` at the end."""


def is_weak(password: str, names: Iterable[str] = ()) -> bool:
    """Whether the password is made of common words, rows of keys, `names` and hardly anything else."""
    if len(password) > LONG:
        return len(set(password)) < FEWEST_SIGNS
    plain = unicodedata.normalize("NFKC", password).casefold()
    known = {*WORDS, *(word for name in names for word in re.findall(r"\w{3,}", name.casefold()))}
    for word in sorted(known, key=len, reverse=True):
        plain = plain.replace(word, " ")
    rest = "".join(_without_rows(piece) for piece in re.findall(r"[^\W_]+", plain))
    digits = sum(sign.isdigit() for sign in rest)
    few = len(set(rest)) < FEWEST_SIGNS
    return few or (len(rest) - digits < FEWEST_SIGNS and digits <= MOST_DIGITS)


def _without_rows(piece: str) -> str:
    """What is left of the piece without runs of neighbouring keys, forward or back, and round the end."""
    for row in ROWS:
        for way in (row + row, (row + row)[::-1]):
            for length in range(len(piece), FEWEST_SIGNS - 1, -1):
                for at in range(len(piece) - length + 1):
                    if piece[at : at + length] in way:
                        return _without_rows(piece[:at]) + _without_rows(piece[at + length :])
    return piece
