"""The blueprint of this screen."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("book_editor", __name__, url_prefix="/book")
