"""What a message says, and where the links of this shop begin."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from intake.i18n.templates import environment
from intake.mail.letter import ADDRESS, Letter
from intake.mail.settings import MailSettings
from intake.services.context import Context
from intake.services.quote_pdf import pdf_of
from intake.services.quote_view import Card, QuoteView
from intake.store import quotes
from intake.store.outbox import Mail

CUSTOMER_PATH = "/q/"


def writer(ctx: Context, settings: MailSettings) -> Callable[[Mail, str], Letter | None]:
    """How the sender has a letter written: in the customer's language, with the kept PDF."""

    def write(mail: Mail, token: str) -> Letter | None:
        visit = QuoteView.of(ctx, ctx.store.db, mail.ticket, mail.revision, mail.language)
        if visit is None:
            return None
        pdf = pdf_of(visit, mail.address)
        return compose(visit, settings, mail, link=mail.address + CUSTOMER_PATH + token, pdf=pdf)

    return write


def expires(ctx: Context) -> Callable[[Mail], datetime | None]:
    """How long the link of a message holds; None where it is not worth sending any more."""

    def until(mail: Mail) -> datetime | None:
        last = quotes.latest(ctx.store.db, mail.ticket)
        visit = QuoteView.of(ctx, ctx.store.db, mail.ticket, mail.revision, mail.language)
        if last is None or last.revision != mail.revision or visit is None or not visit.valid:
            return None
        return datetime.combine(visit.quote.valid_until, datetime.min.time())

    return until


def compose(visit: QuoteView, settings: MailSettings, mail: Mail, *, link: str, pdf: bytes) -> Letter:
    """The letter of one quote."""
    shop, formats = visit.book.shop, visit.formats
    cards = visit.cards(visit.menu.select(()))
    offers = [(card.name, card.total, _days(visit, card)) for card in cards]
    context = {
        "language": mail.language,
        "shop": shop,
        "visit": visit,
        "name": str(visit.walkin.answers.get("customer_name", "")),
        "note": mail.note,
        "offers": offers,
        "link": link,
        "valid_until": formats.day(visit.quote.valid_until),
    }
    env = environment(mail.language)
    return Letter(
        message_id=mail.message_id,
        sender=settings.sender,
        shop=shop.name,
        recipient=mail.recipient,
        subject=formats.gettext(
            "Your repair quote {number} from {shop}", number=visit.number, shop=shop.name
        ),
        text=env.get_template("mail/letter.txt").render(context),
        html=env.get_template("mail/letter.html").render(context),
        language=mail.language,
        date=here_now(visit),
        pdf=pdf,
        pdf_name=f"quote-{visit.number}.pdf",
        reply_to=shop.email if ADDRESS.fullmatch(shop.email or "") else "",
    )


def _days(visit: QuoteView, card: Card) -> str:
    """When an offer is ready, with a yes on the day of the letter and with one by the last day."""
    _, day = visit.formats.gettext, visit.formats.day
    if not card.ready:
        return ""
    first = _("ready {day} with a yes on {today}", day=card.ready, today=day(visit.menu.today))
    last = _("{last} with a yes by {day}", last=card.last, day=day(visit.menu.answer_by))
    return f"{first}; {last}" if card.last else first


def here_now(visit: QuoteView) -> datetime:
    """The moment, with its zone."""
    return visit.ctx.now()
