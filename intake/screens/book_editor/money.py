"""Money: the rate, what is added to it, taxes, rounding, deposit, validity."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

import tomlkit
from flask import Response, make_response, render_template, url_for
from tomlkit import TOMLDocument
from werkzeug.datastructures import MultiDict
from wtforms import (
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectChoice,
    SelectMultipleField,
    StringField,
)

from intake.book.model import TAXABLE
from intake.book.problems import Problem
from intake.i18n import N_, _
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.draft import current_draft, of_file, onward
from intake.screens.book_editor.forms import OwnerForm, SeenForm, accept
from intake.screens.book_editor.shop_toml import (
    NAMES,
    SHOP,
    as_amount,
    as_percent,
    as_whole,
    edited,
    is_more,
    percent,
    plain,
    put,
    values,
)
from intake.web.context import current_context
from intake.web.forms import posted_pairs
from intake.web.numbers import whole_number

AMOUNTS = ("labour_rate", "minimum", "supplies_most", "rounding", "deposit_from")
PERCENTS = ("parts_markup", "supplies_rate", "deposit_rate", "worth_warning", "discount_most")
WHOLES = ("valid_days", "answer_days")
MOST_TAXES = 12
MOST = 100_000
BLANK = {"at": "", "name": "", "rate": "", "included": "no"}
KINDS = [
    SelectChoice("labour", N_("labour")),
    SelectChoice("parts", N_("parts")),
    SelectChoice("supplies", N_("supplies")),
]
WAYS = [
    SelectChoice("nearest", N_("to the nearest")),
    SelectChoice("up", N_("up")),
    SelectChoice("down", N_("down")),
]
INCLUDED = [SelectChoice("no", N_("added to them")), SelectChoice("yes", N_("already in them"))]


class TaxForm(Form):
    """One tax; `at` is its place in the file, empty for a new one."""

    at = HiddenField()
    name = StringField(N_("Name on the quote"))
    rate = StringField(N_("Rate"))
    on = SelectMultipleField(N_("On"), choices=KINDS, validate_choice=False)
    included = RadioField(N_("And the prices"), choices=INCLUDED, validate_choice=False)


class RowsForm(SeenForm):
    """The button that adds a tax, or takes the one of that number out."""

    rows = HiddenField()


class MoneyForm(OwnerForm):
    """The figures of shop.toml; `languages` are those in which a tax has a name besides English."""

    languages: tuple[str, ...] = ()

    labour_rate = StringField(NAMES["labour_rate"])
    minimum = StringField(NAMES["minimum"])
    parts_markup = StringField(NAMES["parts_markup"])
    supplies_rate = StringField(NAMES["supplies_rate"])
    supplies_most = StringField(NAMES["supplies_most"])
    rounding = StringField(NAMES["rounding"])
    rounding_way = RadioField(NAMES["rounding_way"], choices=WAYS, validate_choice=False)
    deposit_rate = StringField(NAMES["deposit_rate"])
    deposit_from = StringField(NAMES["deposit_from"])
    valid_days = StringField(NAMES["valid_days"])
    answer_days = StringField(NAMES["answer_days"])
    worth_warning = StringField(NAMES["worth_warning"])
    discount_most = StringField(NAMES["discount_most"])
    tax = FieldList(FormField(TaxForm), max_entries=MOST_TAXES)


def form_of(languages: tuple[str, ...]) -> type[MoneyForm]:
    """The form with a tax's name in each of these languages."""
    others = tuple(language for language in languages if language != "en")
    names = {f"name_{language}": StringField(f"{_('Name on the quote')} [{language}]") for language in others}
    taxes = FieldList(FormField(type("TaxForm", (TaxForm,), names)), max_entries=MOST_TAXES)
    return cast(type[MoneyForm], type("MoneyForm", (MoneyForm,), {"languages": others, "tax": taxes}))


@blueprint.get("/money")
def money_page() -> str:
    """The figures as they stand."""
    hand = current_draft()
    form = _form_class()
    return _page(form(data=shown(values(hand.files[SHOP]), form.languages)), of_file(hand.files, SHOP))


@blueprint.post("/money")
def change_money() -> Response:
    """Take the figures in, or add or take out a tax on the page."""
    hand = current_draft()
    rows = RowsForm.posted()
    if rows.rows.data:
        form = _form_class()(_with_other_rows(MultiDict(posted_pairs()), rows.rows.data))
        return make_response(_page(form, rows.seen.data or ""))
    form = _form_class().posted()
    _refuse_absurd(form)
    files = {**hand.files, SHOP: edited(hand.files[SHOP], lambda shop: write(shop, form))}
    if accept(form, hand, SHOP, files, lambda problem: field_of(problem, form)):
        return onward(url_for("book_editor.effect_page"))
    return make_response(_page(form, of_file(hand.files, SHOP)), 422)


def _form_class() -> type[MoneyForm]:
    return form_of(current_context().book.shop.languages)


def _refuse_absurd(form: MoneyForm) -> None:
    """What the loader would take and nobody means."""
    for entry in form.tax:
        if not entry.on.data:
            entry.on.errors = [_("Tick at least one: a tax is on something.")]
    for key in (*AMOUNTS, "parts_markup"):
        if is_more(as_amount(form[key].data or ""), MOST):
            form.say(key, _("That is more than any shop charges; is a decimal point missing?"))


def shown(shop: dict[str, Any], languages: Sequence[str]) -> dict[str, Any]:
    """shop.toml's values as the fields show them."""
    found: dict[str, Any] = {key: plain(shop.get(key)) for key in (*AMOUNTS, *WHOLES)}
    found |= {key: percent(shop.get(key)) for key in PERCENTS}
    found["rounding_way"] = shop.get("rounding_way", "nearest")
    found["tax"] = [_shown_tax(tax, at, languages) for at, tax in enumerate(shop.get("tax", []))]
    return found


def _shown_tax(tax: dict[str, Any], at: int, languages: Sequence[str]) -> dict[str, Any]:
    return {
        "at": str(at),
        "name": plain(tax.get("name")),
        **{f"name_{language}": plain(tax.get(f"name [{language}]")) for language in languages},
        "rate": percent(tax.get("rate")),
        "on": list(tax.get("on", TAXABLE)),
        "included": "yes" if tax.get("included") else "no",
    }


def write(shop: TOMLDocument, form: MoneyForm) -> None:
    """Put what was typed into the file's values; what was not touched stays as it is written."""
    before, typed = shown(shop.unwrap(), form.languages), form.data
    for key in AMOUNTS:
        put(shop, key, before[key], typed[key] or "", as_amount(typed[key] or ""))
    for key in PERCENTS:
        put(shop, key, before[key], typed[key] or "", as_percent(typed[key] or ""))
    for key in WHOLES:
        put(shop, key, before[key], typed[key] or "", as_whole(typed[key] or ""))
    put(shop, "rounding_way", before["rounding_way"], typed["rounding_way"] or "", typed["rounding_way"])
    if typed["tax"] != before["tax"]:
        _write_taxes(shop, typed["tax"], before["tax"], form.languages)


def _write_taxes(
    shop: TOMLDocument,
    typed: list[dict[str, Any]],
    before: list[dict[str, Any]],
    languages: Sequence[str],
) -> None:
    held = shop.get("tax")
    if not isinstance(held, tomlkit.items.AoT):
        held = tomlkit.aot()
        shop["tax"] = held
    kept = {at: row for row in typed if (at := whole_number(row["at"])) is not None and at < len(before)}
    for at, row in kept.items():
        _write_tax(held[at], row, before[at], languages)
    for at in reversed(range(len(before))):
        if at not in kept:
            del held[at]
    for row in typed:
        if whole_number(row["at"]) is None:
            new = tomlkit.table()
            blank = dict.fromkeys(("name", "rate", *(f"name_{one}" for one in languages)), "")
            _write_tax(new, row, {**blank, "on": [], "included": "no"}, languages)
            new.add(tomlkit.nl())
            held.append(new)
    if not held:
        del shop["tax"]


def _write_tax(table: Any, row: dict[str, Any], before: dict[str, Any], languages: Sequence[str]) -> None:
    put(table, "name", before["name"], row["name"] or "", (row["name"] or "").strip())
    for language in languages:
        typed = row[f"name_{language}"] or ""
        put(table, f"name [{language}]", before[f"name_{language}"], typed, typed.strip())
    put(table, "rate", before["rate"], row["rate"] or "", as_percent(row["rate"] or ""))
    if row["on"] != before["on"]:
        table["on"] = [kind for kind in TAXABLE if kind in (row["on"] or ())]
    if (row["included"] or "no") != before["included"]:
        table["included"] = row["included"] == "yes"


def field_of(problem: Problem, form: MoneyForm) -> str:
    """`tax 2 rate` is the second tax's field, any other column its own."""
    if problem.file != SHOP:
        return ""
    word, _space, rest = problem.column.partition(" ")
    number, _space, column = rest.partition(" ")
    if word == "tax" and 0 < (whole_number(number) or 0) <= len(form.tax):
        entry = form.tax[int(number) - 1]
        key = column.replace(" [", "_").removesuffix("]")
        return str(entry[key].name) if key in entry.form else ""
    return problem.column


def _with_other_rows(typed: MultiDict[str, str], what: str) -> MultiDict[str, str]:
    """The form with a tax more (`add`), or without the one of that number."""
    numbers = [whole_number(key.split("-")[1]) or 0 for key in typed if key.startswith("tax-")]
    fields = MultiDict([pair for pair in typed.items(multi=True) if not pair[0].startswith(f"tax-{what}-")])
    if what == "add" and len(numbers) < MOST_TAXES:
        new = f"tax-{max(numbers, default=-1) + 1}"
        fields.update({f"{new}-{key}": value for key, value in BLANK.items()})
        fields.setlist(f"{new}-on", list(TAXABLE))
    return fields


def _page(form: MoneyForm, seen: str) -> str:
    return render_template("book_editor/money.html", form=form, seen=seen)
