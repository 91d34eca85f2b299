"""Anything as an answer to any question of the demo book: saved, weighed, quoted and shown, never a 500.

FUZZ=50 in the environment looks fifty times as long.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from intake.book.model import Question
from intake.config import demo_book

pytestmark = [pytest.mark.timeout(3600), pytest.mark.deep]
MARK = "<fuzz-mark a='\">"
WALKINS = sorted(path.name.split("-")[0] for path in Path(demo_book(), "walkins").glob("*.toml"))
NASTY = (
    "0", "-1", "1e999", "1e-999", "NaN", "inf", "9" * 5000, "1/0", "0/0", "1/3", "-5/64 in", "٣", "½", "1½",
    "²", "\0", "a\0b", "\r\n", "\u2028", "\u202e", "\U0001f3b8", "é" * 300, "../..", "' or 1=1 --", "{{7*7}}",
    "{relief}", "%s%n", "=1+1", "javascript:alert(1)", "none", "null", "true", "1,2,3", "1;2", MARK,
    "x" * 5000, "1/0/0", "99999 in", "0.0000000001 in", "0 in", "0,18 mm", "1 000 mm", "12 12 12", "-40 C",
    "451 F", "101 %",
    "2026-02-30", "0001-01-01", "9999-12-31", "99999-01-01", "2026-11-25", "12'", '12"',
)  # fmt: skip
numbers = st.one_of(
    st.integers(-5, 10**6).map(str),
    st.floats(allow_nan=False, allow_infinity=False, width=32).map(str),
    st.tuples(st.integers(-9, 99), st.integers(0, 128)).map(lambda pair: f"{pair[0]}/{pair[1]}"),
)
units = st.sampled_from(["", " in", " mm", " cm", "in", " lb", " F", " C", " %", " kg", " ft", " ½", "″"])
measures = st.tuples(numbers, units).map("".join)
anything = st.one_of(st.sampled_from(NASTY), measures, st.text(max_size=30))


def choices(question: Question) -> st.SearchStrategy[str]:
    """One of the values offered, more often than anything else."""
    offered = [choice.id for choice in question.values]
    known = st.sampled_from(offered) if offered else measures
    return st.one_of(known, known, known, measures, anything)


def members(question: Question) -> st.SearchStrategy[tuple[str, str]]:
    """A field of a question that has several, with its value."""
    ids = [choice.id for choice in (*question.parts, *question.values)]
    names = st.one_of(st.sampled_from(ids) if ids else st.integers(0, 30).map(str), st.text(max_size=5))
    if question.kind == "pins":
        fields = st.sampled_from(
            ["part", "kind", "state", "size", "count", "pieces_8in", "pieces_6in", "x", "y", "?"]
        )
        ids = [choice.id for choice in (*question.parts, *question.kinds, *question.states)]
        values = st.one_of(st.sampled_from(ids), measures, anything)
        return st.tuples(st.tuples(st.integers(0, 12), fields).map(lambda n: f"{n[0]}.{n[1]}"), values)
    states = [choice.id for choice in question.states]
    return st.tuples(names, st.one_of(st.sampled_from(states), anything) if states else anything)


def fields(question: Question) -> st.SearchStrategy[list[tuple[str, str]]]:
    """What a form may send for one question."""
    id = question.id
    one = choices(question).map(lambda value: [(id, value)])
    if question.kind in ("pins", "fret_depths", "part_states"):
        many = st.lists(members(question), max_size=12).map(
            lambda found: [(f"{id}.{name}", value) for name, value in found]
        )
        return st.one_of(many, many, many, one)
    if question.kind in ("several", "measures", "frets", "string_frets", "photos"):
        return st.lists(choices(question), max_size=14).map(lambda found: [(id, value) for value in found])
    return one


@st.composite
def forms(draw: st.DrawFn, questions: Mapping[str, Question]) -> tuple[str, list[tuple[str, str]]]:
    """A sample walk-in, or none; and other answers in place of some of its own."""
    changed = draw(st.lists(st.sampled_from(sorted(questions)), unique=True, max_size=12))
    instead = [pair for id in changed for pair in draw(fields(questions[id])) or [(id, "")]]
    return draw(st.sampled_from(["", *WALKINS])), instead


def check(site: Any, answer: Any, asked: object, allowed: tuple[int, ...]) -> None:
    written, site.logged.lines[:] = [*site.logged.lines], []
    assert answer.status_code in allowed and written == [], (answer.status_code, asked)
    assert MARK not in answer.text, asked


def test_fuzz_answers_to_every_question(site: Any, walkin_fields: Any, harder: int) -> None:
    walkins = {"": [], **{number: walkin_fields(site.ctx, number) for number in WALKINS}}
    client = site.client()
    quoted = 0

    @settings(max_examples=30 * harder, suppress_health_check=list(HealthCheck))
    @given(forms(site.ctx.book.questions))
    @example((WALKINS[0], []))
    @example((WALKINS[1], []))
    @example((WALKINS[2], []))
    def fill_in(drawn: tuple[str, list[tuple[str, str]]]) -> None:
        nonlocal quoted
        number, instead = drawn
        gone = {name.split(".")[0] for name, _ in instead}
        form = [*(pair for pair in walkins[number] if pair[0].split(".")[0] not in gone), *instead]
        place = f"/tickets/{uuid4()}"
        check(site, client.post(place, data=MultiDict(form)), form, (303, 422))
        for page in (place, f"{place}/summary"):
            check(site, client.get(page), form, (200,))
        frozen = client.post(f"{place}/quotes")
        check(site, frozen, form, (303, 422))
        if frozen.status_code == 303:
            quoted += 1
            quote = frozen.headers["Location"]
            for page in (quote, f"{quote}/goahead", f"{quote}/send"):
                check(site, client.get(page), form, (200,))
        check(site, client.get("/"), form, (200,))

    fill_in()
    assert quoted >= 3, "or nothing behind the quote was tried"


def test_every_question_alone_takes_every_nasty_word(site: Any) -> None:
    """Each answer stands by itself in its step's save, which says what is wrong with it."""
    client = site.client()
    for number, question in enumerate(site.ctx.book.questions.values()):
        place = f"/tickets/{uuid4()}/steps/{question.step}"
        words = [word for at, word in enumerate(NASTY) if at % 8 == number % 8]
        based_on = "0"
        for word in words:
            form = {question.id: word, f"{question.id}.1": word, "based_on": based_on}
            answer = client.post(place, data=form)
            check(site, answer, (question.id, word), (200, 422))
            based_on = answer.headers["Revision"]
