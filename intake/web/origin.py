"""Whether a request comes from a person at this very machine, and what others call it."""

from __future__ import annotations

from ipaddress import ip_address, ip_network
from socket import gethostname
from urllib.parse import urlsplit

from flask import Request, current_app, request, url_for

from intake.web.headers import LOOPBACK, PROXIED

OPAQUE = "null"
"""The Origin of a form of our own pages, whose referrer policy has browsers name no page."""
USUAL_PORTS = {"http": "80", "https": "443"}
PASSED_ON = ("forwarded", "via", "x-forwarded", "x-real-ip", "x-client-ip", "true-client-ip", "cf-")
"""How the names of headers begin that only a proxy writes."""


def from_this_machine(asked: Request) -> bool:
    """True from loopback, to a loopback name, not passed on, and from no page of another host.

    A proxy on this machine asks from loopback too, for whoever is behind it; and a page elsewhere may have
    its own name point here. Neither may count as the person at the keyboard.
    """
    try:
        near = ip_address(asked.remote_addr or "").is_loopback
    except ValueError:
        return False
    return near and is_loopback(asked.host) and not is_passed_on(asked)


def is_passed_on(asked: Request) -> bool:
    """Whether anything says that a proxy asks. One that sets no header at all still speaks HTTP/1.0, as no
    browser does (some proxies do by default, from memory), or passes on the Origin or Referer of its own
    name."""
    if PROXIED in asked.environ or asked.environ.get("SERVER_PROTOCOL") == "HTTP/1.0":
        return True
    if any(name.lower().startswith(PASSED_ON) for name, _ in asked.headers):
        return True
    pages = (asked.headers.get(name) for name in ("Origin", "Referer"))
    return any(page and page != OPAQUE and not is_loopback(urlsplit(page).netloc) for page in pages)


def network_of(address: str) -> str:
    """What limits count as one client: an IPv4 address, or the /64 that an IPv6 address stands in, since
    whoever has one of it has all."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    mapped = getattr(found, "ipv4_mapped", None)
    if mapped or found.version == 4 or found.is_loopback:
        return str(mapped or found)
    return str(ip_network(f"{found}/64", strict=False).network_address)


def shop_address() -> str:
    """Where phones find the shop, without a slash at its end: the address fixed for them, whichever this
    request came by; without one, the one that was asked, if it is a name of this machine or its proxy says
    so; else the one that the connection came in at, which nobody can make up."""
    return str(current_app.config.get("ORIGIN") or _asked_address(request))


def _asked_address(asked: Request) -> str:
    environ = asked.environ
    if PROXIED in environ or is_loopback(asked.host) or asked.host.partition(":")[0].lower() in own_names():
        return asked.host_url.rstrip("/")
    name, port = environ["SERVER_NAME"], environ["SERVER_PORT"]
    at = f"[{name}]" if ":" in name else name
    return f"{asked.scheme}://{at}" + ("" if port == USUAL_PORTS.get(asked.scheme) else f":{port}")


def own_names() -> set[str]:
    """What this machine calls itself on its network, also by multicast DNS (RFC 6762)."""
    name = gethostname().lower()
    return {name, f"{name.partition('.')[0]}.local"}


def fixed_address() -> str:
    """The address fixed for phones, else nothing: whoever asks without being signed in may call this machine
    what they like, and what they call it must not reach a paper that others read."""
    return str(current_app.config.get("ORIGIN") or "")


def ticket_address(ticket: str) -> str:
    """The ticket's own address, for the code on paper."""
    return shop_address() + url_for("wizard.wizard", ticket=ticket)


def is_loopback(host: str) -> bool:
    """Whether a host, with its port if it has one, is this machine's name for itself."""
    name = host if host.endswith("]") else host.rsplit(":", 1)[0]
    return name in LOOPBACK
