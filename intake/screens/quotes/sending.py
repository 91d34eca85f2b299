"""What staff do with a frozen quote: send it, hand out its link, take the yes at the counter."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote as percent
from uuid import UUID

from flask import Response, abort, after_this_request, current_app, request, url_for
from sqlite_utils import Database

from intake.i18n import _, current_language
from intake.mail.letter import AddressError, checked
from intake.qr import qr_svg
from intake.screens.quotes import papers, privacy
from intake.screens.quotes.blueprint import blueprint
from intake.screens.quotes.forms import LanguageForm, LinkForm, MailForm
from intake.screens.quotes.papers import remember_language
from intake.services import decisions, quote_page
from intake.services.context import Context
from intake.services.decisions import Problem, Said
from intake.services.languages import choices, language_of
from intake.services.mail_office import MailOffice
from intake.services.quote_view import QuoteView
from intake.store import links, outbox, quotes, tickets
from intake.store.ticket_state import TicketState
from intake.web import private_pages
from intake.web.answer_forms import ChoiceForm, NoForm, TakenForm, YesForm
from intake.web.context import current_context
from intake.web.forms import ReaderForm
from intake.web.idempotency import idempotent
from intake.web.identity import current_identity, note
from intake.web.numbers import whole_number
from intake.web.origin import shop_address
from intake.web.redirects import see_address, see_other

assert papers and privacy


@blueprint.get("/tickets/<uuid:ticket>/quotes/<int:revision>/send")
def send_page(ticket: UUID, revision: int) -> Response:
    """How the quote goes to the customer, what has gone, and what came back."""
    ctx = current_context()
    with ctx.store.reading() as db:
        return _page(_visit(ctx, db, ticket, revision))


@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/link")
def make_link(ticket: UUID, revision: int) -> Response:
    """A new link, shown this once: only its hash is kept, so the page itself is never kept either."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit = _sendable(ctx, db, ticket, revision)
        language = _language(ctx, db, visit)
        id, token = links.make(db, visit.ticket.id, revision, visit.quote.valid_until, language, ctx.now())
        note(db, "link made", ticket=visit.ticket.id, link=id)
        decisions.state(ctx, db, visit, TicketState.SENT)
        address = _post().address(shop_address()) + url_for("portal.quote", token=token)
        return _page(QuoteView(ctx, db, visit.frozen, visit.ticket, language), fresh=address)


@blueprint.post("/tickets/<uuid:ticket>/links/withdraw")
@idempotent
def withdraw(db: Database, ticket: UUID) -> Response:
    """Take back every link of the ticket, or the one that is named."""
    ctx, id = current_context(), str(ticket)
    form = LinkForm.posted()
    if not form.validate():
        abort(400)
    if tickets.find(db, id) is None:
        abort(404)
    gone = links.withdraw(db, id, ctx.now(), whole_number(form.link.data))
    note(db, "links withdrawn", ticket=id, count=gone)
    return _back(id)


@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/mail")
@idempotent
def mail(db: Database, ticket: UUID, revision: int) -> Response:
    """Queue the message in the transaction that says "sent"; the sender does the rest."""
    ctx, office = current_context(), _post()
    if office.settings is None:
        abort(409, _("No mail is set up here. Hand out the link, share the PDF, or print it."))
    form, visit = MailForm.posted(), _sendable(ctx, db, ticket, revision)
    if not form.validate():
        return _page(visit, mail=form)
    recipient = checked(form.to.data or "")
    address, domain = office.address(shop_address()), office.settings.domain
    if outbox.waiting_for(db, visit.ticket.id, revision, recipient) is None:
        outbox.put(
            db, visit.ticket.id, revision, recipient=recipient, language=_language(ctx, db, visit),
            address=address, domain=domain, note=form.note.data or "", now=ctx.now(),
        )  # fmt: skip
        note(db, "quote sent", ticket=visit.ticket.id, revision=revision)
        decisions.state(ctx, db, visit, TicketState.SENT)
    after_this_request(_wake)
    return _back(visit.ticket.id, revision)


@blueprint.post("/tickets/<uuid:ticket>/mail/<int:number>/<what>")
@idempotent
def settle_mail(db: Database, ticket: UUID, number: int, what: str) -> Response:
    """What was refused, came back or may have gone is sent again or let be: a person decides."""
    ctx, id = current_context(), str(ticket)
    settle = {"again": outbox.again, "stop": outbox.stop, "returned": outbox.returned}.get(what)
    if settle is None:
        abort(404)
    if not settle(db, id, number, ctx.now()):
        abort(409, _("This message is on its way or done; look at the page again."))
    found = tickets.find(db, id)
    if what == "returned" and found and found.state == TicketState.SENT:
        tickets.change(db, id, ctx.now(), state=TicketState.UNSENT)
    note(db, f"mail {what}", ticket=id, mail=number)
    after_this_request(_wake)
    return _back(id)


@blueprint.get("/tickets/<uuid:ticket>/quotes/<int:revision>/goahead")
def take_page(ticket: UUID, revision: int) -> Response:
    """The choice and the signature on a phone of the shop."""
    ctx = current_context()
    with ctx.store.reading() as db:
        return _taking(_visit(ctx, db, ticket, revision), YesForm())


@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/goahead/choice")
def take_choice(ticket: UUID, revision: int) -> Response:
    """The same as the customer's own choosing."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit = _open(ctx, db, ticket, revision)
        jobs = decisions.changed_choice(visit, ChoiceForm.posted().choice())
        decisions.choose(ctx, db, visit, jobs, Said("counter", current_identity().by))
        if "HX-Request" in request.headers:
            part = quote_page.choice(
                visit, here=_base(visit), shop=visit.book.shop, staff=True, form=YesForm()
            )
            return private_pages.answer(private_pages.render("shared/_choice.html", visit.language, **part))
    return see_address(_base(visit))


@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/goahead/yes")
@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/goahead")
def take_yes(ticket: UUID, revision: int) -> Response:
    """A yes given at the counter, or by telephone with a note of who said what."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit = _open(ctx, db, ticket, revision)
        form = YesForm.posted()
        problem = decisions.agree(ctx, db, visit, _taken(form), form.yes())
        if problem:
            decisions.choose(ctx, db, visit, form.yes().picked, _taken(form))
            return _taking(visit, form.told(problem), problem)
    return _back(visit.ticket.id, revision)


@blueprint.post("/tickets/<uuid:ticket>/quotes/<int:revision>/goahead/no")
def take_no(ticket: UUID, revision: int) -> Response:
    """A no given at the counter or by telephone, with its reason if one was given."""
    ctx = current_context()
    with ctx.store.writing() as db:
        visit = _open(ctx, db, ticket, revision)
        form = NoForm.posted()
        decisions.refuse(ctx, db, visit, _taken(form), form.reason.data or "", form.name.data or "")
    return _back(visit.ticket.id, revision)


def _taken(form: TakenForm) -> Said:
    """An answer that this member of staff takes down, as the form says that it came."""
    return Said("telephone" if form.way.data == "telephone" else "counter", current_identity().by)


def _taking(visit: QuoteView, form: YesForm, problem: Problem | None = None) -> Response:
    said = problem.sentence if problem and not problem.field else ""
    context = quote_page.whole(visit, _base(visit), [], problem=said, form=form, staff=True)
    page = private_pages.render("quotes/goahead.html", visit.language, back=_quote(visit), **context)
    return private_pages.answer(page, problem.status if problem else 200)


def _page(visit: QuoteView, fresh: str = "", mail: MailForm | None = None) -> Response:
    """`fresh` is the address of a link just made, `mail` a form that was refused."""
    id = visit.ticket.id
    yes = visit.go_ahead
    office = _post()
    context: dict[str, Any] = {
        "visit": visit,
        "shop": visit.book.shop,
        "here": _base(visit).removesuffix("/goahead"),
        "ticket_address": url_for("wizard.wizard", ticket=id),
        "back": _quote(visit),
        "mail": mail or MailForm(to=str(visit.walkin.answers.get("customer_email", ""))),
        "reads": (mail.language.data if mail else "") or language_of(visit.ticket, visit.book.shop),
        "languages": choices(visit.book.shop),
        "phone": str(visit.walkin.answers.get("customer_phone", "")),
        "mails": [one for one in outbox.of_ticket(visit.db, id) if one.revision == visit.frozen.revision],
        "links": [one for one in links.of_ticket(visit.db, id) if one.lives(visit.ctx.today)],
        "said": visit.answers,
        "mail_set_up": office.settings is not None,
        "trouble": office.trouble,
        "reachable": office.reachable(shop_address()),
        "fresh": fresh,
        "fresh_code": qr_svg(fresh, _("QR code of the address")) if fresh else "",
        "mailto": _mailto(visit, fresh) if fresh else "",
        "staff": True,
        **(quote_page.yes_words(visit, yes) if yes else {"yes": None}),
    }
    page = private_pages.render("quotes/send.html", current_language(), **context)
    return private_pages.answer(page, 422 if mail else 200)


def _mailto(visit: QuoteView, fresh: str) -> str:
    """A message in the phone's own mail program, with the link."""
    _ = visit.formats.gettext
    to = str(visit.walkin.answers.get("customer_email", ""))
    subject = _("Your repair quote {number} from {shop}", number=visit.number, shop=visit.book.shop.name)
    body = _("Look at it, choose, ask and say yes or no here:") + "\n" + fresh
    try:
        to = checked(to)
    except AddressError:
        to = ""
    return f"mailto:{percent(to, safe='@')}?subject={percent(subject)}&body={percent(body)}"


def _visit(ctx: Context, db: Database, ticket: UUID, revision: int) -> QuoteView:
    found = tickets.find(db, str(ticket)) or abort(404)
    asked, shop = ReaderForm.wanted(), ctx.book.shop
    language = asked if asked in shop.languages else language_of(found, shop)
    return QuoteView.of(ctx, db, str(ticket), revision, language) or abort(404)


def _sendable(ctx: Context, db: Database, ticket: UUID, revision: int) -> QuoteView:
    """Aborts with 409 for a quote that nobody could agree to any more."""
    visit = _visit(ctx, db, ticket, revision)
    if not visit.newest:
        abort(409, _("A newer revision of this quote stands; send that one."))
    if not visit.valid:
        abort(409, _("This quote is past its day; freeze it anew and send that."))
    return visit


def _open(ctx: Context, db: Database, ticket: UUID, revision: int) -> QuoteView:
    visit = _sendable(ctx, db, ticket, revision)
    if visit.go_ahead is not None:
        abort(409, _("The customer has said yes to this quote already."))
    return visit


def _language(ctx: Context, db: Database, visit: QuoteView) -> str:
    """What this customer reads; what the form says of it is remembered."""
    asked, shop = LanguageForm.posted().language.data or "", visit.book.shop
    if asked not in shop.languages:
        return language_of(visit.ticket, shop)
    remember_language(ctx, db, visit.ticket, asked)
    return asked


def _wake(answer: Response) -> Response:
    """Let the sender look at once: the transaction is over."""
    _post().wake()
    return answer


def _post() -> MailOffice:
    office: MailOffice = current_app.extensions["post"]
    return office


def _base(visit: QuoteView) -> str:
    return url_for("quotes.take_page", ticket=visit.ticket.id, revision=visit.frozen.revision)


def _quote(visit: QuoteView) -> str:
    return url_for("quotes.quote", ticket=visit.ticket.id, revision=visit.frozen.revision)


def _back(ticket: str, revision: int | None = None) -> Response:
    if revision is None:
        last = quotes.latest(current_context().store.db, ticket)
        if last is None:
            return see_other("wizard.wizard", ticket=ticket)
        revision = last.revision
    return see_other("quotes.send_page", ticket=ticket, revision=revision)
