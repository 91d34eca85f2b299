"""The sentences that the engine itself writes on a quote, in every language that has a catalogue.

Everything else that a customer reads comes from the book.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from babel.dates import format_date
from babel.numbers import format_currency

from intake.book.text import Text
from intake.i18n import N_, languages, translations

_PHRASES = {
    "shared": N_("Done once: {work}"),
    "supplies": N_("Shop supplies"),
    "minimum": N_("Minimum charge"),
    "discount": N_("Discount: {reason}"),
    "discount_share": N_(
        "The discount of {amount} is for all the work that we would do; less work takes its share of it."
    ),
    "rounding": N_("Rounding"),
    "worth_less": N_(
        "The work comes to {share} % of what the instrument is taken to be worth. {offer} is the "
        "economy way. Ask us before deciding."
    ),
    "worth_leave": N_(
        "The work comes to {share} % of what the instrument is taken to be worth. We would leave it, "
        "unless it means more to you than that. Ask us before deciding."
    ),
    "nothing_wrong": N_("Nothing is wrong: what was looked at and measured is as it should be."),
    "left_fuller": N_("{offer} leaves “{complaint}” as it is; {fuller} deals with it."),
    "left_held": N_("Nothing here deals with “{complaint}” yet: something else has to be settled first."),
    "left_unfound": N_(
        "Nothing here deals with “{complaint}”: what was measured so far does not show its cause."
    ),
    "left_explained": N_(
        "Nothing here is done about “{complaint}”: the findings say what explains it, or that it is accepted."
    ),
    "economy": N_("Economy"),
    "date_holds": N_("With a go-ahead by {answer_by}, {offer} can be ready by {wanted}."),
    "date_holds_now": N_(
        "With a go-ahead on {today}, {offer} can be ready by {wanted}; with one on {answer_by} it is "
        "ready on {ready}."
    ),
    "date_fails": N_(
        "{offer} cannot be ready by {wanted}; with a go-ahead on {today} it is ready on {first}."
    ),
    "forecast": N_(
        "Work marked as a forecast hangs on a measurement to be repeated during the job; its price "
        "may change."
    ),
    "may_follow": N_("Not part of this quote, but it may follow: {job}, about {price} in all."),
    "held": N_("Not quoted until the matter above is settled: {jobs}."),
    "price_up": N_("{offers}: {now} instead of {was}, {by} more."),
    "price_down": N_("{offers}: {now} instead of {was}, {by} less."),
    "price_currency": N_("{offers}: {now}; before it was {was}."),
    "day_later": N_("{offers}: ready on {now}, later than {was}."),
    "day_sooner": N_("{offers}: ready on {now}, sooner than {was}."),
    "jobs_added": N_("Added: {jobs}."),
    "jobs_gone": N_("No longer quoted: {jobs}."),
    "quantity_changed": N_("{job}: {now} instead of {was}."),
    "answer_moved": N_("Answer “{question}”: {now} instead of {was}."),
    "answer_changed": N_("Answer “{question}” changed."),
    "book_changed": N_("The shop’s prices or rules have changed in between."),
    "playable": N_("Playable"),
    "put_right": N_("Put right"),
    "everything": N_("Everything"),
}


def phrase(key: str, **words: Text | str) -> Text:
    """The sentence in all languages; a Text among `words` goes in in the sentence's language."""
    message = _PHRASES[key]
    return Text(
        {
            language: translations(language).gettext(
                message, **{name: _in(word, language) for name, word in words.items()}
            )
            for language in languages()
        }
    )


def joined(several: list[Text]) -> Text:
    """A list with commas, in every language that any of them has."""
    languages = dict.fromkeys(language for text in several for language in text)
    return Text({language: ", ".join(text.in_(language) for text in several) for language in languages})


def long_day(day: date) -> Text:
    """A day as each language writes it in full."""
    return Text({language: format_date(day, "long", locale=language) for language in languages()})


def money_text(amount: Decimal, currency: str) -> Text:
    """An amount as each language writes it."""
    return Text({language: format_currency(amount, currency, locale=language) for language in languages()})


def _in(word: Text | str, language: str) -> str:
    return word.in_(language) if isinstance(word, Text) else word
