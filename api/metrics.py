"""What Prometheus is told: requests, how long they take, the catalogue that answers.

With several workers each writes what it counts to files in the folder that the environment names
as `PROMETHEUS_MULTIPROC_DIR` before this module is imported; whichever worker is asked adds up.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterable
from functools import partial
from time import monotonic, perf_counter

from flask import Flask, Response, g, request
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
)
from prometheus_client.core import GaugeMetricFamily, InfoMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from api.current import Current, current_of
from api.working import METRICS, route_of_request, settings_of

log = logging.getLogger("kitwright.requests")

SHARED = "PROMETHEUS_MULTIPROC_DIR"
SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 120)


class Metrics:
    """What one app counts."""

    def __init__(self, log_requests: bool) -> None:
        self.log_requests = log_requests
        own = self.registry = CollectorRegistry()
        self.requests = Counter(
            "kitwright_requests", "Requests answered.", ["method", "route", "status"], registry=own)
        self.seconds = Histogram(
            "kitwright_request_seconds", "From request read to answer made.", ["method", "route"],
            buckets=SECONDS, registry=own)
        self.searching = Histogram(
            "kitwright_search_seconds", "Time of the solvers in one question.", ["route"],
            buckets=SECONDS, registry=own)
        self.late = Counter(
            "kitwright_deadline_hits", "Answers cut short, or not found, for want of time.",
            ["route"], registry=own)
        self.in_hand = Gauge(
            "kitwright_questions_in_hand", "Questions being worked out now.",
            multiprocess_mode="livesum", registry=own)

    def answered(self, response: Response) -> Response:
        """Count the request at hand, and log it if that is wanted."""
        seconds = perf_counter() - g.begun
        self.count(request.method, route_of_request(), response.status_code, seconds,
                   g.get("request_id", ""))
        return response

    def count(self, method: str, route: str, status: int, seconds: float, asked: str) -> None:
        """Count one request; `asked` is its id."""
        self.requests.labels(method, route, status).inc()
        self.seconds.labels(method, route).observe(seconds)
        if self.log_requests:
            log.info("answered", extra={
                "method": method, "route": route, "status": status, "ms": round(1000 * seconds, 1),
                "request_id": asked,
            })


class CatalogueCollector(Collector):
    """The catalogue that answers, as the worker sees it that is asked."""

    def __init__(self, current: Callable[[], Current]) -> None:
        self.current = current

    def collect(self) -> Iterable[Metric]:
        """Digest and age, and whether a newer catalogue was refused."""
        now = self.current()
        known = now.served
        yield InfoMetricFamily("kitwright_catalogue", "The catalogue that answers.", {
            "digest": known.catalogue.digest, "name": known.catalogue.header.name})
        yield GaugeMetricFamily(
            "kitwright_catalogue_age_seconds", "Since the catalogue was taken.",
            monotonic() - known.taken)
        yield GaugeMetricFamily(
            "kitwright_catalogue_refused", "1 while a newer catalogue was found wrong.",
            float(now.refused is not None))


def count_requests(app: Flask) -> None:
    """Make `app` count what it does and tell it at /metrics."""
    metrics = app.extensions[METRICS] = Metrics(settings_of(app).log_requests)
    app.before_request(_begin)
    app.after_request(metrics.answered)
    known = CatalogueCollector(partial(current_of, app))
    metrics.registry.register(known)
    app.add_url_rule("/metrics", view_func=partial(_tell, metrics, known), endpoint="metrics")


def _begin() -> None:
    g.begun = perf_counter()


def _tell(metrics: Metrics, known: CatalogueCollector) -> Response:
    told = metrics.registry
    if os.environ.get(SHARED):
        told = CollectorRegistry()
        MultiProcessCollector(told)  # type: ignore[no-untyped-call]
        told.register(known)
    response = Response(generate_latest(told), content_type=CONTENT_TYPE_LATEST)
    response.headers["Cache-Control"] = "no-store"
    return response
