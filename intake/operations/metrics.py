"""What is counted while the shop runs, as OpenMetrics (prometheus-client)."""

from __future__ import annotations

from collections.abc import Iterator

from prometheus_client import CollectorRegistry, Counter, Histogram, disable_created_metrics
from prometheus_client.metrics_core import GaugeMetricFamily, Metric
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest

CONTENT_TYPE = CONTENT_TYPE_LATEST
BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
REGISTRY = CollectorRegistry()

disable_created_metrics()
REQUESTS = Counter(
    "tallyfret_requests", "Requests answered", ("route", "method", "status"), registry=REGISTRY
)
SAVES = Counter("tallyfret_saves", "Steps saved, by what became of them", ("result",), registry=REGISTRY)
REPLAYS = Counter("tallyfret_replays", "Saves that had come before", ("result",), registry=REGISTRY)
REQUEST_SECONDS = Histogram(
    "tallyfret_request_seconds", "How long an answer took", buckets=BUCKETS, unit="seconds", registry=REGISTRY
)
SAVE_SECONDS = Histogram(
    "tallyfret_save_seconds", "How long a save took", buckets=BUCKETS, unit="seconds", registry=REGISTRY
)
PDF_SECONDS = Histogram(
    "tallyfret_pdf_seconds", "How long a document took", buckets=BUCKETS, unit="seconds", registry=REGISTRY
)


def exposition(gauges: dict[str, float]) -> bytes:
    """Everything counted so far, with these values of the moment; every name gets `tallyfret_` before it."""
    return generate_latest(_WithGauges(gauges))


class _WithGauges:
    """A registry, for whoever collects from it."""

    def __init__(self, gauges: dict[str, float]) -> None:
        self.gauges = gauges

    def collect(self) -> Iterator[Metric]:
        yield from REGISTRY.collect()
        for name, value in self.gauges.items():
            words = name.replace("_", " ").capitalize()
            yield GaugeMetricFamily(f"tallyfret_{name}", words, value=value)
