"""What hand and ear were asked about is said on the quote, also where nothing is wrong."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from intake.config import demo_book
from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.formats import Formats
from intake.paper.view import printed_quote
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DAY = date(2026, 11, 24)
ENGLISH = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
WISH = {"sound_wish": "more_power"}
SAID = {
    "a top that thins": ({**WISH, "top_at_bridge": ".115", "top_at_edge": ".095"}, "The top thins by"),
    "a map of it": (
        {**WISH, "top_map": {"bridge": ".115", "tail": ".100", "waist": ".100", "bass_bout": ".095",
                             "treble_bout": ".095"}},
        "By the map the top thins",
    ),
    "narrow linings": (
        {**WISH, "lining_width": "1/8 in", "lower_bout_width": "15 in"}, "Narrow linings leave",
    ),
    "solid linings": ({**WISH, "lining_kind": "solid"}, "Solid linings stiffen the sides"),
    "a flat back": ({**WISH, "back_radius": "20 ft", "lower_bout_width": "15 in"}, "The back is rather flat"),
    "a buzz that is accepted": ({"buzz_accepted": "bass"}, "A little buzz in the bass is accepted"),
    "strings liked so": ({"string_age": "months", "strings_liked": "played_in"}, "Their choice, not a fault"),
    "good frets under low strings": (
        {"own_action_bass": "4/64 in", "own_action_treble": "3/64 in"}, "these are good enough",
    ),
    "a snug rod in steady air": ({"rod_feel": "snug"}, "it is left alone"),
}  # fmt: skip


@pytest.mark.parametrize(("more", "words"), SAID.values(), ids=SAID)
def test_it_is_said_to_the_customer(more: dict[str, Any], words: str) -> None:
    book, walkin = sample_book(), load_walkin(demo_book() / "walkins" / "27-nothing-to-do.toml")
    asked = replace(walkin, answers={**walkin.answers, **more})

    quote = make_quote(book, asked, DAY)
    view = printed_quote(quote, book, asked, ENGLISH, "en")

    said = [sentence for sentence in view.watch if words in sentence]
    assert len(said) == 1
    assert "promise" not in said[0]


def test_nothing_is_said_of_the_sound_to_somebody_who_wishes_for_nothing() -> None:
    book, walkin = sample_book(), load_walkin(demo_book() / "walkins" / "27-nothing-to-do.toml")
    measures = {"top_at_bridge": "0.115 in", "top_at_edge": "0.095 in", "lining_kind": "solid"}
    asked = replace(walkin, answers={**walkin.answers, **measures})

    quote = make_quote(book, asked, DAY)
    view = printed_quote(quote, book, asked, ENGLISH, "en")

    assert view.watch == []
    assert [str(line) for line in quote.headlines] == [
        "Nothing is wrong: what was looked at and measured is as it should be."
    ]
