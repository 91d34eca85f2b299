"""Facts in sentences: `{relief}` is a value as people write it, `{relief limit}` the bound it was held to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from babel import UnknownLocaleError
from babel.numbers import get_decimal_symbol

from intake.book.model import Book, Choice, Measures
from intake.book.sfeel import Interval, UnaryTests
from intake.book.text import Text
from intake.i18n import Translations, translations
from intake.trade.units import SCALE, show_measure, show_metric

PLACEHOLDER = re.compile(r"\{(?P<id>[A-Za-z_][\w.-]*)(?P<limit> limit)?\}")
HEIGHTS = ("action_", "own_action_", "saddle_", "straightedge")
IN_MM = "in:mm"
METRIC = "metric "
# Facts that begin so are written in millimetres where one of these answers was typed in them.
FOLLOWING: Mapping[str, tuple[str, ...]] = {
    "action_": ("action_bass_12", "action_treble_12"),
    "own_action_": ("own_action_bass", "own_action_treble", "action_bass_12", "action_treble_12"),
    "saddle_": ("saddle_showing",),
    "straightedge": ("straightedge_at_bridge",),
    "relief": ("relief",),
    "nut_bass": ("nut_bass_1",),
    "nut_treble": ("nut_treble_1",),
    "crown_": ("crown_height",),
}
PIN_FIELDS = (
    "number", "part", "kind", "state", "size", "count", "pieces_8in", "pieces_6in", "x", "y",
)  # fmt: skip
Labels = Mapping[str, Mapping[str, Text]]


def labels_of(book: Book) -> Labels:
    """For each question with choices, and the fields of pins: choice id → label."""
    labels = {id: question.labels for id, question in book.questions.items()}
    for question in book.questions.values():
        if question.kind == "pins":
            labels["part"] = _labels(question.parts)
            labels["kind"] = _labels(question.kinds)
            labels["state"] = _labels(question.states)
    return labels


def _labels(choices: tuple[Choice, ...]) -> Mapping[str, Text]:
    return {choice.id: choice.label for choice in choices}


def shown_units(
    units: Mapping[str, str], answers: Mapping[str, Any], measures: Measures = "customary"
) -> dict[str, str]:
    """The units for these raw answers: `in:mm` for what is held in inches and shown in millimetres,
    and `metric F` for whatever a metric shop shows in its own unit."""
    if measures == "metric":
        return {id: METRIC + unit if unit in SCALE else unit for id, unit in units.items()}
    metric = tuple(
        start
        for start, ids in FOLLOWING.items()
        if any("mm" in str(answers.get(id, "")).lower() for id in ids)
    )
    return {id: IN_MM if unit == "in" and id.startswith(metric) else unit for id, unit in units.items()}


def fill(
    text: str,
    facts: Mapping[str, Any],
    units: Mapping[str, str],
    tests: Mapping[str, UnaryTests],
    labels: Labels | None = None,
    language: str = "en",
) -> str:
    """The text with its placeholders filled.

    `facts` should hold the item's fields too in a table with `each`; `units` is each fact's unit
    (`Book.units`, or `shown_units` of it), `tests` the cells that applied (`Hit.tested`). Choices are
    printed by their label, decimals as the language writes them. What is missing is said to be not measured.
    """

    def words(match: re.Match[str]) -> str:
        id, value = match["id"], _value(match["id"], facts)
        if match["limit"]:
            held = tests.get(id)
            return show_limit(id, held, value, units, labels, language) if held else _not_measured(language)
        return show_value(id, value, units, labels, language)

    return PLACEHOLDER.sub(words, text)


def fill_text(
    text: Text,
    facts: Mapping[str, Any],
    units: Mapping[str, str],
    tests: Mapping[str, UnaryTests],
    labels: Labels | None = None,
) -> Text:
    """`fill` in every language of the text."""
    return Text({lang: fill(words, facts, units, tests, labels, lang) for lang, words in text.items()})


def show_value(
    id: str, value: Any, units: Mapping[str, str], labels: Labels | None = None, language: str = "en"
) -> str:
    """One fact as people write it: heights in 64ths, other inches in thousandths, choices by label.

    A unit of `in:mm` is shown in millimetres.
    """
    if value is None:
        return _not_measured(language)
    if isinstance(value, bool):
        _ = translations(language).gettext
        return _("yes") if value else _("no")
    if isinstance(value, str):
        label = (labels or {}).get(id.split(".")[0], {}).get(value)
        return label.in_(language) if label else value
    if isinstance(value, Mapping):
        shown = ((key, show_value(id, item, units, labels, language)) for key, item in value.items())
        return ", ".join(f"{key}: {words}" for key, words in shown)
    if isinstance(value, tuple | list):
        return ", ".join(show_value(id, item, units, labels, language) for item in value)
    return _localised(_number(id, Fraction(value), units.get(id, "")), language)


def show_limit(
    id: str,
    tests: UnaryTests,
    value: Any,
    units: Mapping[str, str],
    labels: Labels | None = None,
    language: str = "en",
) -> str:
    """The bound that a cell tests: one value, an interval's two ends, or the values it lists."""
    ends = tests.limit(value)
    shown = list(dict.fromkeys(show_value(id, end, units, labels, language) for end in ends))
    interval = len(ends) == 2 and any(isinstance(t, Interval) and t.ends() == ends for t in tests.tests)
    pgettext = translations(language).pgettext
    between = pgettext("between ends", " to ") if interval else pgettext("between values", " or ")
    return between.join(shown)


def _value(id: str, facts: Mapping[str, Any]) -> Any:
    if id in facts or "." not in id:
        return facts.get(id)
    name, member = id.split(".", 1)
    held = facts.get(name)
    return held.get(member) if isinstance(held, Mapping) else None


def _number(id: str, value: Fraction, unit: str) -> str:
    if unit == "ratio":
        return show_measure(value * 100, "%")
    if unit == IN_MM:
        return show_measure(value, "in", "mm")
    if unit.startswith(METRIC):
        return show_metric(value, unit.removeprefix(METRIC))
    if unit not in SCALE:
        return show_measure(value, "") if unit == "count" else f"{show_measure(value, '')} {unit}".strip()
    if unit != "in":
        return show_measure(value, unit)
    if id.startswith(HEIGHTS):
        return show_measure(value, unit, "64ths")
    return show_measure(value, unit, "" if id == "size" or abs(value) >= 1 else "thou")


def inches_in(written: str, texts: Translations) -> str:
    """A measure with the language's own name of the inch."""
    return re.sub(r"(?<=\d) in\b", " " + texts.pgettext("inches", "in"), written)


def _localised(number: str, language: str) -> str:
    number = re.sub(r"(?<=\d)\.(?=\d)", _decimal_mark(language), number)
    return inches_in(number, translations(language))


@lru_cache(maxsize=32)
def _decimal_mark(language: str) -> str:
    try:
        return get_decimal_symbol(language.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return "."


def _not_measured(language: str) -> str:
    return translations(language).gettext("not measured")
