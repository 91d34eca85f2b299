"""A planned job in words, for every document that lists jobs."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction

from intake.book.model import Book
from intake.paper import labels
from intake.paper.formats import Formats
from intake.quoting.bands import forecast_band
from intake.quoting.model import PlannedJob
from intake.quoting.reasons import reason_homes


class JobWords:
    """What is said of the jobs of one book, in one language."""

    def __init__(self, book: Book, formats: Formats, language: str) -> None:
        self.book, self.formats, self.language = book, formats, language

    def quantity(self, job: PlannedJob) -> str:
        """× 2 (brace); nothing for one."""
        if job.quantity == 1:
            return ""
        known = self.book.jobs.get(job.id)
        per = known.per.in_(self.language) if known and known.per else ""
        return f"× {job.quantity}" + (f" ({per})" if per else "")

    def names(self, ids: Collection[str]) -> str:
        """What these jobs are called, with commas."""
        return ", ".join(labels.job(self.book, id_, self.language) for id_ in ids)

    def part(self, id_: str, quantity: Fraction) -> str:
        """A part's name, and how many if not one."""
        known = self.book.parts.get(id_)
        name = known.name.in_(self.language) if known else id_
        return name + (f" × {self.formats.number(quantity, 2)}" if quantity != 1 else "")

    def awaited(self, job: PlannedJob, planned: Collection[str]) -> list[str]:
        """The planned jobs after which everything that this job hangs on is measured again."""
        known = self.book.jobs.get(job.id)
        return [id_ for id_ in (known.forecast_after if known else ()) if id_ in planned]

    def forecast(self, job: PlannedJob, planned: Collection[str]) -> str:
        """That the job is a forecast, and what has to come before; nothing if it is none."""
        if not job.forecast:
            return ""
        _ = self.formats.gettext
        names = [labels.job(self.book, id_, self.language) for id_ in self.awaited(job, planned)]
        said = _("Forecast: measured again before it is done")
        if names:
            said = _("Forecast: measured again after “{jobs}”", jobs="”, “".join(names))
        return said

    def forecast_priced(self, job: PlannedJob, planned: Collection[str]) -> str:
        """The same with the prices between which it may come out, for the customer."""
        said, band = self.forecast(job, planned), forecast_band(job, self.book)
        if not said or band is None:
            return said
        low, high = map(self.formats.money, band)
        return said + self.formats.gettext(", between {low} and {high}", low=low, high=high)

    def waits(self, job: PlannedJob) -> str:
        """What gets worse or dangerous if the job waits; nothing where it may."""
        _, words = self.formats.gettext, job.if_it_waits
        if words is None or job.waits == "holds":
            return ""
        return _("If it waits: {words}", words=words.in_(self.language))

    def reasons(self, jobs: Sequence[PlannedJob], usual: Collection[str]) -> dict[str, tuple[list[str], str]]:
        """Job → the reasons printed with it, and a line that sends to other jobs for those it shares.

        `usual` are the jobs that the shop would do; see `reason_homes`.
        """
        homes = reason_homes(jobs, usual)
        numbers = {job.id: number for number, job in enumerate(jobs, 1)}
        return {job.id: self._reasons(job, homes, numbers) for job in jobs}

    def _reasons(
        self, job: PlannedJob, homes: Mapping[str, str], numbers: Mapping[str, int]
    ) -> tuple[list[str], str]:
        here = [reason for reason in job.reasons if homes[str(reason)] == job.id]
        elsewhere = {numbers[homes[str(reason)]] for reason in job.reasons if reason not in here}
        return labels.texts(self.language, here), self._as_for(sorted(elsewhere))

    def _as_for(self, numbers: Sequence[int]) -> str:
        _ = self.formats.gettext
        if not numbers:
            return ""
        return _("For the same reason as job {numbers}", numbers=", ".join(map(str, numbers)))
