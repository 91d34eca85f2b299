"""A quote as JSON: the contract for tools.

Money is a decimal string, a date is ISO, a reading is a number (or a list, or fret → number); words are
English. Beyond the contract's keys stand `held`, `problems`, `notes`, `by_eye`, `assumed`, `not_assessed`,
the days of the quote, and more of each finding, job and offer.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from intake.quoting.model import Finding, Offer, PlannedJob, Quote
from intake.trade.registry import Reading


def quote_json(quote: Quote) -> dict[str, Any]:
    """The quote as dicts, lists, strings and numbers."""
    assessment = quote.assessment
    return {
        "readings": {id: _reading(reading) for id, reading in assessment.readings.items()},
        "findings": [_finding(finding) for finding in assessment.findings],
        "jobs": [_job(job) for job in quote.jobs],
        "offers": {tier: _offer(offer) for tier, offer in quote.offers.items()},
        "cautions": [str(caution) for caution in quote.cautions],
        "not_measured": list(assessment.not_measured),
        "not_assessed": sorted(assessment.not_assessed),
        "by_eye": sorted(assessment.by_eye),
        "assumed": sorted(assessment.assumed),
        "problems": dict(assessment.problems),
        "held": list(quote.held),
        "notes": [str(note) for note in quote.notes],
        "currency": quote.currency,
        "made_on": quote.made_on.isoformat(),
        "answer_by": quote.answer_by.isoformat(),
        "valid_until": quote.valid_until.isoformat(),
        "book": quote.book_digest,
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {"value": number(reading.value), "unit": reading.unit}


def number(value: Any) -> Any:
    """Exact numbers as JSON numbers, also inside lists and maps; text as it stands."""
    if isinstance(value, Fraction):
        return value.numerator if value.denominator == 1 else float(value)
    if isinstance(value, Mapping):
        return {str(key): number(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [number(item) for item in value]
    return value


def _money(amount: Decimal) -> str:
    return format(amount, "f")


def _finding(finding: Finding) -> dict[str, Any]:
    shown = {
        "id": finding.id,
        "severity": finding.severity,
        "says": str(finding.says),
        "evidence": [{"id": row.id, "value": row.value, "limit": row.limit} for row in finding.evidence],
    }
    if finding.item and "number" in finding.item:
        shown["pin"] = number(finding.item["number"])
    return shown


def _job(job: PlannedJob) -> dict[str, Any]:
    hours = job.hours
    return {
        "id": job.id,
        "name": str(job.name),
        "quantity": job.quantity,
        "tier": job.tier,
        "hours": {"quick": number(hours.quick), "usual": number(hours.usual), "slow": number(hours.slow)},
        "price": _money(job.price),
        "labour": _money(job.labour),
        "parts": [
            {"id": id, "quantity": number(count), "price": _money(amount)} for id, count, amount in job.parts
        ],
        "includes": list(job.includes),
        "because": list(job.because),
        "instead_of": list(job.instead_of),
        "forecast": job.forecast,
        "answers": list(job.answers),
        "if_it_waits": None if job.if_it_waits is None else str(job.if_it_waits),
    }


def _offer(offer: Offer) -> dict[str, Any]:
    return {
        "jobs": list(offer.jobs),
        "includes": {job: list(inside) for job, inside in offer.includes.items()},
        "lines": [
            {"kind": line.kind, "name": str(line.name), "amount": _money(line.amount)} for line in offer.lines
        ],
        "hours_low": round(float(offer.hours_low), 2),
        "hours_high": round(float(offer.hours_high), 2),
        "hours_p80": round(float(offer.hours_p80), 2),
        "labour": _money(offer.labour),
        "parts": _money(offer.parts),
        "tax": _money(offer.tax),
        "total": _money(offer.total),
        "ready_today": offer.first_day.isoformat(),
        "ready": offer.ready.isoformat(),
        "critical": list(offer.critical),
        "slack": {job: round(float(hours), 2) for job, hours in offer.slack.items()},
        "taxes": [
            {"name": str(tax.name), "amount": _money(tax.amount), "included": tax.kind == "included"}
            for tax in offer.taxes
        ],
        "deposit": _money(offer.deposit),
        "worth_share": None if offer.worth_share is None else float(offer.worth_share),
    }
