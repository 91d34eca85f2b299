"""A ticket as the wizard shows it: every step with its form, what is wrong, and the price so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlite_utils import Database

from intake.book.answers import from_fields, read_answers
from intake.book.model import Step
from intake.i18n.messages import _
from intake.quoting.model import Booking, Discount, Walkin
from intake.services.commitments import bookings, discount_on
from intake.services.context import Context
from intake.services.discount_limit import limit_sentence, over_limit
from intake.services.estimates import Estimate
from intake.services.step_form import StepForm
from intake.services.walkins import walkin_from
from intake.store import steps
from intake.store.steps import Entry


@dataclass(frozen=True)
class ClashedAnswer:
    """One question of a clash: what stands now, and what came second; raw answers. Without a field it is how
    the step was passed, in words."""

    field: Any
    theirs: Any
    mine: Any


@dataclass(frozen=True)
class StepView:
    """`problems`: question id → sentence. `clash`: what two devices say differently."""

    step: Step
    form: StepForm
    revision: int
    passed: str
    problems: Mapping[str, str]
    clash: tuple[ClashedAnswer, ...] = ()


class TicketView:
    """Computed on demand from the newest entries and the open clashes.

    `booked`: what other tickets have on the bench. `refused`: question id → sentence for what came with
    this request and could not be kept.
    """

    def __init__(
        self,
        desk: Context,
        entries: Mapping[str, Entry],
        clashes: Mapping[str, Entry],
        booked: tuple[Booking, ...] = (),
        discount: Discount | None = None,
    ) -> None:
        self.desk = desk
        self.entries = entries
        self.clashes = clashes
        self.booked = booked
        self.discount = discount
        self.refused: dict[str, str] = {}

    @classmethod
    def of(cls, desk: Context, db: Database, ticket: str) -> TicketView:
        """What the store holds of the ticket; all blank for an unknown one."""
        return cls(
            desk,
            steps.latest(db, ticket),
            steps.open_clashes(db, ticket),
            bookings(db, ticket, desk.book, desk.wall),
            discount_on(db, ticket, desk.book.shop),
        )

    @cached_property
    def walkin(self) -> Walkin:
        in_order = [self.entries[step.id] for step in self.desk.book.steps if step.id in self.entries]
        return walkin_from(self.desk.book, in_order)

    @cached_property
    def problems(self) -> Mapping[str, str]:
        """Question id → sentence; a step that was not assessed has nothing to mend."""
        found = read_answers(self.desk.book, self.walkin.answers).problems
        skipped = self.walkin.not_assessed
        questions = self.desk.book.questions
        shown = {id: says for id, says in found.items() if questions[id].step not in skipped}
        return shown | self.refused

    @cached_property
    def summary(self) -> Estimate | None:
        return self.desk.summaries.of(self.walkin, self.desk.today, self.booked, self.discount)

    @property
    def discount_problem(self) -> str:
        """Why the discount does not stand any more: the ticket has shrunk, or the limit."""
        discount, summary = self.discount, self.summary
        if discount is None or discount.most is None or summary is None:
            return ""
        over = over_limit(summary.quote, summary.book, discount.most)
        return limit_sentence(discount.most) if over else ""

    def view(self, step: Step) -> StepView:
        """One step, its form filled in."""
        form = StepForm(self.desk.book, step)
        entry = self.entries.get(step.id, Entry(step.id, ()))
        problems = {field.name: self.problems[field.name] for field in form if field.name in self.problems}
        form.fill(self.walkin.answers, problems)
        return StepView(step, form, entry.revision, entry.passed, problems, self._clash(step, entry))

    def views(self) -> list[StepView]:
        return [self.view(step) for step in self.desk.book.steps]

    def _clash(self, step: Step, entry: Entry) -> tuple[ClashedAnswer, ...]:
        if step.id not in self.clashes:
            return ()
        second = self.clashes[step.id]
        theirs, mine = from_fields(self.desk.book, entry.fields), from_fields(self.desk.book, second.fields)
        answers = [
            ClashedAnswer(field, theirs.get(field.name), mine.get(field.name))
            for field in StepForm(self.desk.book, step)
            if theirs.get(field.name) != mine.get(field.name)
        ]
        if entry.passed != second.passed:
            said = {"all_sound": _("All sound"), "not_assessed": _("Not assessed")}
            answers.append(ClashedAnswer(None, said.get(entry.passed), said.get(second.passed)))
        return tuple(answers)
