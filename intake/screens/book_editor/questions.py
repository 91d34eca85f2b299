"""The checklist's questions, and one of them as a form: changed, or new."""

from __future__ import annotations

from typing import Any, cast

from flask import Response, abort, make_response, render_template, url_for
from tomlkit import TOMLDocument
from wtforms import Field, SelectChoice, SelectField, SelectMultipleField, StringField, TextAreaField

from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.sfeel import SFeelError
from intake.i18n import N_, _
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.checklist_toml import (
    CHECKLIST,
    CHOSEN,
    LISTS,
    appended,
    shown,
    text_keys,
    write,
)
from intake.screens.book_editor.draft import Draft, current_draft, of_file, onward
from intake.screens.book_editor.forms import OwnerForm, accept
from intake.screens.book_editor.shop_toml import edited, values
from intake.trade.units import SCALE
from intake.web.context import current_context

KINDS = [
    SelectChoice("one", N_("one of several answers")),
    SelectChoice("several", N_("several answers at once")),
    SelectChoice("yes_no", N_("yes or no")),
    SelectChoice("measure", N_("a measure, with its unit")),
    SelectChoice("number", N_("a number")),
    SelectChoice("money", N_("an amount of money")),
    SelectChoice("words", N_("words")),
    SelectChoice("date", N_("a day")),
]
"""The kinds that need no drawing or list of their own."""
YES = [SelectChoice("no", N_("no")), SelectChoice("yes", N_("yes"))]
FOLDED = (*LISTS, "when", "sound", "required")
LABELS = {"label": N_("The question"), "how": N_("How to find out")}


class QuestionForm(OwnerForm):
    """`keys` are the question's keys in the file by the names of their fields."""

    keys: dict[str, str] = {}

    @property
    def typed(self) -> dict[str, Any]:
        """What stands in the fields, by the file's keys."""
        return {key: self[name].data or ([] if key in LISTS else "") for name, key in self.keys.items()}


@blueprint.get("/questions")
def questions_page() -> str:
    """Every question, step by step."""
    checklist = values(current_draft().files[CHECKLIST])
    asked = {
        step["id"]: [q for q in checklist["question"] if q.get("step") == step["id"]]
        for step in checklist["step"]
    }
    return render_template("book_editor/questions.html", steps=checklist["step"], asked=asked)


@blueprint.get("/question/", defaults={"id": ""})
@blueprint.get("/question/<id>")
def question_page(id: str) -> str:
    """One question to change, or a new one."""
    hand, book = current_draft(), current_context().book
    question = _question(values(hand.files[CHECKLIST]), id) if id else {}
    data = shown(question or {"kind": "one"}, book.shop.languages)
    form_class = form_of(book)
    form = form_class(data={name: data[key] for name, key in form_class.keys.items()})
    return _page(form, hand, id)


@blueprint.post("/question/", defaults={"id": ""})
@blueprint.post("/question/<id>")
def change_question(id: str) -> Response:
    """Take a question in, changed or new."""
    hand, book = current_draft(), current_context().book
    form = form_of(book).posted()
    _refuse_nameless(form, hand, id)
    files = dict(hand.files)
    try:
        files[CHECKLIST] = edited(hand.files[CHECKLIST], lambda checklist: _put(checklist, id, form, book))
    except SFeelError as error:
        form.say("when", str(error))
    if accept(form, hand, CHECKLIST, files, lambda problem: field_of(problem, form, files[CHECKLIST])):
        return onward(url_for("book_editor.questions_page", _anchor=form.typed["id"] or id))
    return make_response(_page(form, hand, id), 422)


def form_of(book: Book) -> type[QuestionForm]:
    """The form, with a field for each language of the shop and ids to pick from."""
    groups = list(dict.fromkeys(group for family in book.families.values() for group in family.groups))
    members = [SelectChoice(id) for id in (*groups, *book.families)]
    steps = [SelectChoice(step.id, str(step.name)) for step in book.steps]
    fields: dict[str, Field] = {
        "id": StringField(
            N_("Id"), description=N_("One word in small letters; tables test it by that name.")
        ),
        "step": SelectField(N_("Step"), choices=steps, validate_choice=False),
        "kind": SelectField(N_("The answer is"), choices=KINDS, validate_choice=False),
        **{_name(key): _text(key) for key in text_keys(book.shop.languages)},
        "values": TextAreaField(
            N_("Answers offered"),
            description=N_("One a line: id | label | label in the next language. Of a measure: the value."),
        ),
        "unit": SelectField(
            N_("Unit"), choices=[SelectChoice(unit, unit or "–") for unit in SCALE], validate_choice=False
        ),
        "low": StringField(N_("Least that can be")),
        "high": StringField(N_("Most that can be")),
        "families": SelectMultipleField(
            N_("Asked of (nothing ticked: of all)"), choices=members, validate_choice=False
        ),
        "not_families": SelectMultipleField(N_("But not of"), choices=members, validate_choice=False),
        "when": StringField(
            N_("Asked only when"),
            description=N_("Other answers, such as rod: one_way, two_way; tuners: stiff."),
            render_kw={"offered": _conditions(book)},
        ),
        "sound": StringField(N_("“All sound” answers"), description=N_("Empty: it is never filled in.")),
        "required": SelectField(N_("Must be answered"), choices=YES, validate_choice=False),
    }
    keys = {
        name: next((k for k in text_keys(book.shop.languages) if _name(k) == name), name) for name in fields
    }
    return cast(type[QuestionForm], type("QuestionForm", (QuestionForm,), {"keys": keys, **fields}))


def _name(key: str) -> str:
    """`label [fr]` as the name of a field."""
    return key.replace(" [", "_").removesuffix("]")


def _text(key: str) -> Field:
    kind = TextAreaField if key.startswith("how") else StringField
    base, _space, language = key.partition(" ")
    return kind(f"{_(LABELS[base])} {language}".strip())


def _conditions(book: Book) -> tuple[str, ...]:
    """Every answer that a question may hang on, as the field writes it."""
    chosen = (question for question in book.questions.values() if question.kind in CHOSEN)
    return tuple(f"{question.id}: {choice.id}" for question in chosen for choice in question.values)


def _refuse_nameless(form: QuestionForm, hand: Draft, id: str) -> None:
    """What the loader would take for another question."""
    new = form.typed["id"].strip()
    if not new.replace("_", "").isalnum() or new != new.lower():
        form.say("id", _("An id is one word in small letters; figures and _ may stand in it."))
    elif new != id and any(
        question.get("id") == new for question in values(hand.files[CHECKLIST])["question"]
    ):
        form.say("id", _("The book has that question already."))


def _put(checklist: TOMLDocument, id: str, form: QuestionForm, book: Book) -> None:
    question = _question(checklist, id) if id else appended(checklist)
    write(question, form.typed, shown(question, book.shop.languages), book.shop.languages)


def _question(checklist: Any, id: str) -> Any:
    for question in checklist["question"]:
        if question.get("id") == id:
            return question
    abort(404)


def field_of(problem: Problem, form: QuestionForm, content: bytes) -> str:
    """The field that a problem of this question is about; those of others stand above."""
    if problem.file != CHECKLIST or problem.row != _row(content, form.typed["id"].strip()):
        return ""
    return next((name for name, key in form.keys.items() if key == problem.column), "")


def _row(content: bytes, id: str) -> int | None:
    lines = content.decode("utf-8-sig").splitlines()
    return next((at for at, line in enumerate(lines, 1) if line.strip() == f'id = "{id}"'), None)


def _page(form: QuestionForm, hand: Draft, id: str) -> str:
    return render_template(
        "book_editor/question.html",
        form=form,
        id=id,
        picked=LISTS,
        folded=FOLDED,
        seen=of_file(hand.files, CHECKLIST),
    )
