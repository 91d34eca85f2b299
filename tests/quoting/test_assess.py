"""Answers to facts, readings and findings, and what is said not to be measured."""

from __future__ import annotations

from fractions import Fraction

import pytest

from intake.book.model import Question
from intake.book.text import Text
from intake.quoting.assess import assess
from intake.quoting.model import Walkin
from tests.memo import sample_book


@pytest.fixture(scope="module")
def demo():
    return sample_book()


def question(id, step, kind="measure", **given):
    fields = {"label": Text(en=id), "how": Text(en=""), "unit": "in" if kind == "measure" else ""}
    return Question(id=id, step=step, kind=kind, **{**fields, **given})


@pytest.fixture(scope="module")
def checked(make):
    """A book whose one table calls relief over 0.010 high; questions on three steps."""
    table = make.table(
        "relief", ("relief",),
        [(">0.010", "relief-high", "work", Text(en="Relief is {relief}, over {relief limit}."))],
        ("finding", "severity", "says"),
    )  # fmt: skip
    questions = [
        question("customer_name", "customer", "words"),
        question("family", "instrument", "one"),
        question("relief", "neck"),
        question("twist", "neck", "one", families=("steel-string",)),
        question("heel_depth", "neck", optional=True),
        question("rod_travel", "neck", when={"rod": ("two_way",)}),
        question("neck_shape", "neck", "words"),
        question("crown_height", "frets"),
        question("photos", "frets", "photos"),
    ]
    return make.book(
        [], tables={"relief": table}, questions={each.id: each for each in questions}, units={"relief": "in"}
    )


def test_a_finding_says_the_value_and_its_limit(checked):
    (finding,) = assess(checked, Walkin({"relief": "0.012 in"})).findings
    assert str(finding.says) == "Relief is 0.012 in, over 0.010 in."
    (evidence,) = finding.evidence
    assert (evidence.id, evidence.value, evidence.limit) == ("relief", "0.012 in", "0.010 in")


def test_limits_are_exact_and_a_missing_answer_is_never_zero(checked):
    assert assess(checked, Walkin({"relief": ".010"})).findings == ()
    assert len(assess(checked, Walkin({"relief": ".0100000001"})).findings) == 1
    assert assess(checked, Walkin({})).findings == ()


def test_only_what_is_asked_can_be_measured_and_is_needed_counts_as_not_measured(checked):
    assert assess(checked, Walkin({})).not_measured == ("relief", "crown_height")
    assert assess(checked, Walkin({"relief": "0"})).not_measured == ("crown_height",)


def test_a_question_of_another_family_is_not_missing(demo):
    missing = {
        family: set(assess(demo, Walkin({"family": family})).not_measured) for family in ("electric", "banjo")
    }
    assert "head_tension" in missing["banjo"] - missing["electric"]


def test_answers_of_a_step_passed_as_not_assessed_count(checked):
    answers = {"relief": "0.012 in", "crown_height": "0.040 in"}

    result = assess(checked, Walkin(answers, not_assessed=frozenset({"neck"})))

    assert result.findings == assess(checked, Walkin(answers)).findings != ()
    assert (result.not_measured, result.not_assessed) == ((), {"neck"})


def test_what_was_assumed_is_named(checked):
    answers = {"relief": "0.012 in", "crown_height": "0.040 in"}

    result = assess(checked, Walkin(answers, assumed=frozenset({"relief", "rod"})))

    assert result.assumed == {"relief"}


def test_refused_answers_and_unknown_steps_are_problems_and_the_rest_holds(checked):
    result = assess(
        checked, Walkin({"relief": "thin", "crown_height": "1 mm", "reliff": "1"}, frozenset({"nek"}))
    )
    assert set(result.problems) == {"relief", "reliff", "not_assessed"}
    assert "relief" in result.not_measured
    assert "crown_height" in result.facts


def test_a_table_may_read_anothers_finding(make, checked):
    second = make.table(
        "second", ("finding.relief-high",),
        [("true", "again", "watch", Text(en="a")), ("false", "well", "fine", Text(en="b"))],
        ("finding", "severity", "says"),
    )  # fmt: skip
    book = make.book([], tables={**checked.tables, "second": second}, questions=checked.questions)
    assert [f.id for f in assess(book, Walkin({"relief": ".012"})).findings] == ["relief-high", "again"]
    (finding,) = assess(book, Walkin({"relief": ".008"})).findings
    assert (finding.id, finding.evidence) == ("well", ())


def test_a_table_on_pins_runs_once_a_pin(demo):
    pins = [{"part": "top", "kind": "brace", "state": "loose", "count": n} for n in (1, 2)]
    findings = assess(demo, Walkin({"family": "steel-string", "pins": pins})).findings
    assert sorted(f.item["number"] for f in findings if f.item) == [1, 2]
    none = assess(demo, Walkin({"family": "steel-string", "pins": "none"}))
    assert "pins" not in none.not_measured and not any(f.item for f in none.findings)


def test_readings_and_targets_are_facts(demo):
    facts = assess(
        demo, Walkin({"family": "steel-string", "crown_height": ".042", "fret_wear": {"1": ".008"}})
    ).facts
    assert facts["crown_left"] == Fraction("0.034")
    assert facts["crown_limit"] > 0


def test_words_follow_every_language_of_the_book(demo):
    for finding in assess(demo, Walkin({"family": "steel-string", "relief": "0.030 in"})).findings:
        assert {"en", "fr"} <= finding.says.keys()
        assert "{" not in "".join(finding.says.values())


def test_findings_answer_in_the_unit_that_was_typed(demo):
    typed = {
        "family": "classical",
        "action_bass_12": "4.8 mm",
        "action_treble_12": "4.0 mm",
        "relief": "0.010 in",
    }
    said = {f.id: f for f in assess(demo, Walkin({**typed, "saddle_showing": "1/8 in"})).findings}
    action = next(f for f in said.values() if "4.8 mm" in str(f.says))
    assert "4,8 mm" in action.says["fr"] and "4.5 mm and 3.6 mm" in str(action.says)
    assert any("8/64 in" in str(f.says) for f in said.values()), "the saddle was typed in inches"
