"""TOML of a book: read exactly, with a faulty key named by the line it stands in."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from intake.book.files.sheet import text_from
from intake.book.problems import Problem
from intake.book.text import Text

_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(E[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
"""Not what Python reads beside it: `1_5`, the digits of other scripts, infinities."""
DEEP_KEY = re.compile(rf"(?<![\w-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{16}}")
"""A dotted key of 17 parts. tomllib works through all parts before it for each one: 40 kB take a minute."""


def open_toml(path: Path, problems: list[Problem]) -> dict[str, Any] | None:
    """The file's tables, decimals as Decimal; None and a problem if it cannot be read."""
    try:
        text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
        if deep := DEEP_KEY.search(text):
            row = text.count("\n", 0, deep.start()) + 1
            problems.append(Problem(path.name, row, "", "This key has too many parts."))
            return None
        return tomllib.loads(text, parse_float=Decimal)
    except FileNotFoundError:
        problems.append(Problem(path.name, None, "", "This file is missing."))
    except UnicodeDecodeError:
        problems.append(Problem(path.name, None, "", "This is not UTF-8 text."))
    except RecursionError:
        problems.append(Problem(path.name, None, "", "Its brackets stand in one another too deeply."))
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        sentence = f"This is not TOML that can be read: {error}."
        problems.append(Problem(path.name, int(line[1]) if line else None, "", sentence))
    except ValueError:  # Python reads no whole number of more than 4,300 digits
        problems.append(Problem(path.name, None, "", "It has a number that is too long to be read."))
    return None


def id_lines(path: Path) -> dict[str, int]:
    """Where each `id = "..."` stands, by id; the first of several."""
    found: dict[str, int] = {}
    for number, line in enumerate(path.read_bytes().decode("utf-8-sig").splitlines(), 1):
        if match := re.match(r'\s*id\s*=\s*["\']([^"\']+)["\']', line):
            found.setdefault(match[1], number)
    return found


def sane(number: Decimal) -> bool:
    """False for no number, and for one with more digits than any price or rate: sums of it never end."""
    exponent = number.as_tuple().exponent
    return isinstance(exponent, int) and number.adjusted() <= 9 and exponent >= -9


class Fields:
    """A TOML table's fields as values; a faulty field is reported and reads as an empty value."""

    def __init__(self, table: Mapping[str, Any], file: str, row: int | None, problems: list[Problem]) -> None:
        self.table = dict(table)
        self.file = file
        self.row = row
        self.problems = problems
        self.asked: set[str] = set()

    def wrong(self, key: str, sentence: str) -> None:
        self.problems.append(Problem(self.file, self.row, key, sentence))

    def value(self, key: str, default: Any = None, needed: bool = False) -> Any:
        self.asked.add(key)
        if key not in self.table and needed:
            self.wrong(key, f"{key} is missing.")
        return self.table.get(key, default)

    def string(self, key: str, default: str = "", needed: bool = False) -> str:
        value = self.value(key, default, needed)
        if not isinstance(value, str):
            self.wrong(key, f"{key} must be text in quotes.")
            return default
        return value.strip()

    def strings(self, key: str) -> tuple[str, ...]:
        """A list of texts, or one text; numbers as they stand."""
        value = self.value(key, ())
        return tuple(str(item) for item in (value if isinstance(value, list | tuple) else [value]))

    def truth(self, key: str, default: bool = False) -> bool:
        value = self.value(key, default)
        if not isinstance(value, bool):
            self.wrong(key, f"{key} is true or false, without quotes.")
            return default
        return value

    def whole(self, key: str, default: int = 0, needed: bool = False) -> int:
        value = self.value(key, default, needed)
        if isinstance(value, bool) or not isinstance(value, int):
            self.wrong(key, f"{key} must be a whole number.")
            return default
        return value

    def decimal(self, key: str, default: str = "0", needed: bool = False) -> Decimal:
        """A number, in quotes or not; `5 %` is 0.05."""
        value = self.value(key, default, needed)
        text = str(value).strip()
        written = text.removesuffix("%").strip()
        number = Decimal(written) if NUMBER.fullmatch(written) else Decimal("NaN")
        if isinstance(value, bool) or not sane(number):
            self.wrong(key, f"{key} must be a number, not “{text}”.")
            return Decimal(default)
        return number / 100 if text.endswith("%") else number

    def text(self, key: str, needed: bool = False) -> Text:
        """The words under `key` and its translations; empty words without them."""
        self.asked |= {name for name in self.table if name == key or name.startswith(f"{key} [")}
        text = text_from(self.table, key)
        if text is None and needed:
            self.wrong(key, f"{key} is missing.")
        return text or Text(en="")

    def unknown(self) -> None:
        """Report every key that nobody asked for."""
        for key in self.table.keys() - self.asked:
            self.wrong(key, f"“{key}” is not known here.")
