"""families.csv: what is drawn for a family of instruments, and in which groups it is."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

from intake.book.files.lists import read_plain
from intake.book.model import DRAWN, Choice, Family, Question
from intake.book.problems import Problem, unknown

FAMILIES, TUNINGS = "families.csv", "tunings.csv"
NEEDED = ("family", "drawn_as", "groups", "strings", "short_string", "string_tension")
TUNED = ("family", "string_count", "tuned")
Places = Mapping[tuple[str, str], int]


def families_of(
    rows: Sequence[Mapping[str, str]],
    questions: Mapping[str, Question],
    places: Places,
    problems: list[Problem],
) -> dict[str, Family]:
    """Every family of the checklist; one without a row is drawn as a body of its own name, or not at all."""
    known = [choice.id for choice in questions["family"].values] if "family" in questions else []
    found = {id: Family(id, id if id in DRAWN else "") for id in known}
    for number, row in enumerate(rows):
        line, id, drawn = places.get((FAMILIES, str(number))), row.get("family", ""), row.get("drawn_as", "")
        if id not in known:
            problems.append(Problem(FAMILIES, line, "family", unknown("family", id, known)))
        elif drawn and drawn not in DRAWN:
            sentence = f"There is no drawing of “{drawn}”; write {', '.join(DRAWN)}, or nothing."
            problems.append(Problem(FAMILIES, line, "drawn_as", sentence))
        else:
            found[id] = Family(id, drawn, tuple(row.get("groups", "").split()))
    return found


def groups_of(families: Mapping[str, Family]) -> dict[str, tuple[str, ...]]:
    """Each group with its members; a word that is a family's id too is that family."""
    named = dict.fromkeys(group for family in families.values() for group in family.groups)
    return {
        group: tuple(family.id for family in families.values() if group in family.groups)
        for group in named
        if group not in families
    }


def groups_beside(table: Path) -> dict[str, tuple[str, ...]]:
    """The groups of the families.csv in the folder of that table, or in the one around it."""
    for folder in table.absolute().parents[:2]:
        if (folder / FAMILIES).is_file():
            rows = read_plain(folder / FAMILIES, NEEDED, [], {})
            return groups_of(
                {row["family"]: Family(row["family"], "", tuple(row["groups"].split())) for row in rows}
            )
    return {}


@lru_cache(maxsize=2)
def usual(file: str) -> tuple[Mapping[str, str], ...]:
    """The rows of that file for books that were written before it was, and for families left out of it."""
    text = (files("intake.book.files") / "usual" / file).read_text("utf-8")
    return tuple(csv.DictReader(io.StringIO(text, newline="")))


def with_families(questions: Mapping[str, Question], families: Mapping[str, Family]) -> dict[str, Question]:
    """The questions with their groups of families spelled out, and each family with what is drawn for it."""
    spelled = {
        id: replace(question, families=_members(question, families)) for id, question in questions.items()
    }
    if "family" in spelled:
        values = tuple(
            Choice(choice.id, choice.label, families[choice.id].drawn_as)
            for choice in spelled["family"].values
        )
        spelled["family"] = replace(spelled["family"], values=values)
    return spelled


def _members(question: Question, families: Mapping[str, Family]) -> tuple[str, ...]:
    """The families that it is asked of; empty for all. A word that names neither is left to the checker."""
    asked = _named(question.families, families)
    without = set(_named(question.not_families, families))
    return tuple(id for id in asked or (families if without else ()) if id not in without)


def _named(words: Sequence[str], families: Mapping[str, Family]) -> list[str]:
    found: list[str] = []
    for word in words:
        members = [family.id for family in families.values() if word == family.id or word in family.groups]
        found += members or [word]
    return list(dict.fromkeys(found))
