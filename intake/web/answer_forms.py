"""The forms in which a customer answers a quote, on their own page or through whoever takes the answer."""

from __future__ import annotations

from wtforms import BooleanField, HiddenField, RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice

from intake.i18n import N_
from intake.services.decisions import LONGEST, LONGEST_NAME, Choice, Problem, Yes
from intake.web.forms import PageForm, lines, one_line


def _name(text: str | None) -> str:
    return one_line(text)[:LONGEST_NAME]


def _words(text: str | None) -> str:
    return lines(text)[:LONGEST]


def _jobs() -> SelectMultipleField:
    return SelectMultipleField(choices=[], validate_choice=False)


class TakenForm(PageForm):
    """How an answer came that staff take down."""

    way = RadioField(
        choices=[
            SelectChoice("counter", N_("Here at the counter")),
            SelectChoice("telephone", N_("By telephone")),
        ],
        default="counter",
    )


class ChoiceForm(PageForm):
    """The choice that the page showed, and the button that changes it."""

    jobs = _jobs()
    offer = HiddenField()
    add = HiddenField()
    drop = HiddenField()

    def choice(self) -> Choice:
        """For the service."""
        return Choice(
            frozenset(self.jobs.data or ()),
            self.offer.data or "",
            self.add.data or "",
            self.drop.data or "",
        )


class YesForm(TakenForm):
    """A yes to what the form shows: quote, sum, day and jobs."""

    jobs = _jobs()
    quote = HiddenField()
    total = HiddenField()
    ready = HiddenField()
    name = StringField(filters=[_name])
    agreed = BooleanField()
    drawn = HiddenField()
    note = TextAreaField(filters=[_words])

    def yes(self) -> Yes:
        """For the service."""
        texts = {name: self[name].data or "" for name in ("quote", "total", "ready", "name", "drawn", "note")}
        return Yes(frozenset(self.jobs.data or ()), agreed=bool(self.agreed.data), **texts)

    def told(self, problem: Problem) -> YesForm:
        """With the sentence beside the field that it is about, if it is about one."""
        if problem.field:
            self.refuse(problem.field, problem.sentence)
        return self


class NoForm(TakenForm):
    """A no, with its reason if one was given."""

    name = StringField(filters=[_name])
    reason = TextAreaField(filters=[_words])


class QuestionForm(PageForm):
    """A question to the shop."""

    name = StringField(filters=[_name])
    question = TextAreaField(filters=[_words])
