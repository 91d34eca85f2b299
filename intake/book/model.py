"""The parts of a price book, as loaded. Nothing here reads a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from intake.book.tables import Table
from intake.book.text import Text

Kind = Literal[
    "words", "date", "one", "several", "yes_no", "number", "measure", "money",
    "measures", "frets", "string_frets", "fret_depths", "pins", "part_states", "part_depths", "photos",
]  # fmt: skip
Tier = Literal["playable", "put_right", "everything", "economy"]
TIERS: tuple[Tier, ...] = ("playable", "put_right", "everything")
Severity = Literal["fine", "watch", "work", "stop"]
SEVERITIES: tuple[Severity, ...] = ("fine", "watch", "work", "stop")


@dataclass(frozen=True)
class Choice:
    """One answer offered: an id for `one` and `several`, a value as written for measures.

    `drawn_as`: for a family, whose body is drawn.
    """

    id: str
    label: Text
    drawn_as: str = ""


SHORT_CHOICE = 12
"""Choices with fewer letters than this stand three beside one another."""
DRAWN = (
    "steel-string", "classical", "archtop", "resonator", "electric", "bass", "mandolin", "ukulele", "banjo",
)  # fmt: skip
"""The bodies that the program has drawings of."""


@dataclass(frozen=True)
class Family:
    """One row of families.csv: what is drawn for it ("" is nothing), and the groups that it belongs to."""

    id: str
    drawn_as: str
    groups: tuple[str, ...] = ()


@dataclass(frozen=True)
class Range:
    """One row of ranges.csv, in inches: `figure` is how the name of a target or a default begins."""

    family: str
    figure: str
    least: Fraction
    most: Fraction


@dataclass(frozen=True)
class Step:
    """One of the twelve; `needed_for` names the complaints that call for it."""

    id: str
    name: Text
    heading: Text
    needed_for: tuple[str, ...] = ()
    always: bool = False


@dataclass(frozen=True)
class Question:
    """One question of the checklist.

    `families` and `not_families` are groups or ids as written; `families` are spelled out once loaded.
    `unit` is the one that readings and tables count in, `typed_in` the one that people write and read, as
    the checklist has it. `low` and `high` bound what a measure may plausibly be, in `unit`; outside them an
    answer is refused with a sentence. `when` is a conjunction: every named question must hold one of its
    values. `sound` is what "all sound" writes down; None: never filled.
    `optional`: a specialist's measure; without it nothing is said to be missing.
    `parts`, `kinds` and `states` belong to pins; `parts` also to part_states and part_depths.
    """

    id: str
    step: str
    kind: Kind
    label: Text
    how: Text
    unit: str = ""
    values: tuple[Choice, ...] = ()
    families: tuple[str, ...] = ()
    when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    low: Fraction | None = None
    high: Fraction | None = None
    sound: str | None = None
    required: bool = False
    optional: bool = False
    parts: tuple[Choice, ...] = ()
    kinds: tuple[Choice, ...] = ()
    states: tuple[Choice, ...] = ()
    asked_in: str = ""
    not_families: tuple[str, ...] = ()

    @cached_property
    def has_short_choices(self) -> bool:
        """Whether three choices stand beside one another on a phone."""
        return max((len(choice.label.get("en", "")) for choice in self.values), default=0) < SHORT_CHOICE

    @cached_property
    def labels(self) -> Mapping[str, Text]:
        """What each of its values and states is called."""
        return {choice.id: choice.label for choice in (*self.values, *self.states)}

    @property
    def typed_in(self) -> str:
        """The unit of a number that comes without one."""
        return self.asked_in or self.unit


@dataclass(frozen=True)
class Hours:
    """Three-point estimate of active bench hours."""

    quick: Fraction
    usual: Fraction
    slow: Fraction


@dataclass(frozen=True)
class Job:
    """One line of jobs.csv. Order: `stage`, then `after`. `price` None means hourly."""

    id: str
    group: str
    name: Text
    hours: Hours
    price: Decimal | None
    stage: int
    per: Text
    after: tuple[str, ...]
    needs: tuple[str, ...]
    needs_if_found: tuple[str, ...]
    includes: tuple[str, ...]
    forecast_after: tuple[str, ...]
    operations: tuple[str, ...]
    parts: tuple[tuple[str, Fraction], ...]
    wait: timedelta
    wait_kind: str
    splits: bool
    skill: int
    caution: Text | None


@dataclass(frozen=True)
class Operation:
    """Bench work that several jobs share; `saving` is taken off for each job after the first."""

    id: str
    name: Text
    saving: Hours


@dataclass(frozen=True)
class Part:
    """One line of parts.csv. `price` None: cost and the shop's markup. `taxed` False: no tax is on it."""

    id: str
    name: Text
    cost: Decimal
    price: Decimal | None
    unit: str
    taxed: bool


Measures = Literal["customary", "metric"]
MEASURES: tuple[Measures, ...] = ("customary", "metric")
Taxable = Literal["labour", "parts", "supplies"]
TAXABLE: tuple[Taxable, ...] = ("labour", "parts", "supplies")
RoundingWay = Literal["nearest", "up", "down"]
ROUNDING_WAYS: tuple[RoundingWay, ...] = ("nearest", "up", "down")


@dataclass(frozen=True)
class Tax:
    """One `[[tax]]` of shop.toml, on those kinds of line. `included`: it is in the prices, not added."""

    name: Text
    rate: Decimal
    on: tuple[Taxable, ...] = TAXABLE
    included: bool = False


@dataclass(frozen=True)
class Shop:
    """shop.toml. `open_hours`: weekday (0 Monday) → opening spans. Rates are fractions, 0.05 is 5 %.

    `parts_markup`: what is added to the cost of a part without a price, 0.6 is 60 % on top.
    `measures`: metric has paper, screens and mail in millimetres and degrees Celsius, whatever was typed.
    `supplies_most`: no ticket pays more for supplies. A total goes to the next multiple of `rounding`
    (0: as it is) in the direction `rounding_way`. `discount_most`: the share that staff may take off; the
    owner any. An offer under `deposit_from` asks for no deposit. `staff_language`: what the
    staff's screens speak.
    """

    name: str
    address: tuple[str, ...]
    phone: str
    email: str
    currency: str
    locale: str
    languages: tuple[str, ...]
    region: str
    labour_rate: Decimal
    rounding: Decimal
    minimum: Decimal
    supplies_rate: Decimal
    deposit_rate: Decimal
    valid_days: int
    worth_warning: Decimal
    open_hours: Mapping[int, tuple[tuple[time, time], ...]]
    closed: tuple[str, ...]
    productive_share: Fraction
    answer_days: int
    terms: tuple[Text, ...]
    note: Text
    taxes: tuple[Tax, ...] = ()
    parts_markup: Decimal = Decimal(0)
    supplies_most: Decimal | None = None
    rounding_way: RoundingWay = "nearest"
    discount_most: Decimal = Decimal(1)
    measures: Measures = "customary"
    deposit_from: Decimal = Decimal(0)
    staff_language: str = "en"


@dataclass(frozen=True)
class Book:
    """A shop's knowledge. `tables` stand in the order in which they are evaluated.

    `beside` has the plain lists as readings take them: `strings_table`, `woods_table`, `tunings_table` and
    `families_table`. `hands` says from attack and style how hard somebody plays; `target_changes` is added to
    the targets. `answering` says which job is an answer to which complaint,
    `waiting` what happens if a job waits.

    `units` has the unit of every fact that has one. `places` says where a thing was read:
    (file, id) → row, for those who report on the book.
    """

    shop: Shop
    steps: tuple[Step, ...]
    questions: Mapping[str, Question]
    targets: Table
    defaults: Table
    tables: Mapping[str, Table]
    remedies: Table
    factors: Table
    fitting: Table
    jobs: Mapping[str, Job]
    operations: Mapping[str, Operation]
    parts: Mapping[str, Part]
    strings: tuple[Mapping[str, str], ...]
    woods: tuple[Mapping[str, str], ...]
    digest: str
    units: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[tuple[str, str], int] = field(default_factory=dict)
    families: Mapping[str, Family] = field(default_factory=dict)
    ranges: tuple[Range, ...] = ()
    beside: Mapping[str, tuple[Mapping[str, str], ...]] = field(default_factory=dict)
    answering: Table | None = None
    waiting: Table | None = None
    hands: Table | None = None
    target_changes: Table | None = None

    @property
    def given(self) -> tuple[Table, ...]:
        """The tables looked up before anything is computed: defaults, hands, targets and their changes."""
        tables = (self.defaults, self.hands, self.targets, self.target_changes)
        return tuple(table for table in tables if table)
