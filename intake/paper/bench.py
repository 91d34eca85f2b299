"""The bench sheet: what to do in which order, to which numbers, and room for what came of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from markupsafe import Markup

from intake.book.model import Book, Tier
from intake.paper import labels
from intake.paper.aims import aims, changes
from intake.paper.drawings.clearance import clearance_drawing
from intake.paper.drawings.days import days_drawings
from intake.paper.drawings.fretboard import fretboard_drawing
from intake.paper.drawings.neck import neck_drawing
from intake.paper.errors import PaperError
from intake.paper.formats import Formats
from intake.paper.intake_summary import IntakeSummary
from intake.paper.job_texts import JobWords
from intake.paper.measures import fact_name, metric_facts
from intake.paper.options import DocumentOptions
from intake.paper.pages import formats_for, known_size, page
from intake.quoting.calendar import Bench
from intake.quoting.model import Offer, PlannedJob, Quote, Walkin
from intake.quoting.outcome import outcome, standing
from intake.quoting.phrases import joined, phrase

# A sheet for less work than this (hours) stays on one page, without drawings.
DRAWN_FROM = 1


@dataclass(frozen=True)
class BenchJob:
    """One row of the sheet."""

    number: int
    name: str
    quantity: str
    reasons: list[str]
    as_for: str
    includes: str
    parts: str
    caution: str
    forecast: str
    wait: str
    skill: str
    starts: str
    hours: str
    critical: bool


@dataclass(frozen=True)
class Again:
    """What is measured again after a job, and which jobs hang on it."""

    after: str
    before: str
    measures: list[str]


class _Maker:
    def __init__(
        self, quote: Quote, book: Book, walkin: Walkin, offer: Offer, formats: Formats, language: str
    ) -> None:
        self.quote, self.book, self.walkin, self.offer = quote, book, walkin, offer
        self.formats, self.language = formats, language
        self.words = JobWords(book, formats, language)
        chosen = {job.id: job for job in quote.jobs if job.id in offer.jobs}
        self.jobs = [
            replace(chosen[id_], includes=offer.includes.get(id_, ())) for id_ in offer.jobs if id_ in chosen
        ]
        self.numbers = {job.id: number for number, job in enumerate(self.jobs, 1)}

    def rows(self) -> list[BenchJob]:
        reasons = self.words.reasons(self.jobs, self.quote.offers["put_right"].jobs)
        return [self._row(job, *reasons[job.id]) for job in self.jobs]

    def _row(self, job: PlannedJob, reasons: list[str], as_for: str) -> BenchJob:
        _, language, hours = self.formats.gettext, self.language, job.hours
        known = self.book.jobs.get(job.id)
        work = [s for s in self.offer.schedule if s.job == job.id and s.kind == "work"]
        return BenchJob(
            number=self.numbers[job.id],
            name=job.name.in_(language),
            quantity=self.words.quantity(job),
            reasons=reasons,
            as_for=as_for,
            includes=self.words.names(job.includes),
            parts=", ".join(self.words.part(id_, count) for id_, count, _price in job.parts),
            caution=job.caution.in_(language) if job.caution else "",
            forecast=self.words.forecast(job, self.numbers),
            wait=self._wait(job.id),
            skill=_("skill {level}", level=known.skill) if known else "",
            starts=self.formats.weekday_number(work[0].start) if work else "",
            hours=self.formats.hours(hours.quick, hours.slow),
            critical=job.id in self.offer.critical,
        )

    def _wait(self, id_: str) -> str:
        """How long the instrument waits, for what, and until when: after the work, or before a visit."""
        _ = self.formats.gettext
        own = [stretch for stretch in self.offer.schedule if stretch.job == id_]
        waits = [stretch for stretch in own if stretch.kind != "work"]
        if not waits:
            return ""
        end = waits[-1].end
        before = any(stretch.kind == "work" and stretch.start >= end for stretch in own)
        kinds = {"glue": _("glue"), "moisture": _("moisture"), "finish": _("finish"), "settle": _("settling")}
        end = _quarter(end)
        fields = {
            "long": self._length(sum((wait.end - wait.start for wait in waits), timedelta())),
            "kind": kinds.get(waits[-1].kind, _("drying")),
            "day": self.formats.weekday(end.date()),
            "time": self.formats.clock(end),
        }
        if before:
            return _("Comes after a wait of {long} ({kind}), until {day} {time}.", **fields)
        return _("Then wait {long} ({kind}), until {day} {time}.", **fields)

    def _length(self, length: timedelta) -> str:
        _, hours = self.formats.gettext, round(length / timedelta(hours=1))
        if hours >= 72:
            return _("{days} days", days=round(hours / 24))
        return _("{hours} h", hours=hours)

    def again(self) -> list[Again]:
        """Once per job that a forecast waits for: what hangs on it, and the measures behind that."""
        found: dict[str, list[PlannedJob]] = {}
        for job in self.jobs:
            for id_ in self.words.awaited(job, self.numbers) if job.forecast else ():
                found.setdefault(id_, []).append(job)
        in_order = sorted(found, key=lambda id_: self.numbers[id_])
        return [self._again(id_, found[id_]) for id_ in in_order]

    def _again(self, after: str, before: list[PlannedJob]) -> Again:
        because = {id_ for job in before for id_ in job.because}
        evidence = [
            each.id
            for finding in self.quote.assessment.findings
            if finding.id in because
            for each in finding.evidence
        ]
        names = [fact_name(id_, self.book, self.formats, self.language) for id_ in evidence]
        return Again(
            self._numbered(after),
            ", ".join(str(self.numbers[job.id]) for job in before),
            list(dict.fromkeys(filter(None, names))),
        )

    def _numbered(self, id_: str) -> str:
        return f"{self.numbers[id_]}. {labels.job(self.book, id_, self.language)}"

    def days(self) -> list[Markup]:
        names = {id_: self._numbered(id_) for id_ in self.numbers}
        bench = Bench(self.book.shop)

        def is_open(day: date) -> bool:
            return bool(bench.spans(day))

        return days_drawings(self.offer.schedule, names, is_open, self.formats)

    def stops(self) -> list[str]:
        stops = [f for f in self.quote.assessment.findings if f.severity == "stop"]
        names = [self.book.jobs[id_].name for id_ in self.quote.held if id_ in self.book.jobs]
        held = [phrase("held", jobs=joined(names))] if names else []
        texts = [text for f in stops for text in (f.says, f.caution)]
        return labels.texts(self.language, [*texts, *held])

    def cautions(self) -> list[str]:
        """What concerns the whole instrument; a job's own caution stands with the job."""
        own = set(labels.texts(self.language, [job.caution for job in self.quote.jobs])) | set(self.stops())
        return [text for text in labels.texts(self.language, self.quote.cautions) if text not in own]


def _quarter(moment: datetime) -> datetime:
    """The next quarter of an hour: a plan knows no minutes."""
    start = datetime.combine(moment.date(), time())
    quarter = timedelta(minutes=15)
    return start - (start - moment) // quarter * quarter


def bench_html(
    quote: Quote,
    book: Book,
    walkin: Walkin,
    options: DocumentOptions,
    *,
    tier: Tier = "put_right",
    offer: Offer | None = None,
) -> str:
    """What the bench does, in order: the offer of that `tier`, or `offer` where one was put together."""
    language = options.language
    known_size(options.paper)
    formats = formats_for(book, language)
    _ = formats.gettext
    if offer is None and tier not in quote.offers:
        raise PaperError(_("The quote has no offer “{offer}”.", offer=tier))
    offer = offer or quote.offers[tier]
    facts = quote.assessment.facts
    maker = _Maker(quote, book, walkin, offer, formats, language)
    drawn = offer.hours_high >= DRAWN_FROM
    metric = metric_facts(walkin, book)
    return page(
        "bench", book, options,
        folio=_("Bench sheet {number}", number=options.number),
        offer=phrase(offer.tier).in_(language),
        ready=formats.weekday(offer.ready),
        hours=formats.hours(offer.hours_low, offer.hours_high),
        planned=formats.number(offer.hours_p80, 1),
        made_on=formats.day(quote.made_on),
        taken=IntakeSummary(book, walkin.answers, facts, formats, language),
        stops=maker.stops(),
        cautions=maker.cautions(),
        aims=aims(facts, book, walkin, formats, language),
        changes=changes(facts, standing(offer), formats, "action_bass_12" in metric),
        jobs=maker.rows(),
        again=maker.again(),
        days=maker.days(),
        neck=neck_drawing(facts, formats, outcome(facts, offer, quote.jobs), metric) if drawn else "",
        fretboard=fretboard_drawing(facts, formats, "crown_height" in metric) if drawn else "",
        clearance=clearance_drawing({**facts, **book.beside}, formats, "relief" in metric),
    )  # fmt: skip
