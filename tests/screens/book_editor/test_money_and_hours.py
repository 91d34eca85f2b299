"""Money and opening hours: bad input is refused beside its field, what is right changes no byte besides."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from intake.config import demo_book
from intake.screens.book_editor.money import form_of


def changed(owner: Any) -> list[str]:
    """The lines of shop.toml that differ from the demo's, as + and -."""
    before = (demo_book() / "shop.toml").read_text("utf-8").splitlines()
    lines = difflib.unified_diff(before, owner.file("shop.toml").splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:3] not in ("---", "+++") and not line.startswith("@@")]


def test_enter_takes_out_no_tax(owner: Any) -> None:
    """It presses the form's first button (HTML, implicit submission)."""
    (first, *_) = owner.page("/book/money").xpath("//form[@id='form']//button")
    assert (first.get("name"), first.get("hidden")) == (None, "")


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("labour_rate", "-5", "“Labour rate, an hour” may not be negative"),
        ("labour_rate", "a lot", "“Labour rate, an hour” must be a number"),
        ("labour_rate", "", "missing"),
        ("labour_rate", "7200000", "decimal point"),
        ("labour_rate", "1e30", "decimal point"),
        ("parts_markup", "1e9", "decimal point"),
        ("minimum", "-1", "may not be negative"),
        ("rounding", "-0.05", "may not be negative"),
        ("parts_markup", "-60", "may not be negative"),
        ("supplies_rate", "200", "between 0 % and 100 %"),
        ("deposit_rate", "101", "between 0 % and 100 %"),
        ("discount_most", "150", "at most 100 %"),
        ("valid_days", "0", "1 to 366 days"),
        ("valid_days", "soon", "“A quote is good for” must be a whole number"),
        ("tax-0-rate", "800", "between 0 % and 100 %, not 800 %"),
        ("tax-0-rate", "-8", "between 0 % and 100 %"),
        ("tax-0-name", "", "missing"),
    ],
)
def test_money_that_no_shop_has_is_refused_beside_its_field(
    refused: Callable[..., None], field: str, typed: str, says: str
) -> None:
    refused("/book/money", field, says, **{field.replace("-", "__"): typed, "answer_days": "9"})


def test_a_tax_on_nothing_is_refused(owner: Any, beside: Any) -> None:
    answer = owner.change("/book/money", tax__0__on=None)
    assert answer.status_code == 422 and not owner.drafted
    assert "Tick at least one" in answer.text


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("tue", "18:00-10:00", "not a span of time"),
        ("tue", "10:00-12:00, 11:00-13:00", "not a span of time"),
        ("wed", "all day", "not a span of time"),
        ("wed", "25:00-26:00", "not a span of time"),
        ("productive_share", "0", "above 0 % and at most 100 %"),
        ("productive_share", "175", "above 0 % and at most 100 %"),
        ("closed", "2026-02-30", "a day that no calendar has"),
        ("closed", "next week", "not a day"),
        ("closed", "2027-01-01 to 2027-12-31", "closed for a whole year"),
        ("closed", "2027-01-01/2027-06-30\n2027-07-01/2028-01-31", "closed for a whole year"),
        ("region", "Atlantis", "not known"),
    ],
)
def test_hours_that_no_shop_has_are_refused_beside_their_field(
    refused: Callable[..., None], field: str, typed: str, says: str
) -> None:
    refused("/book/hours", field, says, **{field: typed})


def test_a_shop_that_never_opens_is_refused(refused: Callable[..., None]) -> None:
    week = dict.fromkeys(("tue", "wed", "thu", "fri", "sat"), "closed")
    refused("/book/hours", "mon", "never open", **week)


def test_days_off_that_leave_none_open_are_refused(refused: Callable[..., None]) -> None:
    """Each span is shorter than a week, and between them lie days on which the shop never opens."""
    mondays = [date(2026, 11, 23) + timedelta(weeks=week) for week in range(1000)]
    spans = [f"{monday + timedelta(days=1)}/{monday + timedelta(days=6)}" for monday in mondays]
    refused("/book/hours", "closed", "year", closed="\n".join(spans))


def test_one_figure_changes_one_line_and_comments_stay(owner: Any) -> None:
    assert owner.change("/book/money", labour_rate="80,50").status_code == 303
    owner.save()
    assert changed(owner) == ['-labour_rate = "72"', '+labour_rate = "80.50"']
    assert owner.ctx.book.shop.labour_rate == Decimal("80.50")
    assert owner.file("shop.toml").startswith("# Harbour Lane Strings is an invented shop.")


def test_a_form_sent_as_it_stands_changes_nothing(owner: Any) -> None:
    for address in ("/book/money", "/book/hours"):
        owner.change(address)
        assert not owner.drafted


def test_taxes_come_and_go_and_are_kept_apart(owner: Any) -> None:
    more = owner.client.post("/book/money", data={**owner.form("/book/money").to_dict(False), "rows": "add"})
    assert more.status_code == 200 and 'name="tax-1-rate"' in more.text and not owner.drafted
    form = {"tax__1__at": "", "tax__1__name": "City tax", "tax__1__rate": "1,5", "tax__1__on": ["parts"]}
    answer = owner.change("/book/money", **form, tax__1__included="yes")
    assert answer.status_code == 303
    owner.save()
    first, second = owner.ctx.book.shop.taxes
    assert str(first.name) == "Sales tax" and first.name["fr"] == "Taxe de vente"
    assert (str(second.name), second.rate, second.on, second.included) == (
        "City tax", Decimal("0.015"), ("parts",), True,
    )  # fmt: skip
    assert not [line for line in changed(owner) if line.startswith("-")]
    typed = {**owner.form("/book/money").to_dict(False), "rows": "0", "labour_rate": "99"}
    less = owner.client.post("/book/money", data=typed)
    assert "City tax" in less.text and "Sales tax" not in less.text and 'value="99"' in less.text
    assert not owner.drafted
    first_tax = {f"tax__0__{key}": None for key in ("at", "name", "name_fr", "rate", "on", "included")}
    assert owner.change("/book/money", **first_tax).status_code == 303
    owner.save()
    assert [str(tax.name) for tax in owner.ctx.book.shop.taxes] == ["City tax"]


def test_no_tax_at_all(owner: Any) -> None:
    first_tax = {f"tax__0__{key}": None for key in ("at", "name", "name_fr", "rate", "on", "included")}
    assert owner.change("/book/money", **first_tax).status_code == 303
    owner.save()
    assert owner.ctx.book.shop.taxes == ()


def test_hours_as_people_write_them(owner: Any) -> None:
    answer = owner.change("/book/hours", mon="9.30–17", tue="", sat="10 - 12:30, 13h30 to 16", region="US-NY")
    assert answer.status_code == 303
    owner.save()
    lines = changed(owner)
    assert '+mon = "09:30-17:00"' in lines and '-tue = "10:00-18:00"' in lines
    assert '+sat = "10:00-12:30, 13:30-16:00"' in lines and '+region = "US-NY"' in lines
    assert 1 not in owner.ctx.book.shop.open_hours and len(owner.ctx.book.shop.open_hours[5]) == 2


def test_a_tax_has_a_name_in_every_language_of_the_shop() -> None:
    form = form_of(("en", "de", "fi"))(data={"tax": [{"name": "VAT", "name_fi": "ALV"}]})

    entry = form.tax[0]

    assert [entry[key].label.text for key in ("name_de", "name_fi")] == [
        "Name on the quote [de]",
        "Name on the quote [fi]",
    ]
    assert entry["name_fi"].data == "ALV"
