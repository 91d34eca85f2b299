"""What each fact of a book can be, and when it can be there: the ground the checker stands on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from intake.book.answers import is_asked
from intake.book.grid import Conditions
from intake.book.model import SEVERITIES, Book, Question
from intake.book.partition import Domain
from intake.book.tables import Table
from intake.trade import registry

WORDS = Domain()
TRUTH = Domain(values=(False, True))
COUNT = Domain(numbers=True, low=Fraction(1), whole=True)
PLACE_FIELDS = {
    "place": Domain(many=True),
    "string": Domain(numbers=True, low=Fraction(1), whole=True),
    "fret": Domain(numbers=True, low=Fraction(0), whole=True),
    "loose": Domain(numbers=True, low=Fraction(0), whole=True),
    "worn": Domain(numbers=True, low=Fraction(0)), "next_worn": Domain(numbers=True, low=Fraction(0)),
    "nut_here": Domain(numbers=True),
}  # fmt: skip
PIN_NUMBERS = {
    "number": COUNT,
    "count": COUNT,
    "pieces_8in": COUNT,
    "pieces_6in": COUNT,
    "size": Domain(numbers=True, low=Fraction(0)),
    "x": Domain(numbers=True, low=Fraction(0), high=Fraction(100)),
    "y": Domain(numbers=True, low=Fraction(0), high=Fraction(100)),
}


def fact_domains(book: Book) -> dict[str, Domain]:
    """Every fact that any table may test, by id: answers, members of maps, readings, targets, findings."""
    domains: dict[str, Domain] = {}
    for table in (given for given in book.given if given is not book.target_changes):
        domains |= {output.name: _given(table, output.name) for output in table.outputs}
    for spec in registry.REGISTRY.values():
        domains[spec.id] = _reading(spec)
    for question in book.questions.values():
        domains[question.id] = _question(question)
        if question.kind == "part_states":
            states = Domain(values=_ids(question.states or question.values))
            domains |= {f"{question.id}.{part.id}": states for part in question.parts}
        if question.kind == "part_depths":
            depth = Domain(numbers=True, low=question.low, high=question.high)
            domains |= {f"{question.id}.{part.id}": depth for part in question.parts}
    groups = (group for family in book.families.values() for group in family.groups)
    domains["family_groups"] = Domain(values=tuple(dict.fromkeys(groups)), many=True)
    domains |= {id: TRUTH for table in book.tables.values() for id in table.gives}
    return domains


def item_domains(book: Book, table: Table) -> dict[str, Domain]:
    """The fields of the items of a table with `each`."""
    if table.each == "jobs":
        groups = tuple(dict.fromkeys(job.group for job in book.jobs.values()))
        return {
            "job": Domain(values=tuple(book.jobs)),
            "group": Domain(values=groups),
            "skill": COUNT,
            "quantity": COUNT,
        }
    fields = _pin_fields(book) if table.each == "pins" or table is book.remedies else {}
    if table.each == "buzz_places":
        fields |= PLACE_FIELDS
    if table.each == "findings":
        fields["finding"] = Domain(values=findings_of(book))
        fields["severity"] = Domain(values=SEVERITIES)
    return fields


def findings_of(book: Book) -> tuple[str, ...]:
    """Every finding that a table gives, in order."""
    return tuple(
        dict.fromkeys(finding for table in book.tables.values() for finding in table.values_of("finding"))
    )


def conditions_of(book: Book) -> Conditions:
    """When an answer can be there: its question's families, and the questions that `when` names."""
    conditions: dict[str, Mapping[str, Callable[[Any], bool]]] = {}
    for question in book.questions.values():
        needs = _needs(question)
        if needs:
            conditions[question.id] = needs
            conditions |= {f"{question.id}.{part.id}": needs for part in question.parts}
    return conditions


def _needs(question: Question) -> dict[str, Callable[[Any], bool]]:
    alone = replace(question, families=(), when={})
    needs = {id: _asked(replace(alone, when={id: values}), id) for id, values in question.when.items()}
    if question.families:
        needs["family"] = _asked(replace(alone, families=question.families), "family")
    return needs


def _asked(question: Question, id: str) -> Callable[[Any], bool]:
    return lambda value: is_asked(question, {id: value})


def _ids(choices: tuple[Any, ...]) -> tuple[str, ...]:
    return tuple(choice.id for choice in choices)


def _given(table: Table, output: str) -> Domain:
    """What targets or defaults give under a name: numbers, or the words that stand there."""
    given = [row.outputs[output] for row in table.rows if output in row.outputs]
    words = tuple(dict.fromkeys(value for value in given if isinstance(value, str)))
    return Domain(values=words) if words else Domain(numbers=True)


def _reading(spec: registry.ReadingSpec) -> Domain:
    gives = str(spec.function.__annotations__.get("return", ""))
    if gives.startswith("str"):
        return WORDS
    whole = spec.unit in ("", "count") and spec.resolution.denominator == 1
    many = gives.startswith(("tuple", "dict", "Mapping"))
    return Domain(numbers=True, low=spec.low, high=spec.high, whole=whole, many=many)


def _question(question: Question) -> Domain:
    low, high = question.low, question.high
    match question.kind:
        case "one":
            return Domain(values=_ids(question.values))
        case "several":
            return Domain(values=_ids(question.values), many=True)
        case "yes_no":
            return TRUTH
        case "number":
            return Domain(numbers=True, low=low, high=high, whole=not question.unit)
        case "measure":
            return Domain(numbers=True, low=low, high=high)
        case "money":
            return Domain(numbers=True, low=low if low is not None else Fraction(0), high=high)
        case "measures":
            return Domain(numbers=True, low=low, high=high, many=True)
        case "fret_depths":
            return Domain(numbers=True, low=low, high=high, many=True, or_none=True)
        case "frets":
            return Domain(numbers=True, low=Fraction(1), whole=True, many=True, or_none=True)
        case "part_states":
            return Domain(values=_ids(question.states or question.values), many=True)
        case "part_depths":
            return Domain(numbers=True, low=low, high=high, many=True)
        case "string_frets" | "photos":
            return Domain(many=True)
        case _:
            return WORDS


def _pin_fields(book: Book) -> dict[str, Domain]:
    fields = dict(PIN_NUMBERS)
    for question in book.questions.values():
        if question.kind == "pins":
            fields["part"] = Domain(values=_ids(question.parts))
            fields["kind"] = Domain(values=_ids(question.kinds))
            fields["state"] = Domain(values=_ids(question.states))
    return fields
