"""What a template says is escaped, and what is filled in is words, never markup."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment
from markupsafe import Markup, escape

from intake.book.text import Text
from intake.i18n.templates import environment, install

TYPED = st.text(max_size=40)


def english(**options: bool) -> Environment:
    env = Environment(**options)
    install(env, lambda: "en")
    return env


@given(TYPED, TYPED)
def test_a_field_is_escaped_whatever_is_typed(name: str, total: str) -> None:
    made = environment("en").from_string('{{ _("{name} <{total}>", name=name, total=total) }}')

    assert made.render(name=name, total=total) == f"{escape(name)} &lt;{escape(total)}&gt;"


@given(TYPED)
def test_a_plain_text_is_left_as_it_is(name: str) -> None:
    made = english(autoescape=False).from_string('{{ _("Hello {name},", name=name) }}')

    assert made.render(name=name) == f"Hello {name},"


def test_markup_that_is_filled_in_stays_markup() -> None:
    made = english(autoescape=True).from_string('{{ _("See {link}.", link=link) }}')

    assert made.render(link=Markup("<a>here</a>")) == "See <a>here</a>."


def test_a_number_chooses_its_form_in_a_template() -> None:
    made = english(autoescape=True).from_string(
        '{{ ngettext("{num} job of {who}", "{num} jobs of {who}", n, who="&") }}'
    )

    assert [made.render(n=n) for n in (1, 2)] == ["1 job of &amp;", "2 jobs of &amp;"]


def test_a_context_tells_meanings_apart() -> None:
    made = environment("fr").from_string(
        '{{ pgettext("weekday", "ready {day}", day="x") }}, {{ _("ready {day}", day="x") }}'
    )

    assert made.render() == "prêt x, prêt le x"


def test_a_text_of_the_book_is_said_in_the_language_of_the_template() -> None:
    made = environment("fr").from_string(
        "{{ text|translated }}, {{ other|translated }}, {{ 'de'|native_name }}"
    )

    assert made.render(text=Text(en="Neck", fr="Manche"), other=Text(en="Nut")) == "Manche, Nut, Deutsch"
