"""The customer's pages put together."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from flask import Response, url_for

from intake.customer import signature
from intake.customer.texts import environment
from intake.customer.visit import Visit
from intake.store.answers import Answer
from intake.store.photos import Photo


def render(template: str, language: str, **context: Any) -> str:
    """One of our templates in that language."""
    return environment(language).get_template(template).render(language=language, url_for=url_for, **context)


def answer(page: str, status: int = 200) -> Response:
    """A page that nobody keeps, lists or passes on the address of."""
    made = Response(page, status)
    made.headers["Cache-Control"] = "no-store, private"
    made.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    made.headers["Referrer-Policy"] = "no-referrer"
    return made


def choice(visit: Visit, **more: Any) -> dict[str, Any]:
    """What the part of the page needs that follows every tap."""
    selection = visit.menu.select(visit.picked())
    offer, formats = selection.offer, visit.formats
    rows = visit.rows(selection)
    return {
        "visit": visit,
        "selection": selection,
        "cards": visit.cards(selection),
        "rows": rows,
        "leaving": {row.id: visit.leaving(row.id, selection) for row in rows if row.state == "in"},
        "offer": offer,
        "name": visit.tier_name(offer),
        "total": formats.money(offer.total),
        "ready": formats.day(offer.ready) if offer.jobs else "",
        "deposit": formats.money(offer.deposit) if offer.deposit and offer.jobs else "",
        "sums": visit.sums(offer),
        "share": visit.share_words(offer),
        "problem": "",
        "typed": {},
        **more,
    }


def yes_words(visit: Visit, yes: Answer) -> dict[str, Any]:
    """What was agreed, in words."""
    formats = visit.formats
    drawn = yes.signature if yes.signature != "typed" else ""
    return {
        "yes": yes,
        "yes_total": formats.money(Decimal(yes.total)),
        "yes_deposit": formats.money(Decimal(yes.deposit)) if Decimal(yes.deposit or 0) else "",
        "yes_ready": formats.day(date.fromisoformat(yes.ready)),
        "yes_day": visit.day_of(yes.at),
        "yes_jobs": visit.names(yes.job_ids),
        "signed": signature.drawing(drawn, visit.formats.say("Signature")) if drawn else "",
    }


def whole(visit: Visit, here: str, photos: list[Photo], **more: Any) -> dict[str, Any]:
    """Everything the quote's page needs; `here` is the address that its forms post to."""
    said = [one for one in visit.answers if one.kind in ("question", "refused")]
    yes = visit.go_ahead
    return {
        "here": here,
        "shop": visit.book.shop,
        "view": visit.view,
        "photos": photos,
        "said": said,
        "made_on": visit.formats.day(visit.quote.made_on),
        "answer_by": visit.formats.day(visit.quote.answer_by),
        "valid_until": visit.formats.day(visit.quote.valid_until),
        "other_languages": [one for one in visit.book.shop.languages if one != visit.language],
        "asked": False,
        **choice(visit),
        **(yes_words(visit, yes) if yes else {"yes": None}),
        **more,
    }
