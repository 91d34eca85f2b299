"""The blueprint of what staff do with a quote."""

from __future__ import annotations

from flask import Blueprint

post = Blueprint("post", __name__)
STAFF_LANGUAGE = "en"
