"""Walk-in files: what the counter took down, as TOML that people can write."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from intake.book.problems import Problem
from intake.quoting.model import Walkin

KNOWN = ("title", "why", "language", "not_assessed", "by_eye", "answers", "expect")
LISTS = ("not_assessed", "by_eye")


class WalkinError(ValueError):
    """A walk-in file that cannot be used; `problems` name file, line and key."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


def load_walkin(path: Path) -> Walkin:
    """Read a walk-in; the answers stay as typed, and `[expect]` is left to tests. Raises WalkinError."""
    table = _table(path)
    problems = [problem for key, value in table.items() if (problem := _faulty(path, key, value))]
    if problems:
        raise WalkinError(problems)
    return Walkin(
        answers=table.get("answers", {}),
        not_assessed=frozenset(table.get("not_assessed", ())),
        by_eye=frozenset(table.get("by_eye", ())),
        title=table.get("title", ""),
        why=table.get("why", ""),
        language=table.get("language", ""),
    )


def _table(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n"), parse_float=Decimal)
    except OSError as error:
        sentence = f"This file cannot be read: {error.strerror}."
        raise WalkinError([Problem(str(path), None, "", sentence)]) from None
    except UnicodeDecodeError:
        raise WalkinError([Problem(str(path), None, "", "This is not UTF-8 text.")]) from None
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        place = int(line[1]) if line else None
        sentence = f"This is not TOML that can be read: {error}."
        raise WalkinError([Problem(str(path), place, "", sentence)]) from None


def _faulty(path: Path, key: str, value: Any) -> Problem | None:
    if key not in KNOWN:
        return problem_at(path, key, f"“{key}” is not known here; answers stand under [answers].")
    if key in LISTS and not (isinstance(value, list) and all(isinstance(item, str) for item in value)):
        return problem_at(path, key, f"{key} is a list of ids.")
    if key in ("answers", "expect"):
        return None if isinstance(value, Mapping) else problem_at(path, key, f"{key} is a table.")
    if key not in LISTS and not isinstance(value, str):
        return problem_at(path, key, f"{key} is text in quotes.")
    return None


def problem_at(path: Path, id: str, sentence: str) -> Problem:
    """A problem with one answer, at the first line of the file that names it."""
    pattern = re.compile(rf"""\s*(?:["']?{re.escape(id)}["']?\s*[=.]|\[answers\.{re.escape(id)}\])""")
    lines = path.read_text("utf-8-sig").splitlines()
    row = next((number for number, line in enumerate(lines, 1) if pattern.match(line)), None)
    return Problem(str(path), row, id, sentence)
