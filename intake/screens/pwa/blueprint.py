"""The blueprint of this screen."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("pwa", __name__)
