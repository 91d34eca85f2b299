"""The sentences that the engine itself writes on a quote, in every language it has.

Everything else that a customer reads comes from the book.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from babel.dates import format_date
from babel.numbers import format_currency

from intake.book.text import Text

_PHRASES = {
    "shared": Text(en="Done once: {work}", fr="Fait une seule fois : {work}"),
    "supplies": Text(en="Shop supplies", fr="Fournitures d’atelier"),
    "minimum": Text(en="Minimum charge", fr="Forfait minimum"),
    "discount": Text(en="Discount: {reason}", fr="Remise : {reason}"),
    "discount_share": Text(
        en="The discount of {amount} is for all the work that we would do; less work takes its share of it.",
        fr="La remise de {amount} vaut pour l’ensemble des travaux que nous ferions ; des travaux réduits "
        "en gardent une part.",
    ),
    "rounding": Text(en="Rounding", fr="Arrondi"),
    "worth_less": Text(
        en="The work comes to {share} % of what the instrument is taken to be worth. {offer} is the economy "
        "way. Ask us before deciding.",
        fr="Les travaux reviennent à {share} % de la valeur supposée de l’instrument. « {offer} » est la "
        "voie économique. Parlons-en avant de décider.",
    ),
    "worth_leave": Text(
        en="The work comes to {share} % of what the instrument is taken to be worth. We would leave it, "
        "unless it means more to you than that. Ask us before deciding.",
        fr="Les travaux reviennent à {share} % de la valeur supposée de l’instrument. Nous n’y toucherions "
        "pas, sauf s’il compte pour vous. Parlons-en avant de décider.",
    ),
    "nothing_wrong": Text(
        en="Nothing is wrong: what was looked at and measured is as it should be.",
        fr="Rien à signaler : tout ce qui a été regardé et mesuré est comme il faut.",
    ),
    "left_fuller": Text(
        en="{offer} leaves “{complaint}” as it is; {fuller} deals with it.",
        fr="« {offer} » laisse « {complaint} » en l’état ; « {fuller} » s’en occupe.",
    ),
    "left_held": Text(
        en="Nothing here deals with “{complaint}” yet: something else has to be settled first.",
        fr="Rien ici ne traite encore « {complaint} » : autre chose est à régler d’abord.",
    ),
    "left_unfound": Text(
        en="Nothing here deals with “{complaint}”: what was measured so far does not show its cause.",
        fr="Rien ici ne traite « {complaint} » : les mesures faites n’en montrent pas la cause.",
    ),
    "economy": Text(en="Economy", fr="Économique"),
    "date_holds": Text(
        en="With a go-ahead by {answer_by}, {offer} can be ready by {wanted}.",
        fr="Avec un accord avant le {answer_by}, « {offer} » peut être prêt pour le {wanted}.",
    ),
    "date_holds_now": Text(
        en="With a go-ahead on {today}, {offer} can be ready by {wanted}; with one on {answer_by} it is "
        "ready on {ready}.",
        fr="Avec un accord le {today}, « {offer} » peut être prêt pour le {wanted} ; avec un accord le "
        "{answer_by}, ce sera le {ready}.",
    ),
    "date_fails": Text(
        en="{offer} cannot be ready by {wanted}; with a go-ahead on {today} it is ready on {first}.",
        fr="« {offer} » ne peut pas être prêt pour le {wanted} ; avec un accord le {today}, ce sera le "
        "{first}.",
    ),
    "forecast": Text(
        en="Work marked as a forecast hangs on a measurement to be repeated during the job; its price may "
        "change.",
        fr="Les travaux marqués comme prévision dépendent d’une mesure à refaire en cours de travail ; leur "
        "prix peut changer.",
    ),
    "may_follow": Text(
        en="Not part of this quote, but it may follow: {job}, about {price} in all.",
        fr="Hors de ce devis, mais possible par la suite : {job}, environ {price} en tout.",
    ),
    "held": Text(
        en="Not quoted until the matter above is settled: {jobs}.",
        fr="Non chiffré tant que le point ci-dessus n’est pas réglé : {jobs}.",
    ),
    "price_up": Text(
        en="{offers}: {now} instead of {was}, {by} more.",
        fr="{offers} : {now} au lieu de {was}, soit {by} de plus.",
    ),
    "price_down": Text(
        en="{offers}: {now} instead of {was}, {by} less.",
        fr="{offers} : {now} au lieu de {was}, soit {by} de moins.",
    ),
    "price_currency": Text(
        en="{offers}: {now}; before it was {was}.", fr="{offers} : {now} ; auparavant {was}."
    ),
    "day_later": Text(
        en="{offers}: ready on {now}, later than {was}.", fr="{offers} : prêt le {now}, après le {was}."
    ),
    "day_sooner": Text(
        en="{offers}: ready on {now}, sooner than {was}.", fr="{offers} : prêt le {now}, avant le {was}."
    ),
    "jobs_added": Text(en="Added: {jobs}.", fr="Ajouté : {jobs}."),
    "jobs_gone": Text(en="No longer quoted: {jobs}.", fr="Ne figure plus : {jobs}."),
    "quantity_changed": Text(en="{job}: {now} instead of {was}.", fr="{job} : {now} au lieu de {was}."),
    "answer_moved": Text(
        en="Answer “{question}”: {now} instead of {was}.",
        fr="Réponse « {question} » : {now} au lieu de {was}.",
    ),
    "answer_changed": Text(en="Answer “{question}” changed.", fr="Réponse « {question} » modifiée."),
    "book_changed": Text(
        en="The shop’s prices or rules have changed in between.",
        fr="Les prix ou les règles de l’atelier ont changé entre-temps.",
    ),
    "playable": Text(en="Playable", fr="Jouable"),
    "put_right": Text(en="Put right", fr="Remis en état"),
    "everything": Text(en="Everything", fr="Tout"),
}


LANGUAGES = ("en", "fr")


def phrase(key: str, **words: Text | str) -> Text:
    """The sentence in all languages; a Text among `words` goes in in the sentence's language."""
    return Text(
        {
            language: sentence.format(**{name: _in(word, language) for name, word in words.items()})
            for language, sentence in _PHRASES[key].items()
        }
    )


def joined(several: list[Text]) -> Text:
    """A list with commas, in every language that any of them has."""
    languages = dict.fromkeys(language for text in several for language in text)
    return Text({language: ", ".join(text.in_(language) for text in several) for language in languages})


def long_day(day: date) -> Text:
    """A day as each language writes it in full."""
    return Text({language: format_date(day, "long", locale=language) for language in LANGUAGES})


def money_text(amount: Decimal, currency: str) -> Text:
    """An amount as each language writes it."""
    return Text({language: format_currency(amount, currency, locale=language) for language in LANGUAGES})


def _in(word: Text | str, language: str) -> str:
    return word.in_(language) if isinstance(word, Text) else word
