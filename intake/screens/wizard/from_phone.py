"""A phone's exported file, taken in by another phone: its script keeps the entries, each with its key."""

from __future__ import annotations

from flask import render_template

from intake.screens.wizard.blueprint import blueprint


@blueprint.get("/from-phone")
def from_phone_page() -> str:
    """Choose the file. What it holds goes the way of every entry, so nothing is stored twice."""
    return render_template("wizard/from_phone.html")
