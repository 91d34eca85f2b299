"""Hand-made books and quotes: small, complete, and exact to the cent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest

from intake.book.model import Book, Choice, Hours, Job, Part, Question, Shop, Step, Tax
from intake.book.text import Text
from intake.quoting.model import Assessment, Finding, Line, Offer, PlannedJob, Quote, Walkin

F = Fraction
STEPS = ("customer", "instrument", "player", "neck", "action", "frets", "top-and-bridge", "cracks-and-braces")


def text(english: str, **others: str) -> Text:
    return Text(en=english, **others)


def make_shop(**changes: Any) -> Shop:
    hours = {day: ((time(10), time(18)),) for day in range(1, 6)}
    shop = Shop(
        name="Harbour Lane Strings", address=("14 Harbour Lane", "Port Ellery"), phone="555 0142",
        email="bench@harbourlane.example", currency="USD", locale="en_US", languages=("en", "fr"),
        region="US",
        labour_rate=Decimal("85.00"), taxes=(Tax(text("sales tax", fr="taxe"), Decimal("0.08")),),
        rounding=Decimal("1.00"), minimum=Decimal("40.00"),
        supplies_rate=Decimal("0.03"), deposit_rate=Decimal("0.25"), valid_days=30,
        worth_warning=Decimal("0.5"), open_hours=hours, closed=(), productive_share=F(3, 4), answer_days=7,
        terms=(text("Removed parts go back to you."), text("We store instruments for 60 days.")),
        note=text("Bring the case if you have one."),
    )  # fmt: skip
    return replace(shop, **changes)


def make_question(id_: str, step: str, label: str, kind: str = "measure", **more: Any) -> Question:
    return Question(id_, step, kind, text(label), text(""), **{"unit": "in", **more})


def choices(**labels: str) -> tuple[Choice, ...]:
    return tuple(Choice(id_.replace("_", "-") if id_ == "steel_string" else id_, text(label))
                 for id_, label in labels.items())  # fmt: skip


def make_questions() -> dict[str, Question]:
    one = {"kind": "one", "unit": ""}
    asked = (
        make_question("family", "instrument", "Family", values=choices(steel_string="Flat top"), **one),
        make_question("style", "player", "Style", values=choices(flatpick="Flatpick"), **one),
        make_question("attack", "player", "Attack", values=choices(firm="firm attack"), **one),
        make_question("gauge_set", "player", "Strings", values=choices(light="light gauge"), **one),
        make_question("complaints", "player", "Complaints", "several", unit="",
                      values=choices(buzz="Buzz", rattle="Rattle")),
        make_question("action_bass_12", "action", "Action at the 12th, bass"),
        make_question("action_treble_12", "action", "Action at the 12th, treble"),
        make_question("relief", "neck", "Relief"),
        make_question("heel_depth", "neck", "Heel depth"),
        make_question("nut_bass_1", "action", "First fret, bass"),
        make_question("nut_treble_1", "action", "First fret, treble"),
        make_question("saddle_showing", "action", "Saddle showing"),
        make_question("straightedge_at_bridge", "neck", "Straightedge at the bridge"),
        make_question("crown_height", "frets", "Crown of the least-worn fret"),
        make_question("bridge_lift", "top-and-bridge", "Bridge lift"),
        make_question("pins", "cracks-and-braces", "Places", "pins", unit="",
                      parts=choices(top="Top", side="Side"), kinds=choices(crack="crack", brace="brace"),
                      states=choices(open="open", loose="loose")),
    )  # fmt: skip
    return {question.id: question for question in asked}


def make_job(id_: str, name: str, **more: Any) -> Job:
    usual: dict[str, Any] = {
        "group": "setup", "name": text(name), "hours": Hours(F(1), F(2), F(3)), "price": None, "stage": 1,
        "per": text(""), "after": (), "needs": (), "needs_if_found": (), "includes": (), "forecast_after": (),
        "operations": (), "parts": (), "wait": timedelta(0), "wait_kind": "", "splits": True, "skill": 1,
        "caution": None,
    }  # fmt: skip
    return Job(id=id_, **(usual | more))


def make_book(jobs: tuple[Job, ...] = (), **shop: Any) -> Book:
    table = SimpleNamespace()
    jobs = jobs or (
        make_job("humidify", "Humidify slowly"),
        make_job("brace-reglue", "Reglue a loose brace", per=text("brace", fr="barre")),
        make_job("fret-level-crown", "Level, crown and polish the frets", forecast_after=("humidify",)),
        make_job("restring", "Put on new strings"),
        make_job("setup", "Full setup", includes=("restring",)),
        make_job("neck-reset", "Reset the neck"),
    )
    return Book(
        shop=make_shop(**shop),
        steps=tuple(Step(id_, text(id_.replace("-", " ").capitalize()), text("")) for id_ in STEPS),
        questions=make_questions(), targets=table, defaults=table, tables={}, remedies=table, factors=table,
        fitting=table, jobs={job.id: job for job in jobs}, operations={},
        parts={"string-set": Part("string-set", text("Strings"), Decimal(6), Decimal("12.5"), "set", True)},
        strings=(), woods=(), digest="0" * 64,
    )  # fmt: skip


def make_planned(id_: str, name: str, price: str, **more: Any) -> PlannedJob:
    usual: dict[str, Any] = {
        "quantity": 1, "tier": "put_right", "hours": Hours(F(1), F(3, 2), F(5, 2)), "labour": Decimal(price),
        "parts": (), "includes": (), "because": (), "reasons": (), "instead_of": (), "forecast": False,
        "caution": None,
    }  # fmt: skip
    return PlannedJob(id=id_, name=text(name), price=Decimal(price), **(usual | more))


def make_offer(tier: str, jobs: tuple[PlannedJob, ...], lines: tuple[Line, ...] = (), **more: Any) -> Offer:
    """An offer that adds up: the jobs, the given lines, then 8 % tax."""
    before = sum((job.price for job in jobs), Decimal(0)) + sum((x.amount for x in lines), Decimal(0))
    tax = (before * Decimal("0.08")).quantize(Decimal("0.01"))
    usual: dict[str, Any] = {
        "hours_low": F(3), "hours_high": F(11, 2), "hours_p80": F(5), "labour": before, "parts": Decimal(0),
        "ready": date(2026, 12, 18), "worth_share": None,
        "deposit": ((before + tax) / 4).quantize(Decimal("0.01")),
    }  # fmt: skip
    taxes = (Line("tax", text("sales tax", fr="taxe"), tax),)
    return Offer(
        tier=tier, jobs=tuple(job.id for job in jobs),
        lines=(*lines, Line("tax", text("Sales tax 8 %"), tax)),
        taxes=taxes, tax=tax, total=before + tax, **(usual | more),
    )  # fmt: skip


def make_assessment(facts: Mapping[str, Any], findings: tuple[Finding, ...] = (), **more: Any) -> Assessment:
    usual: dict[str, Any] = {
        "not_measured": (), "by_eye": frozenset(), "not_assessed": frozenset(), "problems": {},
    }  # fmt: skip
    return Assessment(facts=facts, readings={}, findings=findings, **(usual | more))


def make_quote(
    assessment: Assessment, jobs: tuple[PlannedJob, ...], offers: Mapping[str, Offer], **more: Any
) -> Quote:
    usual: dict[str, Any] = {
        "held": (), "cautions": (), "currency": "USD", "book_digest": "0" * 64, "made_on": date(2026, 11, 25),
        "answer_by": date(2026, 12, 2), "valid_until": date(2026, 12, 25),
    }  # fmt: skip
    return Quote(assessment=assessment, jobs=jobs, offers=offers, **(usual | more))


SIMPLE_FACTS = {"family": "steel-string", "string_count": F(6), "complaints": ("buzz",)}
FULL_FACTS: dict[str, Any] = {
    "family": "steel-string", "style": "flatpick", "attack": "firm", "gauge_set": "light",
    "complaints": ("buzz", "rattle"), "string_count": F(6), "fret_count": F(19), "join_fret": F(14),
    "scale_length": F("24.75"), "relief": F("0.008"),
    "action_bass_12": F(9, 64), "action_treble_12": F(7, 64),
    "nut_bass_1": F("0.020"), "nut_treble_1": F("0.015"), "saddle_showing": F(1, 16),
    "straightedge_at_bridge": F(-11, 64), "crown_height": F("0.042"), "bridge_lift": F(0),
    "fret_wear": {1: F("0.008"), 2: F("0.013"), 3: F("0.006")}, "crown_left": F("0.029"),
    "loose_frets": (7,), "buzz_at": ("3/2", "1/5"),
    "pins": (
        {"number": 1, "part": "top", "kind": "brace", "state": "loose", "count": 2},
        {"number": 2, "part": "top", "kind": "crack", "state": "open", "size": F(5), "x": 40, "y": 80},
    ),
    "action_bass_low": F(5, 64), "action_bass_high": F(7, 64), "action_treble_low": F(3, 64),
    "action_treble_high": F(5, 64), "relief_low": F("0.004"), "relief_high": F("0.010"),
    "nut_bass_low": F("0.014"), "nut_bass_high": F("0.022"), "nut_treble_low": F("0.010"),
    "nut_treble_high": F("0.018"), "saddle_least": F(1, 16), "saddle_wanted": F(1, 8),
    "crown_limit": F("0.030"), "saddle_left": F(-1, 32), "neck_angle_deficit": F(5, 32),
}  # fmt: skip
ANSWERS = {
    "customer_name": "R. Okafor", "customer_phone": "555 0188", "customer_email": "r.okafor@example.org",
    "complaint_words": "Hard to play up the neck and a rattle on the third string.", "serial": "0817",
    "year_about": 1934, "string_count": 6, "action_bass_12": "9/64 in", "action_treble_12": "7/64 in",
}  # fmt: skip


@pytest.fixture
def make() -> SimpleNamespace:
    """The factories of this file."""
    made = {name.removeprefix("make_"): made for name, made in globals().items() if name.startswith("make_")}
    return SimpleNamespace(**made, choices=choices, text=text, facts=FULL_FACTS)


@pytest.fixture
def book() -> Book:
    return make_book()


@pytest.fixture
def simple() -> tuple[Quote, Walkin]:
    """One job, the same in all three offers, nothing measured."""
    job = make_planned(
        "restring", "Put on new strings", "45.00", reasons=(text("The strings are months old."),)
    )
    offers = {tier: make_offer(tier, (job,)) for tier in ("playable", "put_right", "everything")}
    assessment = make_assessment(SIMPLE_FACTS, not_assessed=frozenset({"neck", "action", "frets"}))
    answers = {"customer_name": "R. Okafor", "customer_phone": "555 0188", "string_count": 6}
    return make_quote(assessment, (job,), offers), Walkin(answers, frozenset({"neck", "action", "frets"}))


def full_jobs() -> tuple[PlannedJob, ...]:
    dry = text("Room at 28 %; 40 % is the least.")
    saddle = text("With the action right the saddle would show −2/64 in; 4/64 in is the least.")
    frets = text("After levelling 0.029 in would be left; 0.030 in is the least.")
    return (
        make_planned("humidify", "Humidify slowly", "60.00", tier="everything", reasons=(dry,),
                     because=("dry_body",)),
        make_planned("brace-reglue", "Reglue a loose brace", "170.00", quantity=2, tier="playable",
                     reasons=(text("Loose brace, top (pin 1)."),), because=("brace_loose",)),
        make_planned("neck-reset", "Reset the neck", "640.00", tier="playable", reasons=(saddle,)),
        make_planned("fret-level-crown", "Level, crown and polish the frets", "210.00", forecast=True,
                     reasons=(frets,)),
        make_planned("setup", "Full setup", "102.50", includes=("restring",), labour=Decimal("90.00"),
                     parts=(("string-set", F(1), Decimal("12.50")),),
                     caution=text("Old lacquer may chip at the nut.")),
    )  # fmt: skip


@pytest.fixture
def full() -> tuple[Quote, Walkin]:
    """Three different offers, every kind of section, every drawing."""
    jobs = full_jobs()
    shared = Line("shared", text("Strings off and on, done once"), Decimal("-34.00"))
    supplies = Line("supplies", text("Shop supplies"), Decimal("28.45"))
    offers = {
        "playable": make_offer("playable", jobs[1:3], (shared,), ready=date(2026, 12, 8)),
        "put_right": make_offer("put_right", jobs[1:], (shared, supplies), worth_share=Decimal("0.62")),
        "everything": make_offer("everything", jobs, (shared, supplies), ready=date(2027, 1, 15)),
    }
    watch = Finding("hump", "watch", text("A slight hump at the body join: look again in a year."), ())
    dry = Finding("dry_body", "work", text("Room at 28 %; 40 % is the least."), ())
    assessment = make_assessment(
        FULL_FACTS, (dry, watch), not_measured=("heel_depth",), not_assessed=frozenset({"top-and-bridge"}),
        by_eye=frozenset({"pins"}),
    )  # fmt: skip
    more = {
        "cautions": (text("The work costs more than half of what the instrument is worth."),),
        "notes": (text("The customer needs it for a wedding."),),
    }
    return make_quote(assessment, jobs, offers, **more), Walkin(ANSWERS)
