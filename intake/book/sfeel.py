"""Unary tests of S-FEEL, the notation of decision-table cells (OMG, Decision Model and Notation 1.x, ch. 9).

One cell is `-`, or tests joined by commas, or `not(...)` round them. A test is a number, a string in
double quotes, `true` or `false`, a comparison (`<0.030`), or an interval (`[0.030..0.040)`, also with
the brackets turned outwards: `]0.030..0.040[`). Numbers may be fractions (`5/64`, `2 1/2`).
Everything is exact; there are no expressions, variables or functions. So a single word needs no quotes:
`steel-string` is the string (an extension of ours; in S-FEEL it would be a variable's name).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

Scalar = Fraction | str | bool
RESERVED = ("true", "false", "not")

_NUMBER = r"-?(?:\d+\s+\d+/\d+|\d+/\d+|\d+\.\d+|\d+|\.\d+)(?![\w/]|\.\d)"
_TOKEN = re.compile(
    rf"""\s*(?:
      (?P<number>{_NUMBER})
    | (?P<string>"(?:[^"\\]|\\.)*")
    | (?P<word>[^\W\d](?:\w|-(?=\w))*)
    | (?P<mark><=|>=|<|>|\.\.|[][(),-])
    )""",
    re.VERBOSE,
)
_ESCAPE = re.compile(r"\\(.)")
_HINTS = {
    "≤": "write <=",
    "≥": "write >=",
    "≠": "write not(...)",
    "=": "leave it out: a value alone means “equals”",
    "“": 'write straight quotes: "',
    "”": 'write straight quotes: "',
    "'": 'text stands in double quotes: "light"',
    '"': "the closing double quote is missing",
}


class SFeelError(ValueError):
    """A cell that is not in the notation; the message says what stood where a test was expected."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Numbers between two ends; None is no end on that side. A single number is a closed interval."""

    low: Fraction | None
    high: Fraction | None
    low_closed: bool = False
    high_closed: bool = False

    @property
    def is_point(self) -> bool:
        return self.low is not None and self.low == self.high and self.low_closed and self.high_closed

    def map(self, change: Callable[[Fraction], Fraction]) -> Interval:
        """The same interval with both ends put through a rising function (a change of unit)."""
        low = None if self.low is None else change(self.low)
        high = None if self.high is None else change(self.high)
        return Interval(low, high, self.low_closed, self.high_closed)

    def holds(self, value: Any) -> bool:
        if isinstance(value, (bool, str)):
            return False
        top, bottom = value.numerator, value.denominator
        if self.low is not None:
            over = top * self.low.denominator - self.low.numerator * bottom
            if over < 0 or (over == 0 and not self.low_closed):
                return False
        if self.high is not None:
            under = self.high.numerator * bottom - top * self.high.denominator
            if under < 0 or (under == 0 and not self.high_closed):
                return False
        return True

    def ends(self) -> tuple[Fraction, ...]:
        return tuple(dict.fromkeys(end for end in (self.low, self.high) if end is not None))


@dataclass(frozen=True, slots=True)
class Same:
    """Equality with a string or a truth value."""

    value: str | bool

    def holds(self, value: Any) -> bool:
        return type(value) is type(self.value) and value == self.value

    def ends(self) -> tuple[str | bool, ...]:
        return (self.value,)


Test = Interval | Same


@dataclass(frozen=True)
class UnaryTests:
    """One cell. `text` is the cell as written; no `tests` at all is the dash."""

    text: str
    tests: tuple[Test, ...] = ()
    negated: bool = False

    @property
    def is_any(self) -> bool:
        """True for `-`, which does not test."""
        return not self.tests

    @property
    def words(self) -> tuple[str, ...]:
        """What a cell lists that holds for these words and nothing else; empty for any other cell."""
        listed = tuple(t.value for t in self.tests if isinstance(t, Same) and isinstance(t.value, str))
        return () if self.negated or len(listed) < len(self.tests) else listed

    def holds(self, value: Any) -> bool:
        """Whether a fact satisfies the cell.

        A list holds if any item does, under `not(...)` if no item does (so an empty list does); a
        mapping is the list of its values. None is a missing fact, which only `-` accepts. A value of
        another kind than the test (text against a number) does not satisfy it. A float is refused:
        no binary floating point decides a quote.
        """
        if not self.tests:
            return True
        if value is None:
            return False
        return self._any(value) != self.negated

    def _any(self, value: Any) -> bool:
        if isinstance(value, Mapping):
            value = tuple(value.values())
        if isinstance(value, (tuple, list, set, frozenset)):
            return any(self._any(item) for item in value)
        if isinstance(value, float):
            raise TypeError("a table tests exact numbers, not floats")
        return any(test.holds(value) for test in self.tests)

    def map(self, change: Callable[[Fraction], Fraction]) -> UnaryTests:
        """The same tests in another unit."""
        tests = tuple(test.map(change) if isinstance(test, Interval) else test for test in self.tests)
        return UnaryTests(self.text, tests, self.negated)

    def limit(self, value: Any = None) -> tuple[Scalar, ...]:
        """The bounds that the cell tests: one for a comparison or a value, two for an interval.

        With a value, the bounds only of those alternatives that it satisfies, if it satisfies one.
        """
        met = () if value is None else tuple(test for test in self.tests if _met(test, value))
        return tuple(dict.fromkeys(end for test in met or self.tests for end in test.ends()))


def _met(test: Test, value: Any) -> bool:
    return UnaryTests("", (test,)).holds(value)


ANY = UnaryTests("-")


@lru_cache(maxsize=4096)
def parse_tests(text: str) -> UnaryTests:
    """Read one cell. Raises SFeelError for an empty cell and for whatever is not in the notation."""
    if not text.strip():
        raise SFeelError("The cell is empty; write - where the value does not matter.")
    if text.strip() == "-":
        return ANY
    return _Reader(text).cell()


LONGEST_NUMBER = 200
"""Signs of a number in a cell; Python reads no whole number beyond 4300 digits."""


def parse_number(text: str) -> Fraction:
    """A number as the notation has it, fractions included. Raises SFeelError."""
    clean = text.strip()
    if not re.fullmatch(_NUMBER, clean) or len(clean) > LONGEST_NUMBER:
        raise SFeelError(f"“{clean}” is not a number.")
    sign, clean = (-1, clean[1:]) if clean.startswith("-") else (1, clean)
    try:
        return sign * sum((Fraction(part) for part in clean.split()), Fraction(0))
    except ZeroDivisionError:
        raise SFeelError(f"“{text.strip()}” divides by zero.") from None


class _Reader:
    """Recursive descent over one cell."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = list(_tokens(text))
        self.at = 0

    def cell(self) -> UnaryTests:
        negated = self._take("word", "not")
        if negated:
            self._need("(")
        tests = [self._test()]
        while self._take("mark", ","):
            tests.append(self._test())
        if negated:
            self._need(")")
        if self.at < len(self.tokens):
            raise self._left_over()
        return UnaryTests(self.text.strip(), tuple(tests), negated)

    def _test(self) -> Test:
        kind, word = self._look()
        if kind == "mark" and word in ("<", "<=", ">", ">="):
            return self._comparison()
        if kind == "mark" and word in ("[", "(", "]"):
            return self._interval()
        if kind == "number":
            self.at += 1
            value = parse_number(word)
            return Interval(value, value, True, True)
        if kind == "string":
            self.at += 1
            return Same(_ESCAPE.sub(r"\1", word[1:-1]))
        if kind == "word" and word != "not":
            self.at += 1
            return Same(word == "true" if word in RESERVED else word)
        raise self._error("a value, a comparison or an interval")

    def _comparison(self) -> Interval:
        sign = self._look()[1]
        self.at += 1
        value, closed = self._number(), sign.endswith("=")
        if sign.startswith("<"):
            return Interval(None, value, high_closed=closed)
        return Interval(value, None, low_closed=closed)

    def _interval(self) -> Interval:
        opening = self._look()[1]
        self.at += 1
        low = self._number()
        self._need("..")
        high = self._number()
        closing = self._look()[1]
        if closing not in ("]", ")", "["):
            raise self._error("] or ) at the end of the interval")
        self.at += 1
        return Interval(low, high, opening == "[", closing == "]")

    def _number(self) -> Fraction:
        kind, word = self._look()
        if kind != "number":
            raise self._error("a number")
        self.at += 1
        return parse_number(word)

    def _look(self) -> tuple[str, str]:
        return self.tokens[self.at] if self.at < len(self.tokens) else ("end", "")

    def _take(self, kind: str, word: str) -> bool:
        if self._look() != (kind, word):
            return False
        self.at += 1
        return True

    def _need(self, mark: str) -> None:
        if not self._take("mark", mark):
            raise self._error(mark)

    def _left_over(self) -> SFeelError:
        """The error on what follows a test without a comma; most often a unit, or a second word."""
        (kind, word), (before, _) = self._look(), self.tokens[self.at - 1]
        if kind == "word" and before == "word":
            return SFeelError(
                f"In “{self.text.strip()}” several words follow each other: separate answers with a comma, "
                "and put a text of several words in double quotes."
            )
        if kind == "word":
            return _unknown(self.text, word)
        return self._error("nothing more, or a comma")

    def _error(self, wanted: str) -> SFeelError:
        word = self._look()[1]
        stood = f"{word} stands" if word else "the cell ends"
        return SFeelError(f"In “{self.text.strip()}” {stood} where {wanted} is expected.")


def _tokens(text: str) -> Iterable[tuple[str, str]]:
    at, end = 0, len(text.rstrip())
    while at < end:
        match = _TOKEN.match(text, at)
        if not match:
            raise _unknown(text, text[at:end].lstrip())
        yield str(match.lastgroup), match.group(str(match.lastgroup))
        at = match.end()


def _unknown(text: str, rest: str) -> SFeelError:
    word = re.split(r'[\s,()\[\]<>"]', rest, maxsplit=1)[0] or rest[0]
    if hint := _HINTS.get(rest[0]):
        return SFeelError(f"In “{text.strip()}” {rest[0]} is not known here: {hint}.")
    if not word[0].isalpha():
        hint = "a number looks like 0.030 or 5/64"
    elif text.strip()[0].isdigit() or text.strip()[0] in "<>[(]":
        hint = "numbers stand without a unit, the unit stands in the heading"
    else:
        hint = f'text stands in double quotes: "{word}"'
    return SFeelError(f"In “{text.strip()}” “{word}” is not a test: {hint}.")
