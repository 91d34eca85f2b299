"""What the customer came with, and which jobs are an answer to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from intake.book.model import Book, Job
from intake.quoting.job_requests import JobRequest

Facts = Mapping[str, Any]


def complaints_of(facts: Facts) -> tuple[str, ...]:
    """What the customer came with, in the order of the checklist."""
    return tuple(one for one in facts.get("complaints", ()) if one != "none")


def answered_by(job: Job, facts: Facts, book: Book) -> tuple[str, ...]:
    """The complaints of this customer that the job is an answer to, by answering.csv."""
    if book.answering is None:
        return ()
    item = {"job": job.id, "group": job.group}
    known = {hit.outputs["complaint"] for hit in book.answering.evaluate(facts, item)}
    return tuple(one for one in complaints_of(facts) if one in known)


def raised(asked: Mapping[str, JobRequest], facts: Facts, book: Book) -> dict[str, JobRequest]:
    """The asks, those of the usual offer moved to the smallest where it would leave a complaint."""
    answers = {job: set(answered_by(book.jobs[job], facts, book)) for job in asked}
    low = {job for job, ask in asked.items() if ask.tier == "playable"}
    left = set(complaints_of(facts)).difference(*(answers[job] for job in low)) if low else set()
    lifted = {job for job, ask in asked.items() if ask.tier == "put_right" and answers[job] & left}
    return {job: replace(ask, tier="playable") if job in lifted else ask for job, ask in asked.items()}
