"""With which job a reason that several share is said: on paper and on the screen alike."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from intake.quoting.model import PlannedJob


def reason_homes(jobs: Sequence[PlannedJob], usual: Collection[str]) -> dict[str, str]:
    """Each reason, by its English words, and the job that it is said with.

    That is the dearest that asks for it by itself, of what the shop would do (`usual`) where there is one.
    """
    homes: dict[str, str] = {}
    for job in sorted(jobs, key=lambda job: (job.id not in usual, -job.price)):
        homes = {**dict.fromkeys(map(str, job.own), job.id), **homes}
    for job in sorted(jobs, key=lambda job: (job.id not in usual, -job.price)):
        homes = {**dict.fromkeys(map(str, job.reasons), job.id), **homes}
    return homes
