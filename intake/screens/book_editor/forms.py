"""What the owner's forms share: what is wrong stands beside the field, and what was typed stays in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from wtforms import Field, HiddenField

from intake.book.problems import Problem
from intake.i18n import _
from intake.screens.book_editor.draft import Draft, changed_meanwhile, keep, of_file
from intake.screens.book_editor.validation import validate
from intake.web.context import current_context
from intake.web.forms import PageForm, one_line

Place = Callable[[Problem], str]
"""The name of the field beside which a problem belongs; "" where it has none."""


class SeenForm(PageForm):
    """What of the book the page showed, and what its buttons do."""

    seen = HiddenField()
    mark = HiddenField()
    do = HiddenField()
    heading = HiddenField(filters=[one_line])


class OwnerForm(PageForm):
    """A form on one file of the book. `general` are sentences that belong beside no field."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.general: list[str] = []

    @property
    def fields(self) -> dict[str, Field]:
        """Every field by the name under which it is posted, those of inner forms too."""
        return dict(_named(self))

    @property
    def faulty(self) -> bool:
        return bool(self.general or any(field.errors for field in self.fields.values()))

    def say(self, name: str, sentence: str) -> None:
        """Put a sentence beside the field of that name, or above them all."""
        field = self.fields.get(name)
        if field is None:
            self.general.append(sentence)
        elif sentence not in field.errors:
            field.errors = [*field.errors, sentence]


def _named(form: Iterable[Field]) -> Iterable[tuple[str, Field]]:
    for field in form:
        if hasattr(field, "entries"):
            for entry in field.entries:
                yield from _named(entry)
        else:
            yield field.name, field


def accept(form: OwnerForm, hand: Draft, file: str, files: Mapping[str, bytes], place: Place) -> bool:
    """Keep the files as the draft if loader and checker let them pass; else the form says why not."""
    seen = SeenForm.posted().seen.data or ""
    if seen != of_file(hand.files, file):
        form.general.append(changed_meanwhile())
    if hand.overtaken:
        form.general.append(overtaken())
    if form.faulty:
        return False
    for problem in validate(files, current_context().book).errors:
        name = place(problem)
        form.say(name, _named_as_shown(problem, form.fields[name]) if name in form.fields else str(problem))
    if form.faulty:
        return False
    keep(hand, files, file)
    return True


def _named_as_shown(problem: Problem, field: Field) -> str:
    """The sentence, its field named as on the page and not as in the file."""
    key = problem.column.rpartition(" ")[2]
    rest = problem.sentence.removeprefix(f"{key} ")
    return problem.sentence if rest == problem.sentence else f"“{_(field.label.text)}” {rest}"


def overtaken() -> str:
    """What is said of a draft whose base is no longer in force."""
    return _(
        "Another book came into force since these changes were begun. Drop them on the page of the book, "
        "and make them anew."
    )
