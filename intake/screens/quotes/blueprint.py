"""The blueprint of this screen."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("quotes", __name__)
