"""Walk-in files, and the place that is named when one cannot be used."""

from __future__ import annotations

from decimal import Decimal

import pytest

from intake.quoting.walkin import WalkinError, load_walkin, problems_at

FILE = """\
title = "Buzz"
why = "Low nut."
language = "fr"
not_assessed = ["frets"]
by_eye = ["tuners"]
[answers]
family = "banjo"
string_count = 5
relief = 0.008
[answers.fret_wear]
1 = "0.002 in"
[expect]
playable = ["restring"]
"""


@pytest.fixture
def write(tmp_path):
    def written(text: str | bytes):
        path = tmp_path / "case.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return written


def test_answers_stay_as_typed_and_decimals_exact(write):
    walkin = load_walkin(write(FILE))
    assert walkin.answers == {
        "family": "banjo", "string_count": 5, "relief": Decimal("0.008"), "fret_wear": {"1": "0.002 in"},
    }  # fmt: skip
    assert (walkin.title, walkin.why, walkin.language) == ("Buzz", "Low nut.", "fr")
    assert (walkin.not_assessed, walkin.by_eye) == ({"frets"}, {"tuners"})


def test_windows_files_read_alike(write):
    assert load_walkin(write(b"\xef\xbb\xbf" + FILE.replace("\n", "\r\n").encode())).title == "Buzz"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('title = "a"\n[answers\n', "case.toml, row 2: This is not TOML"),
        ('title = "a"\nrelief = "0.008 in"\n', "case.toml, row 2, relief: “relief” is not known here"),
        ('not_assessed = "neck"\n', "row 1, not_assessed: not_assessed is a list of ids"),
        ("answers = 3\n", "answers is a table"),
        ("title = 3\n", "title is text in quotes"),
        (b'title = "\xff"\n', "not UTF-8"),
    ],
)
def test_what_is_wrong_is_named_by_file_row_and_key(write, text, said):
    with pytest.raises(WalkinError) as error:
        load_walkin(write(text))
    assert said in str(error.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(WalkinError, match=r"none\.toml: This file is missing"):
        load_walkin(tmp_path / "none.toml")


@pytest.mark.parametrize(("id", "row"), [("relief", 9), ("fret_wear", 10), ("nowhere", None)])
def test_an_answer_is_found_in_its_file(write, id, row):
    (problem,) = problems_at(write(FILE), {id: ""})

    assert problem.row == row


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title = " + "[" * 50_000, "brackets stand in one another too deeply"),
        ("[answers]\nrelief = " + "9" * 6_000, "a number that is too long"),
        ("".join(f"k{number} = 1\n" for number in range(50_000)), "49980 more are wrong"),
    ],
)
def test_a_file_that_nobody_would_write_is_refused_in_words(write, text, said):
    with pytest.raises(WalkinError) as error:
        load_walkin(write(text))

    assert said in str(error.value)
