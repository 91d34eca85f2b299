"""When the shop is open, how much of that is bench time, and when it is closed."""

from __future__ import annotations

import re
from typing import Any

import tomlkit
from flask import Response, make_response, render_template, url_for
from tomlkit import TOMLDocument
from wtforms import StringField, TextAreaField

from intake.book.files.shop import WEEKDAYS
from intake.book.problems import Problem
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.draft import current_draft, of_file, onward
from intake.screens.book_editor.forms import OwnerForm, accept
from intake.screens.book_editor.shop_toml import NAMES, SHOP, as_percent, edited, percent, plain, put, values

CLOCK = re.compile(r"(?<![\d:])(\d{1,2})(?:[:.h](\d{2}))?(?![\d:])")
CLOSED = ("", "closed", "-", "–")


class HoursForm(OwnerForm):
    """`[hours]` and the days without any."""

    mon = StringField(NAMES["mon"])
    tue = StringField(NAMES["tue"])
    wed = StringField(NAMES["wed"])
    thu = StringField(NAMES["thu"])
    fri = StringField(NAMES["fri"])
    sat = StringField(NAMES["sat"])
    sun = StringField(NAMES["sun"])
    productive_share = StringField(NAMES["productive_share"])
    closed = TextAreaField(NAMES["closed"])
    region = StringField(NAMES["region"])


@blueprint.get("/hours")
def hours_page() -> str:
    """The week as it stands."""
    hand = current_draft()
    return _page(HoursForm(data=shown(values(hand.files[SHOP]))), of_file(hand.files, SHOP))


@blueprint.post("/hours")
def change_hours() -> Response:
    """Take the week in."""
    hand, form = current_draft(), HoursForm.posted()
    files = {**hand.files, SHOP: edited(hand.files[SHOP], lambda shop: write(shop, form))}
    if accept(form, hand, SHOP, files, field_of):
        return onward(url_for("book_editor.effect_page"))
    return make_response(_page(form, of_file(hand.files, SHOP)), 422)


def shown(shop: dict[str, Any]) -> dict[str, str]:
    """shop.toml's values as the fields show them; the closed days one a line."""
    days = {_day(key): value for key, value in _hours(shop).items()}
    found = {day: _joined(days.get(day, ""), ", ") for day in WEEKDAYS}
    return found | {
        "productive_share": percent(shop.get("productive_share", "1")),
        "closed": _joined(shop.get("closed", ""), "\n"),
        "region": plain(shop.get("region")),
    }


def write(shop: TOMLDocument, form: HoursForm) -> None:
    """Put what was typed into the file's values."""
    before = shown(shop.unwrap())
    typed = {name: (value or "").strip() for name, value in form.data.items()}
    if "hours" not in shop:
        shop["hours"] = tomlkit.table()
    keys = {_day(key): key for key in shop["hours"]}
    for day in WEEKDAYS:
        spans = "" if typed[day].lower() in CLOSED else in_full(typed[day])
        put(shop["hours"], keys.get(day, day), before[day], spans, spans)
    share = typed["productive_share"]
    put(shop, "productive_share", before["productive_share"], share, as_percent(share))
    lines = [" ".join(line.split()) for line in typed["closed"].splitlines() if line.strip()]
    put(shop, "closed", before["closed"], "\n".join(lines), lines)
    put(shop, "region", before["region"], typed["region"], typed["region"])


def in_full(spans: str) -> str:
    """`10-18` and `9.30–17` as the book writes them; what holds no times stays as it is."""
    full = CLOCK.sub(lambda match: f"{int(match[1]):02}:{match[2] or '00'}", spans)
    return re.sub(r"\s*[-–]\s*|\s+to\s+", "-", full)


def field_of(problem: Problem) -> str:
    """A sentence on the week as a whole stands beside its first day."""
    if problem.file != SHOP:
        return ""
    head, _dot, day = problem.column.partition(".")
    return (_day(day) if day else "mon") if head == "hours" else problem.column


def _day(key: str) -> str:
    return key[:3].lower()


def _hours(shop: dict[str, Any]) -> dict[str, Any]:
    hours = shop.get("hours")
    return hours if isinstance(hours, dict) else {}


def _joined(value: Any, between: str) -> str:
    return between.join(map(str, value)) if isinstance(value, list) else str(value)


def _page(form: HoursForm, seen: str) -> str:
    return render_template("book_editor/hours.html", form=form, seen=seen)
