"""Every CSV of the book as a grid, and one row of it as a form: change, add, move, take out."""

from __future__ import annotations

import csv
from typing import NoReturn

from flask import Response, abort, make_response, render_template, request, url_for

from intake.book.files.load import LISTS, OPTIONAL_TABLES, SINGLE_TABLES
from intake.i18n import _
from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.csv_rows import Rows
from intake.screens.book_editor.draft import Draft, current_draft, of_file, onward
from intake.screens.book_editor.forms import OwnerForm, SeenForm, accept
from intake.screens.book_editor.row_form import FIRST, RowForm, cells, field_of, form_of
from intake.store.books import Files
from intake.web.context import current_context

MOVES = {"up": -1, "down": 1}


@blueprint.get("/tables")
def tables_page() -> str:
    """Every table and list, with how many rows it has."""
    hand = current_draft()
    counts = {name: len(rows_of(hand, name).body) for name in grids(hand.files)}
    return render_template("book_editor/tables.html", counts=counts)


@blueprint.get("/tables/<path:file>")
def table_page(file: str) -> str:
    """One table as a grid; `q` leaves the rows that hold these words."""
    hand, q = current_draft(), request.args.get("q", "").strip().lower()
    rows = rows_of(hand, file)
    shown = {at: row for at, row in rows.body.items() if all(word in _text(row) for word in q.split())}
    seen = of_file(hand.files, file)
    return render_template("book_editor/table.html", file=file, rows=rows, shown=shown, q=q, seen=seen)


@blueprint.get("/rows/<int:row>/<path:file>")
def row_page(row: int, file: str) -> str:
    """One row to change; row 0 is a new one, `after` another or at the end, `like` another."""
    hand = current_draft()
    rows = rows_of(hand, file)
    held = rows.body.get(row or request.args.get("like", 0, int))
    if row and held is None:
        abort(404)
    data = cells(rows.headings, held or _blank(rows))
    form = form_of(file, rows.headings, current_context().book)(data=data)
    return _page(form, hand, file, row)


@blueprint.post("/rows/<int:row>/<path:file>")
def change_row(row: int, file: str) -> Response:
    """Take a row in, changed or new."""
    hand = current_draft()
    rows = rows_of(hand, file)
    if row and row not in rows.body:
        abort(404)
    form = form_of(file, rows.headings, current_context().book).posted()
    after = _after(rows)
    typed = form.typed(rows.body[row] if row else ("",) * len(rows.headings))
    new = rows.changed(row, typed) if row else rows.inserted(after, typed)
    place = row or after + 1
    files = {**hand.files, file: bytes(new)}
    if accept(form, hand, file, files, lambda problem: field_of(problem, form, file, place)):
        return onward(_next(file, place))
    return make_response(_page(form, hand, file, row), 422)


@blueprint.post("/rows/<int:row>/move/<path:file>")
def move_row(row: int, file: str) -> Response:
    """Move a row up or down among the others, or take it out."""
    hand, do = current_draft(), SeenForm.posted().do.data or ""
    rows = rows_of(hand, file)
    if row not in rows.body or do not in (*MOVES, "remove"):
        abort(404)
    numbers = list(rows.body)
    to = numbers[min(max(numbers.index(row) + MOVES.get(do, 0), 0), len(numbers) - 1)]
    new = rows.removed(row) if do == "remove" else rows.moved(row, to)
    form = form_of(file, rows.headings, current_context().book)(data=cells(rows.headings, rows.body[row]))
    if accept(form, hand, file, {**hand.files, file: bytes(new)}, lambda problem: ""):
        return onward(_next(file, to if do != "remove" else 0))
    return make_response(_page(form, hand, file, row), 422)


@blueprint.post("/columns/<path:file>")
def add_column(file: str) -> Response:
    """A new column: one that tests nothing yet, an output, or a text in one more language (`name [de]`)."""
    hand, heading = current_draft(), SeenForm.posted().heading.data or ""
    rows = rows_of(hand, file)
    if not heading or heading in rows.headings:
        abort(400, _("A new column has a heading that does not stand there yet."))
    tests = "hit policy" in rows.settings and not _is_output(heading) and heading != "when"
    files = {**hand.files, file: bytes(rows.with_column(heading, "-" if tests else ""))}
    form = OwnerForm()
    if accept(form, hand, file, files, lambda problem: ""):
        return onward(url_for("book_editor.table_page", file=file))
    return make_response(
        render_template(
            "book_editor/table.html",
            file=file,
            rows=rows,
            shown=rows.body,
            q="",
            heading=heading,
            general=form.general,
            seen=of_file(hand.files, file),
        ),
        422,
    )


def grids(files: Files) -> list[str]:
    """The files that are shown as a grid, those of `tables/` last."""
    tables = sorted(name for name in files if name.startswith("tables/") and name.endswith(".csv"))
    return [name for name in (*SINGLE_TABLES, *OPTIONAL_TABLES, *LISTS) if name in files] + tables


def rows_of(hand: Draft, file: str) -> Rows:
    """The rows of a file of the book. Aborts with 404 for any other name."""
    if file not in grids(hand.files):
        abort(404)
    try:
        return Rows.of(hand.files[file])
    except (UnicodeDecodeError, csv.Error):
        _unreadable(file)


def _unreadable(file: str) -> NoReturn:
    abort(
        409,
        _(
            "{file} is written in a way that cannot be changed here. Download the book, save the file as "
            "“CSV UTF-8”, and bring the book in again.",
            file=file,
        ),
    )


def _next(file: str, row: int) -> str:
    if file in FIRST:
        return url_for("book_editor.effect_page")
    return url_for("book_editor.table_page", file=file, _anchor=f"r{row}" if row else None)


def _after(rows: Rows) -> int:
    """The row below which a new one goes: the one asked for, else the last."""
    asked = request.args.get("after", 0, int)
    return asked if asked in rows.body else max(rows.body, default=rows.top)


def _blank(rows: Rows) -> tuple[str, ...]:
    """A new row tests nothing yet."""
    if not any(heading.startswith("then ") for heading in rows.headings):
        return ("",) * len(rows.headings)
    return tuple("" if _is_output(heading) else "-" for heading in rows.headings)


def _is_output(heading: str) -> bool:
    return heading.startswith("then ") or heading == "note"


def _text(row: tuple[str, ...]) -> str:
    return " ".join(row).lower()


def _page(form: RowForm, hand: Draft, file: str, row: int) -> str:
    assert isinstance(form, OwnerForm)
    rows = rows_of(hand, file)
    return render_template(
        "book_editor/row.html",
        form=form,
        file=file,
        row=row,
        table=file.startswith("tables/") or file in (*SINGLE_TABLES, *OPTIONAL_TABLES),
        after=request.args.get("after", type=int),
        numbers=list(rows.body),
        title=_title(rows, row),
        seen=of_file(hand.files, file),
    )


def _title(rows: Rows, row: int) -> str:
    """What a list calls the row; a decision table has only numbers."""
    held = rows.dicts().get(row, {})
    return held.get("name") or held.get("id") or ""
