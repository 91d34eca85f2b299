"""A new decision table: what it tests, which row counts, and its first rule."""

from __future__ import annotations

import csv
import io
import re
from typing import Any, cast

from flask import Response, make_response, render_template, url_for
from wtforms import Field, SelectChoice, SelectField, StringField, TextAreaField

from intake.book.model import SEVERITIES, Book
from intake.book.problems import Problem
from intake.i18n import N_, _
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.draft import Draft, current_draft, of_file, onward
from intake.screens.book_editor.forms import OwnerForm, accept
from intake.trade.registry import REGISTRY
from intake.web.context import current_context

POLICIES = [
    SelectChoice("first", N_("The first row that applies counts.")),
    SelectChoice("unique", N_("No two rows may apply together.")),
    SelectChoice("collect", N_("Every row that applies counts.")),
]
MOST_FACTS = 5
AS = N_("As in a cell: <0.030, stiff, not(none), true. Empty tests nothing.")
NAME = re.compile(r"[a-z][a-z0-9_]{0,59}")


class NewTableForm(OwnerForm):
    """The table and its first row; `fact0` with `test0` and so on are what it tests."""

    languages: tuple[str, ...] = ()
    name = StringField(N_("Name"), description=N_("One word in small letters, such as tailpiece."))
    policy = SelectField(N_("Which row counts"), choices=POLICIES, validate_choice=False)
    finding = StringField(
        N_("What the first row finds"), description=N_("An id of your own, such as tailpiece_loose.")
    )
    severity = SelectField(
        N_("How grave"), choices=[SelectChoice(one) for one in SEVERITIES], validate_choice=False
    )
    says = TextAreaField(N_("The sentence on the quote"))

    @property
    def tests(self) -> list[tuple[Field, Field]]:
        """The fields of each fact and its test."""
        return [(self[f"fact{at}"], self[f"test{at}"]) for at in range(MOST_FACTS)]

    @property
    def sentences(self) -> dict[str, Field]:
        """The sentence's fields by the headings of their columns."""
        others = {f"then says [{language}]": self[f"says_{language}"] for language in self.languages}
        return {"then says": self.says} | others

    def typed(self, field: Field) -> str:
        return " ".join((field.data or "").split())


def form_of(book: Book) -> type[NewTableForm]:
    """The form with facts to pick from, and a sentence for each language of the shop."""
    languages = tuple(language for language in book.shop.languages if language != "en")
    fields: dict[str, Any] = {"languages": languages}
    for at in range(MOST_FACTS):
        fields[f"fact{at}"] = StringField(N_("It tests"), render_kw={"offered": offered(book)})
        fields[f"test{at}"] = StringField(N_("and the first row wants"), description=AS if not at else "")
    for language in languages:
        fields[f"says_{language}"] = TextAreaField(f"{_('The sentence on the quote')} [{language}]")
    return cast(type[NewTableForm], type("NewTableForm", (NewTableForm,), fields))


@blueprint.get("/new-table")
def new_table_page() -> str:
    """An empty form."""
    hand = current_draft()
    form = form_of(current_context().book)(data={"policy": "first", "severity": "work"})
    return _page(form, hand)


@blueprint.post("/new-table")
def add_table() -> Response:
    """Take the table in, with its first row."""
    hand, form = current_draft(), form_of(current_context().book).posted()
    file = _file(form)
    _refuse(form, hand, file)
    files = {**hand.files, file: table(form)}
    if accept(form, hand, file, files, lambda problem: field_of(problem, form)):
        return onward(url_for("book_editor.table_page", file=file))
    return make_response(_page(form, hand), 422)


def table(form: NewTableForm) -> bytes:
    """The file: what is tested, a sentence in each language of the shop, and one row."""
    tested = [(form.typed(fact), form.typed(test) or "-") for fact, test in form.tests if form.typed(fact)]
    sentences = {heading: form.typed(field) for heading, field in form.sentences.items()}
    target = io.StringIO(newline="")
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(["hit policy", form.policy.data])
    writer.writerow([*(fact for fact, _test in tested), "then finding", "then severity", *sentences, "note"])
    found = [form.typed(form.finding), form.severity.data, *sentences.values(), ""]
    writer.writerow([*(test for _fact, test in tested), *found])
    return target.getvalue().encode()


def _file(form: NewTableForm) -> str:
    return f"tables/{form.typed(form.name)}.csv"


def _refuse(form: NewTableForm, hand: Draft, file: str) -> None:
    """What makes no table at all."""
    if not NAME.fullmatch(form.typed(form.name)):
        form.say("name", _("A name is one word in small letters; figures and _ may stand in it."))
    elif file in hand.files:
        form.say("name", _("The book has that table already."))
    if not any(form.typed(fact) for fact, _test in form.tests):
        form.say("fact0", _("A table tests at least one answer or reading."))
    if not form.typed(form.finding):
        form.say("finding", _("The row finds nothing yet."))
    if not form.typed(form.says):
        form.say("says", _("A finding needs a sentence."))


def field_of(problem: Problem, form: NewTableForm) -> str:
    """The field of that column: of an output, else of the test of that fact."""
    if problem.file != _file(form):
        return ""
    column = problem.column.removeprefix("then ").replace(" [", "_").removesuffix("]")
    if column in form:
        return column
    tests = (test for fact, test in form.tests if form.typed(fact) == problem.column)
    return next((test.name for test in tests), "fact0")


def offered(book: Book) -> tuple[str, ...]:
    """The facts that a table may test, with their units."""
    ids = (*book.questions, *REGISTRY)
    return tuple(f"{id} [{book.units[id]}]" if book.units.get(id) else id for id in ids)


def _page(form: NewTableForm, hand: Draft) -> str:
    return render_template("book_editor/new_table.html", form=form, seen=of_file(hand.files, _file(form)))
