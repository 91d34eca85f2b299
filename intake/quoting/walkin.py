"""Walk-in files: what the counter took down, as TOML that people can write."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from intake.book.files.toml import open_toml
from intake.book.problems import Problem
from intake.quoting.model import Walkin

KNOWN = ("title", "why", "language", "not_assessed", "by_eye", "answers", "expect")
LISTS = ("not_assessed", "by_eye")
MOST_PROBLEMS = 20


class WalkinError(ValueError):
    """A walk-in file that cannot be used; `problems` name file, line and key."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


def load_walkin(path: Path) -> Walkin:
    """Read a walk-in; the answers stay as typed, and `[expect]` is left to tests. Raises WalkinError."""
    table = _table(path)
    faulty = {key: sentence for key, value in table.items() if (sentence := _fault(key, value))}
    if faulty:
        raise WalkinError(problems_at(path, faulty))
    return Walkin(
        answers=table.get("answers", {}),
        not_assessed=frozenset(table.get("not_assessed", ())),
        by_eye=frozenset(table.get("by_eye", ())),
        title=table.get("title", ""),
        why=table.get("why", ""),
        language=table.get("language", ""),
    )


def _table(path: Path) -> dict[str, Any]:
    problems: list[Problem] = []
    try:
        table = open_toml(path, problems)
    except OSError as error:
        sentence = f"This file cannot be read: {error.strerror}."
        raise WalkinError([Problem(str(path), None, "", sentence)]) from None
    if table is None:
        raise WalkinError([replace(problem, file=str(path)) for problem in problems])
    return table


def _fault(key: str, value: Any) -> str:
    """What is wrong with that key; empty if nothing is."""
    if key not in KNOWN:
        return f"“{key}” is not known here; answers stand under [answers]."
    if key in LISTS and not (isinstance(value, list) and all(isinstance(item, str) for item in value)):
        return f"{key} is a list of ids."
    if key in ("answers", "expect"):
        return "" if isinstance(value, Mapping) else f"{key} is a table."
    if key not in LISTS and not isinstance(value, str):
        return f"{key} is text in quotes."
    return ""


def problems_at(path: Path, sentences: Mapping[str, str]) -> list[Problem]:
    """The problems of those keys or answers, each at the first line of the file that names it; of a great
    many, the first."""
    lines = path.read_text("utf-8-sig").splitlines()
    shown = list(sentences.items())[:MOST_PROBLEMS]
    found = [Problem(str(path), _line_of(id, lines), id, sentence) for id, sentence in shown]
    if len(sentences) > len(found):
        found.append(Problem(str(path), None, "", f"{len(sentences) - len(found)} more are wrong."))
    return found


def _line_of(id: str, lines: list[str]) -> int | None:
    pattern = re.compile(rf"""\s*(?:["']?{re.escape(id)}["']?\s*[=.]|\[answers\.{re.escape(id)}\])""")
    return next((number for number, line in enumerate(lines, 1) if pattern.match(line)), None)
