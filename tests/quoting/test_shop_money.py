"""What a book says of money and of hours: read, or refused with file and key."""

from __future__ import annotations

import shutil
from decimal import Decimal

import pytest

from intake.book.checks.run import check_book
from intake.book.files.load import BookError, load_book
from intake.book.model import Tax
from intake.config import demo_book

RATE = 'rate = "8 %"'
ON = 'on = ["labour", "parts", "supplies"]'


@pytest.fixture
def folder(tmp_path):
    copy = tmp_path / "book"
    shutil.copytree(demo_book(), copy)
    return copy


def changed(folder, old, new, file="shop.toml"):
    path = folder / file
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    return folder


def refused(folder):
    with pytest.raises(BookError) as caught:
        load_book(folder)
    return str(caught.value)


def test_the_demo_shop_has_one_tax_on_everything(folder):
    (tax,) = load_book(folder).shop.taxes
    assert tax == Tax(tax.name, Decimal("0.08"), ("labour", "parts", "supplies"), False)
    assert (tax.name["en"], tax.name["fr"]) == ("Sales tax", "Taxe de vente")


def test_several_taxes_and_their_defaults(folder):
    second = f'{ON}\nincluded = true\n\n[[tax]]\nname = "City"\nrate = 0.015\n'
    shop = load_book(changed(folder, f"{ON}\nincluded = false\n", second)).shop
    assert [tax.included for tax in shop.taxes] == [True, False]
    assert (shop.taxes[1].rate, shop.taxes[1].on) == (Decimal("0.015"), ("labour", "parts", "supplies"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (RATE, 'rate = "800 %"', "shop.toml, tax 1 rate: A tax is between 0 % and 100 %, not 800 %"),
        (RATE, 'rate = "-1 %"', "shop.toml, tax 1 rate: A tax is between"),
        (RATE, 'rate = "much"', "shop.toml, tax 1 rate: rate must be a number, not “much”."),
        (RATE, "", "shop.toml, tax 1 rate: rate is missing."),
        (
            ON,
            'on = ["tools"]',
            "shop.toml, tax 1 on: “tools” is not a kind of line; a tax is on labour, parts",
        ),
        (ON, 'upon = ["parts"]', "shop.toml, tax 1 upon: “upon” is not known here."),
        ("included = false", 'included = "no"', "shop.toml, tax 1 included: included is true or false"),
        ('name = "Sales tax"', "", "shop.toml, tax 1 name: name is missing."),
        ("[[tax]]", "[tax]", "shop.toml, tax: Write each tax as [[tax]]"),
        (
            '"nearest"',
            '"sideways"',
            "shop.toml, rounding_way: “sideways” is not a direction; write nearest, up",
        ),
        ('rounding = "0.01"', 'rounding = "-5"', "shop.toml, rounding: rounding may not be negative."),
        ('"60 %"\nsupplies', '"-60 %"\nsupplies', "shop.toml, parts_markup: parts_markup may not be"),
        ('currency = "USD"', 'currency = "Dollars"', "shop.toml, currency: “Dollars” is not a currency"),
        ('labour_rate = "72"', 'labour_rate = "-72"', "shop.toml, labour_rate: labour_rate may not be"),
        ('rounding = "0.01"', 'tax_rate = "8 %"', "shop.toml, tax_rate: “tax_rate” is not known here."),
    ],
)
def test_money_that_cannot_be_is_refused_with_its_key(folder, old, new, said):
    assert said in refused(changed(folder, old, new))


def test_a_part_may_leave_its_price_to_the_markup(folder):
    book = load_book(changed(folder, ",7.00,13.00,", ",7.00,,", "parts.csv"))
    assert book.parts["strings-steel"].price is None


def test_the_checker_knows_what_factors_may_ask_of_a_job(folder):
    path = folder / "factors.csv"
    first, each, heading, *rows = path.read_text("utf-8").splitlines()
    heading, rows = "quantity," + heading, [">=1," + rows[0], *("-," + row for row in rows[1:])]
    path.write_text("\n".join([first, each, heading, *rows]) + "\n", "utf-8")
    assert [problem for problem in check_book(load_book(folder)) if problem.file == "factors.csv"] == []
    strange = [row.replace("skill: ", "skil: ") for row in rows]
    path.write_text("\n".join([first, each, heading, *strange]) + "\n", "utf-8")
    assert any(problem.column == "when skil" for problem in check_book(load_book(folder)))
