"""A step as a form: the book's questions as WTForms fields, with what was typed and what is wrong."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from wtforms import Field
from wtforms.form import BaseForm

from intake.book.model import Book, Question, Step

PASSED = ("", "not_assessed", "all_sound")


class Answer(Field):
    """One question. `data` is the raw answer as people write it."""

    def __init__(self, question: Question, **kwargs: Any) -> None:
        super().__init__(label=question.label, **kwargs)
        self.question = question

    def process_data(self, value: Any) -> None:
        self.data = "" if value is None else value


class TextAnswer(Answer):
    """words, date, one, number, measure, money: a string."""


class YesNoAnswer(Answer):
    """yes_no: "yes", "no" or nothing."""

    def process_data(self, value: Any) -> None:
        self.data = {True: "yes", False: "no", None: ""}.get(value, value)


class ListAnswer(Answer):
    """several, measures, frets, string_frets, photos: a list of strings; "none" may be the only one."""

    def process_data(self, value: Any) -> None:
        self.data = [value] if isinstance(value, str) else list(value or ())


class MapAnswer(Answer):
    """fret_depths, part_states, part_depths: fret or part to a string; empty for "none"."""

    def process_data(self, value: Any) -> None:
        self.data = dict(value) if isinstance(value, Mapping) else {}


class PinsAnswer(Answer):
    """pins: a list of maps, one for each pin; empty for "none"."""

    def process_data(self, value: Any) -> None:
        self.data = [pin for pin in value or () if isinstance(pin, Mapping)]


KINDS: Mapping[str, type[Answer]] = {
    "yes_no": YesNoAnswer,
    "several": ListAnswer,
    "measures": ListAnswer,
    "frets": ListAnswer,
    "string_frets": ListAnswer,
    "photos": ListAnswer,
    "fret_depths": MapAnswer,
    "part_states": MapAnswer,
    "part_depths": MapAnswer,
    "pins": PinsAnswer,
}


class StepForm(BaseForm):
    """The questions of one step, iterated in the book's order."""

    def __init__(self, book: Book, step: Step) -> None:
        asked = [question for question in book.questions.values() if question.step == step.id]
        super().__init__({question.id: KINDS.get(question.kind, TextAnswer)(question) for question in asked})

    def fill(self, raw: Mapping[str, Any], problems: Mapping[str, str]) -> StepForm:
        """Take the raw answers, and the sentence for each that was refused."""
        self.process(data={id: raw.get(id) for id in self._fields})
        for id, field in self._fields.items():
            field.errors = [problems[id]] if id in problems else []
        return self


def own_fields(
    book: Book, asked_before: Collection[str], step: str, posted: Iterable[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """The posted pairs, blank ones too, that belong to the step's questions, or to what an earlier book asked
    on that step."""
    ids = {question.id for question in book.questions.values() if question.step == step} | set(asked_before)
    return tuple((name, text.replace("\r\n", "\n")) for name, text in posted if name.split(".")[0] in ids)
