"""After a form: go and look, by GET, so that a reload sends nothing twice (303, RFC 9110, section 15.4.4)."""

from __future__ import annotations

from typing import Any

from flask import Response, make_response, redirect, url_for


def see_other(endpoint: str, **values: Any) -> Response:
    """To one of our own pages."""
    return see_address(url_for(endpoint, **values))


def see_address(address: str) -> Response:
    """To an address of ours."""
    return make_response(redirect(address, 303))
