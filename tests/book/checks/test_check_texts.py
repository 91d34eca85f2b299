"""Faults planted in the demo's checklist and shop, each found in its place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
DEMO = Path(__file__).parents[3] / "pricing_demo"
CHECKLIST, SHOP = "checklist.toml", "shop.toml"
RELIEF_LOW = 'low = "-0.080 in"\nhigh = "0.200 in"'
NECK_SHAPE = '\n\n[[question]]\nid = "neck_shape"'

OF_QUESTIONS = {
    "sound on a measure": (
        "relief",
        RELIEF_LOW,
        f'{RELIEF_LOW}\nsound = "0"',
        "sound",
        "never fills a measure",
    ),
    "sound is no answer": (
        "twist",
        f'sound = "none"{NECK_SHAPE}',
        f'sound = "nnoe"{NECK_SHAPE}',
        "sound",
        "“nnoe”",
    ),
    "sound is neither yes nor no": (
        "mains_gear",
        'sound = "no"\n\n[[question]]\nid = "original"',
        'sound = "never"\n\n[[question]]\nid = "original"',
        "sound",
        "“never”",
    ),
    "stranger in when": (
        "rod_state",
        'when = {rod = ["one_way"',
        'when = {rod = ["oneway"',
        "when",
        "“oneway”",
    ),
    "when of no question": (
        "rod_state",
        "when = {rod = ",
        "when = {rodd = ",
        "when",
        "“rodd” is not a question",
    ),
    "no such step": (
        "rod_state",
        'id = "rod_state"\nstep = "neck"',
        'id = "rod_state"\nstep = "nekc"',
        "step",
        "“nekc”",
    ),
    "bounds the wrong way": (
        "relief",
        'high = "0.200 in"',
        'high = "-0.200 in"',
        "low",
        "not under the highest",
    ),
    "value out of bounds": ("relief", '"0.024 in"]', '"0.24 in"]', "values", "“0.24 in” is outside"),
    "no French": ("relief", '"label [fr]" = "Galbe du manche"\n', "", "label [fr]", "language"),
    "label too long": ("relief", 'label = "Relief"', f'label = "{"R" * 61}"', "label", "61 characters"),
}


@pytest.mark.parametrize(("id", "old", "new", "column", "words"), OF_QUESTIONS.values(), ids=OF_QUESTIONS)
def test_a_fault_in_the_checklist_stands_in_the_row_of_its_question(
    demo_with: DemoWith, id: str, old: str, new: str, column: str, words: str
) -> None:
    rows = (DEMO / CHECKLIST).read_text("utf-8").splitlines()
    found = demo_with((CHECKLIST, old, new))
    met = {(p.file, p.row, p.column) for p in found if words in p.sentence}
    assert (CHECKLIST, rows.index(f'id = "{id}"') + 1, column) in met, [str(problem) for problem in found]


OTHERS = {
    "no such family": (
        CHECKLIST,
        'families = ["steel-string"',
        'families = ["steel-strnig"',
        "families",
        "“steel-strnig”",
    ),
    "no such complaint": (CHECKLIST, 'needed_for = ["buzz"', 'needed_for = ["buz"', "needed_for", "“buz”"),
    "a thirteenth step": (
        CHECKLIST,
        "[[question]]",
        '[[step]]\nid = "tea"\nname = "Tea"\n"name [fr]" = "Thé"\nheading = "Tea?"\n\n[[question]]',
        "step",
        "The twelve steps are",
    ),
    "tax over everything": (SHOP, 'rate = "8 %"', 'rate = "108 %"', "tax 1 rate", "between 0 % and 100 %"),
    "tax not in French": (SHOP, '"name [fr]" = "Taxe de vente"\n', "", "tax 1 name [fr]", "language"),
    "rate below nothing": (
        SHOP,
        'labour_rate = "72"',
        'labour_rate = "-72"',
        "labour_rate",
        "may not be negative",
    ),
    "nobody at the bench": (
        SHOP,
        'productive_share = "75 %"',
        'productive_share = "0"',
        "productive_share",
        "above 0",
    ),
    "more than the sum": (
        SHOP,
        'deposit_rate = "25 %"',
        'deposit_rate = "25"',
        "deposit_rate",
        "write 25 % or 0.25",
    ),
    "good for no day": (SHOP, "valid_days = 30", "valid_days = 0", "valid_days", "1 to 366 days"),
    "closed for a year": (
        SHOP,
        'closed = ["2026-12-24/2026-12-26"',
        'closed = ["2027-07-11/2028-07-01", "2026-12-24/2026-12-26"',
        "closed",
        "a whole year",
    ),
    "a day of no calendar": (SHOP, '"2026-12-24/2026-12-26"', '"2026-02-31"', "closed", "no calendar"),
    "a span that runs backwards": (
        SHOP,
        "2026-12-24/2026-12-26",
        "2026-12-26/2026-12-24",
        "closed",
        "before it begins",
    ),
    "a language without a catalogue": (
        SHOP,
        'languages = ["en", "fr"]',
        'languages = ["en", "fr", "eo"]',
        "languages",
        "no translation into “eo”",
    ),
    "staff without a catalogue": (
        SHOP,
        'locale = "en_US"',
        'locale = "en_US"\nstaff_language = "eo"',
        "languages",
        "no translation into “eo”",
    ),
    "no such locale": (SHOP, '"en_US"', '"zz_ZZ"', "locale", "“zz_ZZ”"),
    "no such country": (SHOP, 'region = "US"', 'region = "XX"', "region", "“XX”"),
    "no such part of a country": (SHOP, 'region = "US"', 'region = "US-QQ"', "region", "“US-QQ”"),
    "braces in a note": (SHOP, "An invented demo shop", "An {invented} demo shop", "note", "no braces"),
    "terms not in French": (
        SHOP,
        '"text [fr]" = "Toute pièce',
        '# "text [fr]" = "Toute pièce',
        "terms 4 [fr]",
        "language",
    ),
}


@pytest.mark.parametrize(("file", "old", "new", "column", "words"), OTHERS.values(), ids=OTHERS)
def test_a_fault_in_a_toml_file_is_found_by_its_key(
    demo_with: DemoWith, file: str, old: str, new: str, column: str, words: str
) -> None:
    found = demo_with((file, old, new))
    met = {(p.file, p.column) for p in found if words in p.sentence}
    assert (file, column) in met, [str(problem) for problem in found]


def test_a_shop_that_never_opens_is_found(demo_with: DemoWith) -> None:
    days = [(SHOP, f'{day} = "10:00-18:00"\n', "") for day in ("tue", "wed", "thu", "fri")]
    (problem,) = demo_with(*days, (SHOP, 'sat = "10:00-16:00"\n', 'sat = "closed"\n'))
    assert (problem.file, problem.column) == (SHOP, "hours") and "never open" in problem.sentence


def test_a_shop_closed_for_a_day_less_than_a_year_is_no_fault(demo_with: DemoWith) -> None:
    year_less_a_day = '"2028-01-01/2028-12-29", "2028-03-01/2028-03-02"'
    assert demo_with((SHOP, '"2026-12-24/2026-12-26"', year_less_a_day)) == []
