"""What is counted while the shop runs, as OpenMetrics text (the Prometheus project's exposition format)."""

from __future__ import annotations

import time
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
CONTENT_TYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"
Labels = tuple[tuple[str, str], ...]


class Metrics:
    """Counters and durations of this process; every name gets `tallyfret_` before it."""

    def __init__(self) -> None:
        self._counts: Counter[tuple[str, Labels]] = Counter()
        self._times: dict[str, Durations] = {}
        self._lock = Lock()

    def count(self, name: str, **labels: str) -> None:
        """One more of that name with those labels."""
        with self._lock:
            self._counts[name, tuple(sorted(labels.items()))] += 1

    def took(self, name: str, seconds: float) -> None:
        """A duration of that name."""
        with self._lock:
            self._times.setdefault(name, Durations()).add(seconds)

    @contextmanager
    def timing(self, name: str) -> Iterator[None]:
        """Note how long the block takes, if it ends well."""
        begin = time.perf_counter()
        yield
        self.took(name, time.perf_counter() - begin)

    def clear(self) -> None:
        """Begin again from nothing."""
        with self._lock:
            self._counts.clear()
            self._times.clear()

    def text(self, gauges: dict[str, float]) -> str:
        """Everything so far, with these values of the moment."""
        with self._lock:
            lines = [
                *self._counters(),
                *(line for name in sorted(self._times) for line in self._histogram(name)),
            ]
        for name, value in gauges.items():
            lines += [f"# TYPE tallyfret_{name} gauge", f"tallyfret_{name} {value:g}"]
        return "\n".join([*lines, "# EOF", ""])

    def _counters(self) -> Iterator[str]:
        for name in sorted({name for name, _ in self._counts}):
            yield f"# TYPE tallyfret_{name} counter"
            for (own, labels), value in sorted(self._counts.items()):
                if own == name:
                    yield f"tallyfret_{name}_total{_labels(labels)} {value}"

    def _histogram(self, name: str) -> Iterator[str]:
        yield f"# TYPE tallyfret_{name}_seconds histogram"
        yield f"# UNIT tallyfret_{name}_seconds seconds"
        yield from (f"tallyfret_{name}_seconds_{line}" for line in self._times[name].lines())


class Durations:
    """How many durations fell under each bound, and their sum."""

    def __init__(self) -> None:
        self.under = [0] * (len(BUCKETS) + 1)
        self.sum = 0.0

    def add(self, seconds: float) -> None:
        self.under[bisect_left(BUCKETS, seconds)] += 1
        self.sum += seconds

    def lines(self) -> Iterator[str]:
        so_far = 0
        for bound, found in zip((*map(str, BUCKETS), "+Inf"), self.under, strict=True):
            so_far += found
            yield f'bucket{{le="{bound}"}} {so_far}'
        yield f"count {so_far}"
        yield f"sum {self.sum:.6f}"


COUNTED = Metrics()
"""What this process counts."""


def _labels(labels: Labels) -> str:
    inner = ",".join(f'{name}="{_escaped(value)}"' for name, value in labels)
    return f"{{{inner}}}" if inner else ""


def _escaped(value: str) -> str:
    return value.replace("\\", r"\\").replace('"', r"\"").replace("\n", r"\n")
