"""The blueprint of this screen."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("monitoring", __name__)
