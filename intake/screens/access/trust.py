"""How a phone comes to trust the shop's own certificate, and the owner's page that brings one in.

`app.config["TRUST"]` is a `lan.phones.Trust` where the shop's network is served, else nothing. The page about
trust is what a phone without trust sees over the plain door (`lan/door.py`); it names no fingerprint, since
whoever could change the certificate on its way could change that too: the owner's screen has it.
"""

from __future__ import annotations

from flask import Response, abort, current_app, render_template, request, url_for

from intake.i18n import _
from intake.lan.phones import Trust
from intake.qr import qr_svg
from intake.screens.access.blueprint import blueprint
from intake.web.context import current_context
from intake.web.origin import is_loopback, shop_address

OPENED_IN_PLACE = "application/x-apple-aspen-config"
"""A download that the phone's browser itself knows what to do with."""


@blueprint.app_context_processor
def tell_templates() -> dict[str, object]:
    return {"plain_http": plain_http}


def plain_http() -> bool:
    """Whether browsers let nothing work without a line here: plain http, and not to this machine itself."""
    return not (request.is_secure or is_loopback(request.host))


@blueprint.get("/trust")
def trust_page() -> str:
    """The certificate, and the steps by which each kind of phone trusts it."""
    trust = _trust()
    return render_template("access/trust.html", speaks_for=trust.speaks_for, origin=shop_address())


@blueprint.get("/trust/<name>")
def trust_file(name: str) -> Response:
    """The certificate in one of its forms."""
    found = _trust().downloads(current_context().book.shop.name).get(name) or abort(404)
    answer = Response(found.content, content_type=found.content_type)
    how = "inline" if found.content_type == OPENED_IN_PLACE else "attachment"
    answer.headers["Content-Disposition"] = f'{how}; filename="{found.filename}"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


@blueprint.get("/people/bring")
def bring_page() -> str:
    """Bring a phone in: the address to scan, what to compare, and on to its enrolment."""
    trust: Trust | None = current_app.config.get("TRUST")
    address = trust.address if trust else shop_address() + url_for("board.board")
    return render_template(
        "access/trust_bring.html",
        trust=trust,
        address=address,
        picture=qr_svg(address, _("QR code of the address")),
        here_only=is_loopback(address.split("/")[2]),
        plain=not trust and not address.startswith("https:"),
    )


def _trust() -> Trust:
    trust: Trust | None = current_app.config.get("TRUST")
    return trust or abort(
        404, _("This address needs no certificate of the shop’s own: there is none to trust.")
    )
