"""From answers to findings: facts, readings, and what each decision table says about them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from intake.book.answers import Answers, is_asked, read_answers
from intake.book.model import Book, Question
from intake.book.tables import Hit, Table
from intake.book.text import Text
from intake.book.wording import Labels, fill_text, labels_of, show_limit, show_value, shown_units
from intake.quoting.model import Assessment, Evidence, Finding, Walkin
from intake.trade.registry import compute_readings

MEASURING_STEPS = (
    "strings-and-room", "neck", "action", "frets", "top-and-bridge", "cracks-and-braces",
    "hardware-and-wiring",
)  # fmt: skip
OF_FINDINGS = ("finding", "severity", "explained.")
WISH_ROOM = Fraction(1, 128)
"""How far from an action asked for is as asked, where the book does not say; common practice, no source."""
NOT_MEASURABLE = ("words", "date", "photos")


def assess(book: Book, walkin: Walkin) -> Assessment:
    """What the book makes of a walk-in. Raises TableError where a `unique` table has two answers.

    What was answered in a step that was passed as not assessed counts; a refused answer is missing, with a
    sentence under `problems`.
    """
    answers = read_answers(book, walkin.answers)
    facts = known_facts(book, answers.values)
    readings = compute_readings({**facts, **book.beside})
    facts |= {id: reading.value for id, reading in readings.items()}
    findings = find(book, facts, shown_units(book.units, walkin.answers, book.shop.measures))
    return Assessment(
        facts=facts,
        readings=readings,
        findings=findings,
        not_measured=not_measured(book, answers.values),
        by_eye=walkin.by_eye & answers.values.keys(),
        not_assessed=walkin.not_assessed,
        problems=_problems(book, walkin, answers),
        assumed=walkin.assumed & answers.values.keys(),
    )


def _problems(book: Book, walkin: Walkin, answers: Answers) -> dict[str, str]:
    steps = {step.id for step in book.steps}
    strange = ", ".join(sorted(walkin.not_assessed - steps))
    wrong = {"not_assessed": f"“{strange}” is not a step of this book."} if strange else {}
    return {**answers.problems, **wrong}


def known_facts(book: Book, values: Mapping[str, Any]) -> dict[str, Any]:
    """The answers, and for this player and instrument the book's targets and defaults.

    Of several rows that apply, the first that gives a value counts; an answer counts before all of them.
    """
    facts = dict(values)
    if family := book.families.get(values.get("family", "")):
        facts["family_groups"] = family.groups
    for table in (book.defaults, book.hands, book.targets):
        for hit in table.evaluate(facts) if table else ():
            facts = {**hit.outputs, **facts}
    for hit in book.target_changes.evaluate(facts) if book.target_changes else ():
        moved = hit.outputs.keys() & facts.keys() - values.keys()
        facts |= {id: facts[id] + hit.outputs[id] for id in moved}
    return {**facts, **_own_targets(facts)}


def _own_targets(facts: Mapping[str, Any]) -> dict[str, Any]:
    """What this player asks for, and the book's `wish_room` to both sides; its own range stays beside it."""
    found: dict[str, Any] = {}
    room = facts.get("wish_room", WISH_ROOM)
    for side in ("bass", "treble"):
        own = facts.get(f"own_action_{side}")
        if isinstance(own, Fraction):
            found |= {
                f"book_action_{side}_{end}": facts[f"action_{side}_{end}"]
                for end in ("low", "high")
                if f"action_{side}_{end}" in facts
            }
            found |= {f"action_{side}_low": own - room, f"action_{side}_high": own + room}
    return found


def find(book: Book, facts: dict[str, Any], units: Mapping[str, str] | None = None) -> tuple[Finding, ...]:
    """Run the tables in their order; `finding.<id>` joins the facts, false until it is found.

    So does `explained.<id>`, false until a finding explains it. `units` are those in which the findings
    write the facts; else the book's.
    """
    tables = book.tables.values()
    facts |= {id: False for table in tables for id in table.gives}
    labels = labels_of(book)
    findings: list[Finding] = []
    for table in tables:
        for hit, item in _hits(table, facts, findings):
            findings.append(_finding(hit, {**facts, **(item or {})}, item, units or book.units, labels))
            facts[f"finding.{hit.outputs['finding']}"] = True
            facts |= {f"explained.{id}": True for id in str(hit.outputs.get("explains", "")).split()}
    return tuple(findings)


def _hits(
    table: Table, facts: Mapping[str, Any], findings: Sequence[Finding]
) -> list[tuple[Hit, Mapping[str, Any] | None]]:
    """The rules that apply, each with the item that it applies to."""
    if table.each == "findings":
        return [(hit, None) for hit in _hits_of_findings(table, facts, findings)]
    items = [None] if not table.each else facts.get(table.each, ())
    held = [item for item in items if item is None or isinstance(item, Mapping)]
    return [(hit, item) for item in held for hit in table.evaluate(facts, item)]


def _hits_of_findings(table: Table, facts: Mapping[str, Any], findings: Sequence[Finding]) -> list[Hit]:
    """The rules that any finding meets, in the order of the rows; the first for each new finding."""
    heard = {finding.id: finding for finding in findings if table.hears_of(finding.id)}
    items = ({"finding": finding.id, "severity": finding.severity} for finding in heard.values())
    hits = (hit for item in items for hit in table.evaluate(facts, item))
    first: dict[str, Hit] = {}
    for hit in sorted(hits, key=lambda hit: hit.row):
        first.setdefault(hit.outputs["finding"], hit)
    return list(first.values())


def _finding(
    hit: Hit,
    facts: Mapping[str, Any],
    item: Mapping[str, Any] | None,
    units: Mapping[str, str],
    labels: Labels,
) -> Finding:
    def filled(text: Text) -> Text:
        return fill_text(text, facts, units, hit.tested, labels)

    out = hit.outputs
    return Finding(
        id=out["finding"],
        severity=out["severity"],
        says=filled(out["says"]),
        evidence=tuple(_evidence(hit, facts, units, labels)),
        caution=filled(out["caution"]) if "caution" in out else None,
        holds=tuple(out.get("holds", "").split()),
        item=item,
        may_follow=tuple(out.get("may follow", "").split()),
        told=out.get("told") == "yes",
    )


def _evidence(
    hit: Hit, facts: Mapping[str, Any], units: Mapping[str, str], labels: Labels
) -> Iterator[Evidence]:
    """What the rule tested, except other findings, which bring their own."""
    for id, tests in hit.tested.items():
        if not id.startswith(OF_FINDINGS):
            value = fact_value(id, facts)
            limit = show_limit(id, tests, value, units, labels)
            yield Evidence(
                id, show_value(id, value, units, labels), f"not {limit}" if tests.negated else limit
            )


def fact_value(id: str, facts: Mapping[str, Any]) -> Any:
    """A fact by its id, or a map's member by `original.bridge`."""
    name, _, member = id.partition(".")
    held = facts.get(name)
    return held.get(member) if member and isinstance(held, Mapping) else facts.get(id)


def not_measured(book: Book, values: Mapping[str, Any]) -> tuple[str, ...]:
    """What the checklist asks of this instrument, could be measured, and was not."""
    return tuple(
        id
        for id, question in book.questions.items()
        if id not in values and _measurable(question) and is_asked(question, values)
    )


def _measurable(question: Question) -> bool:
    return question.step in MEASURING_STEPS and question.kind not in NOT_MEASURABLE and not question.optional
