"""Jobs and parts as lists to search; each leads to its row."""

from __future__ import annotations

from flask import render_template, request

from intake.screens.book_editor.blueprint import blueprint
from intake.screens.book_editor.draft import current_draft
from intake.screens.book_editor.tables import rows_of

JOBS, PARTS = "jobs.csv", "parts.csv"


@blueprint.get("/jobs")
def jobs_page() -> str:
    """The jobs, by words and by group."""
    jobs = rows_of(current_draft(), JOBS).dicts()
    q, group = request.args.get("q", "").strip(), request.args.get("group", "")
    groups = list(dict.fromkeys(job["group"] for job in jobs.values()))
    shown = {at: job for at, job in jobs.items() if _holds(job, q) and group in ("", job["group"])}
    return render_template("book_editor/jobs.html", jobs=shown, q=q, group=group, groups=groups)


@blueprint.get("/parts")
def parts_page() -> str:
    """The parts, by words."""
    q = request.args.get("q", "").strip()
    parts = {at: part for at, part in rows_of(current_draft(), PARTS).dicts().items() if _holds(part, q)}
    return render_template("book_editor/parts.html", parts=parts, q=q)


def _holds(row: dict[str, str], q: str) -> bool:
    text = " ".join(
        cell for heading, cell in row.items() if heading.startswith(("id", "name", "note"))
    ).lower()
    return all(word in text for word in q.lower().split())
