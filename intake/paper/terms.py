"""What a shop and a customer hold to: the shop's own terms, else neutral ones that promise little.

Common practice, no source; local consumer law decides, and every document says so.
"""

from __future__ import annotations

from intake.book.model import Shop
from intake.i18n import translations
from intake.paper import labels


def terms_of(shop: Shop, language: str) -> list[str]:
    """The shop's terms in the language, each once."""
    return labels.texts(language, shop.terms) or neutral(language)


def neutral(language: str) -> list[str]:
    """Estimate, more work, parts, storage, tax: for a shop that wrote none of its own."""
    _ = translations(language).gettext
    return [
        _("This is an estimate. If the work comes to more, you are asked before anything dearer is done."),
        _("What only shows once the instrument is open waits for your word; day, person and sum are noted."),
        _("Parts that come off go back to you unless you say otherwise."),
        _("Please collect the instrument soon after we tell you that it is ready."),
        _("Tax stands on a line of its own, or under the total where the prices hold it."),
    ]
