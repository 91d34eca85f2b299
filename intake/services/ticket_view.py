"""A ticket as the wizard shows it: every step with its form, what is wrong, and the price so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from sqlite_utils import Database

from intake.book.answers import is_asked, read_answers
from intake.book.model import Step
from intake.book.parts import PASSED, PHOTOS, question_of
from intake.quoting.model import Booking, Discount, Walkin
from intake.services.clashes import Clash, clash_of
from intake.services.commitments import bookings, discount_on
from intake.services.context import Context
from intake.services.discount_limit import limit_sentence, over_limit
from intake.services.estimates import Estimate
from intake.services.step_form import StepForm
from intake.services.walkins import walkin_from
from intake.store import edits
from intake.store.edits import Life, Row, Standing

BLANK = Life("", 0, 0)


@dataclass(frozen=True)
class StepView:
    """`problems`: question id → sentence. `parts`: what stands in each part that was ever given, for the page
    to say what it showed. `clashes`: parts that wait for somebody to choose."""

    step: Step
    form: StepForm
    passed: str
    problems: Mapping[str, str]
    parts: tuple[Standing, ...] = ()
    clashes: tuple[Clash, ...] = ()


class TicketView:
    """Computed on demand from what stands in each part.

    `booked`: what other tickets have on the bench. `refused`: question id → sentence for what came with
    this request and could not be kept. `lost`: the edits of open clashes by id.
    """

    def __init__(
        self,
        desk: Context,
        parts: Mapping[str, Standing],
        lost: Mapping[str, Row],
        booked: tuple[Booking, ...] = (),
        discount: Discount | None = None,
        life: Life = BLANK,
    ) -> None:
        self.desk = desk
        self.parts = parts
        self.lost = lost
        self.booked = booked
        self.discount = discount
        self.life = life
        self.refused: dict[str, str] = {}

    @classmethod
    def of(cls, desk: Context, db: Database, ticket: str) -> TicketView:
        """What the store holds of the ticket; all blank for an unknown one."""
        parts = edits.standing(db, ticket)
        heads = [id for held in parts.values() if held.is_open for id in held.heads]
        return cls(
            desk,
            parts,
            edits.by_ids(db, heads) if heads else {},
            bookings(db, ticket, desk.book, desk.wall),
            discount_on(db, ticket, desk.book.shop),
            edits.life(db),
        )

    @cached_property
    def walkin(self) -> Walkin:
        return walkin_from(self.desk.book, self.parts.values())

    @cached_property
    def problems(self) -> Mapping[str, str]:
        """Question id → sentence; what cannot be read in a step that was not assessed has nothing to mend."""
        found = read_answers(self.desk.book, self.walkin.answers).problems
        skipped, questions = self.walkin.not_assessed, self.desk.book.questions
        shown = {id: says for id, says in found.items() if questions[id].step not in skipped}
        return shown | self.refused

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Parts of which several values wait for somebody to choose, steps in order."""
        open_now = [held for held in self.parts.values() if held.is_open]
        found = [clash_of(self.desk.book, held, [self.lost[id] for id in held.heads]) for held in open_now]
        return tuple(sorted(found, key=lambda clash: clash.order))

    def keeps(self, photo: str) -> bool:
        """Whether a photo stands; not while somebody has to choose."""
        held = self.parts.get(f"{PHOTOS}{photo}")
        return held is not None and bool(held.value)

    @cached_property
    def unasked(self) -> tuple[Standing, ...]:
        """What was answered and is not asked now: kept, and used again when it is."""
        values = read_answers(self.desk.book, self.walkin.answers).values
        questions = self.desk.book.questions
        steps = {step.id for step in self.desk.book.steps}

        def asked(part: str) -> bool:
            if part.startswith(PASSED):
                return part.removeprefix(PASSED) in steps
            question = questions.get(question_of(part))
            return part.startswith(PHOTOS) or (question is not None and is_asked(question, values))

        return tuple(held for held in self.parts.values() if held.value and not asked(held.part))

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
        problems = {field.name: self.problems[field.name] for field in form if field.name in self.problems}
        form.fill(self.walkin.answers, problems)
        own = f"{PASSED}{step.id}"
        names = {field.name for field in form}
        parts = [held for part, held in self.parts.items() if part == own or question_of(part) in names]
        clashes = tuple(clash for clash in self.clashes if clash.step == step.id)
        passed = self.parts[own].value if own in self.parts else ""
        return StepView(step, form, passed, problems, tuple(parts), clashes)

    def views(self) -> list[StepView]:
        return [self.view(step) for step in self.desk.book.steps]
