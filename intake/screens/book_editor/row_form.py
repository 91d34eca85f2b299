"""One row of a book's CSV as a form, whatever its headings are."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, cast

from wtforms import Field, SelectChoice, SelectField, StringField, TextAreaField

from intake.book.domains import findings_of
from intake.book.model import DRAWN, SEVERITIES, TIERS, Book
from intake.book.problems import Problem
from intake.book.waits import WAIT_KINDS
from intake.i18n import N_, _, native_name
from intake.screens.book_editor.forms import OwnerForm
from intake.screens.book_editor.shop_toml import as_amount
from intake.trade.registry import REGISTRY

LONG = re.compile(r"(then )?(says|caution|why|note)( \[\w+\])?")
NUMBERS = ("quick", "usual", "slow", "price", "cost")
FIRST = {
    "jobs.csv": ("name", "quick", "usual", "slow", "price", "parts", "after", "caution"),
    "parts.csv": ("name", "cost", "price", "unit", "taxed"),
}
"""What an owner changes often; the rest is folded away."""
ORDER = {
    "after": N_("Comes after"),
    "needs": N_("Needs"),
    "needs if found": N_("Needs, if found"),
    "includes": N_("Includes"),
    "forecast after": N_("Is a forecast after"),
}
LABELS = {
    "order.csv": ORDER,
    "jobs.csv": {
        **ORDER,
        "name": N_("Name on the quote"),
        "quick": N_("Hours, when it goes quickly"),
        "usual": N_("Hours, as usual"),
        "slow": N_("Hours, when it goes slowly"),
        "price": N_("Flat price instead of hours"),
        "parts": N_("Parts"),
        "caution": N_("Caution"),
        "group": N_("Group"),
        "stage": N_("Stage"),
        "operations": N_("Shared bench work"),
        "wait": N_("Wait afterwards"),
        "wait kind": N_("What it waits for"),
        "splits": N_("May stop at closing time"),
        "skill": N_("Skill"),
        "per": N_("Counted per"),
    },
    "parts.csv": {
        "name": N_("Name on the quote"),
        "cost": N_("What it costs the shop"),
        "price": N_("Price"),
        "unit": N_("Sold by"),
        "taxed": N_("Taxed"),
    },
}
HINTS = {
    ("jobs.csv", "price"): N_("Empty: the hours at the labour rate."),
    ("jobs.csv", "parts"): N_("Ids with a blank between them; bone*2 is two."),
    ("jobs.csv", "after"): N_("Ids of the jobs that come before it, if they are done at all."),
    ("order.csv", "after"): N_(
        "Jobs that come before it, if they are done at all: their ids, a group, or the number of a stage."
    ),
    ("jobs.csv", "wait"): N_("As 24 h or 10 d."),
    ("parts.csv", "price"): N_("Empty: the cost and the usual markup."),
}
WORDS = ("one", "several")
YES = [SelectChoice("yes", N_("yes")), SelectChoice("no", N_("no"))]
CHOICES = {
    "splits": YES,
    "taxed": YES,
    "wait kind": [SelectChoice("", "–"), *(SelectChoice(kind) for kind in WAIT_KINDS)],
}


class RowForm(OwnerForm):
    """`headings` are those of the file, one field for each."""

    headings: tuple[str, ...] = ()

    def cell(self, heading: str) -> Field:
        """The field of a heading."""
        return self._fields[f"c{self.headings.index(heading)}"]

    @property
    def first(self) -> list[Field]:
        """The fields that always show."""
        return [self.cell(heading) for heading in self.headings if self._is_often(heading)]

    @property
    def others(self) -> list[Field]:
        return [self.cell(heading) for heading in self.headings if not self._is_often(heading)]

    def _is_often(self, heading: str) -> bool:
        """Names in every language are, besides what stands in the list."""
        return heading in self._often or heading.startswith("name [")

    def typed(self, before: Sequence[str]) -> tuple[str, ...]:
        """The cells as the file writes them; one that says what it said before is left as it was."""
        return tuple(
            _written(heading, self.cell(heading).data or "", cell)
            for heading, cell in zip(self.headings, before, strict=True)
        )

    @property
    def _often(self) -> Sequence[str]:
        return FIRST.get(self.file, self.headings)

    file = ""


def _written(heading: str, typed: str, before: str) -> str:
    if typed.split() == before.split():
        return before
    text = " ".join(typed.split())
    return as_amount(text) if heading in NUMBERS else text


def form_of(file: str, headings: tuple[str, ...], book: Book) -> type[RowForm]:
    """The form for a file with these headings; the book says what a fact is."""
    fields = {f"c{at}": _field(file, heading, book) for at, heading in enumerate(headings) if heading}
    named = tuple(heading for heading in headings if heading)
    assert len(named) == len(headings), "a column without a heading cannot be edited here"
    return cast(
        type[RowForm], type("FileRowForm", (RowForm,), {"headings": headings, "file": file, **fields})
    )


def cells(headings: Sequence[str], row: Sequence[str]) -> Mapping[str, str]:
    """A row's cells by the names of the fields."""
    return {f"c{at}": cell for at, (_heading, cell) in enumerate(zip(headings, row, strict=True))}


def _field(file: str, heading: str, book: Book) -> Field:
    label = _label(file, heading)
    hint = HINTS.get((file, heading), "") or _of_fact(heading, book)
    if file in FIRST and heading in CHOICES:
        return SelectField(label, choices=CHOICES[heading], validate_choice=False, description=hint)
    kind = TextAreaField if LONG.fullmatch(heading) else StringField
    keys: dict[str, Any] = {"inputmode": "decimal"} if heading in NUMBERS else {}
    return kind(label, description=hint, render_kw=keys | {"offered": offered(file, heading, book)})


def _label(file: str, heading: str) -> str:
    """What a column is called; a text in another language by that of the English one."""
    known, (name, _space, language) = LABELS.get(file, {}), heading.removesuffix("]").partition(" [")
    if not language or name not in known:
        return known.get(heading, heading)
    return f"{_(known[name])} ({native_name(language)})"


def offered(file: str, heading: str, book: Book) -> tuple[str, ...]:
    """The ids that a cell of that column may hold, to be picked; none where a text or a number stands."""
    id = heading.removeprefix("then ").split(" [")[0]
    jobs, groups = tuple(book.jobs), tuple(dict.fromkeys(job.group for job in book.jobs.values()))
    kin = tuple(dict.fromkeys(group for family in book.families.values() for group in family.groups))
    figures = tuple(output.name for output in (*book.targets.outputs, *book.defaults.outputs))
    lists: dict[str, tuple[str, ...]] = {
        "job": jobs, "instead of": jobs, "may follow": jobs, "holds": (*groups, *jobs, "all"),
        "part": tuple(book.parts), "parts": tuple(book.parts), "tier": TIERS, "severity": SEVERITIES,
        "finding": findings_of(book), "told": ("yes",),
        "group": groups, "groups": kin, "figure": figures, "after": (*groups, *jobs), "drawn_as": DRAWN,
        "operations": tuple(book.operations),
        **dict.fromkeys(("needs", "needs if found", "includes", "forecast after"), jobs),
    }  # fmt: skip
    if heading == "id" and file == "order.csv":
        return jobs
    if id in lists:
        return lists[id]
    question = book.questions.get(id)
    if question is not None and question.kind in WORDS and not heading.startswith("then "):
        named = kin if id == "family" else ()
        return ("-", *named, *(choice.id for choice in question.values))
    if id.startswith("default_") and id.endswith("_wood"):
        return tuple(wood["id"] for wood in book.woods)
    return ()


def _of_fact(heading: str, book: Book) -> str:
    """The question behind a column of a table, and what it may be; or where a reading comes from."""
    id = heading.split(" [")[0]
    if id in REGISTRY:
        return REGISTRY[id].doc.split("\n")[0]
    question = book.questions.get(id)
    if question is None:
        return ""
    choices = ", ".join(choice.id for choice in question.values) if question.kind in WORDS else ""
    return f"{question.label}: {choices}" if choices else str(question.label)


def field_of(problem: Problem, form: RowForm, file: str, row: int | None) -> str:
    """The cell that a problem is about: of this row, or of its column where the sentence names the row."""
    column = problem.column if problem.column in form.headings else problem.column.split(" ")[0]
    if problem.file != file or column not in form.headings:
        return ""
    cell = form.cell(column)
    id = form.cell("id").data if "id" in form.headings else ""
    mine = problem.row == row or (bool(id) and id in re.split(r"[^\w-]+", problem.sentence))
    return cell.name if mine else ""
