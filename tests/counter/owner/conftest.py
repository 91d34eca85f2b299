"""The owner's browser, and a book to change."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.counter.desk import Desk


@pytest.fixture
def boss(app: Flask, desk: Desk, badge: Any) -> FlaskClient:
    """The owner, signed in."""
    return app.test_client(badge=badge(desk, "owner"))
