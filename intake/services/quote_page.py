"""What a quote's page shows, for the customer and for the staff who take the answer."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from intake.services import signature
from intake.services.quote_view import QuoteView
from intake.store.decisions import Answer
from intake.store.photos import Photo


def choice(visit: QuoteView, **more: Any) -> dict[str, Any]:
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
        "ready": formats.day(offer.first_day) if offer.jobs else "",
        "last": visit.last_day(offer),
        "last_yes": formats.day(visit.menu.answer_by),
        "deposit": formats.money(offer.deposit) if offer.deposit and offer.jobs else "",
        "sums": visit.sums(offer),
        "share": visit.share_words(offer),
        "problem": "",
        **more,
    }


def yes_words(visit: QuoteView, yes: Answer) -> dict[str, Any]:
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
        "signed": signature.drawing(drawn, visit.formats.gettext("Signature")) if drawn else "",
    }


def whole(visit: QuoteView, here: str, photos: list[Photo], **more: Any) -> dict[str, Any]:
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
        "today": visit.formats.day(visit.menu.today),
        "valid_until": visit.formats.day(visit.quote.valid_until),
        "other_languages": [one for one in visit.book.shop.languages if one != visit.language],
        "asked": False,
        **choice(visit),
        **(yes_words(visit, yes) if yes else {"yes": None}),
        **more,
    }
