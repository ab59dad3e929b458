"""Figures for a monitoring system, as OpenMetrics text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from time import monotonic
from typing import TYPE_CHECKING

import prometheus_client
from flask import Response, current_app, g
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest
from prometheus_client.registry import Collector, CollectorRegistry

from vault.jobs.alerts.confirm import channels_of
from vault.jobs.alerts.deliver import waiting
from vault.jobs.baseline.axis_drift import STATUSES
from vault.jobs.baseline.drift import drift
from vault.model.errors import VaultError
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.store.vault import Vault
from webui.visitors import require_reader

if TYPE_CHECKING:
    from flask import Flask

prometheus_client.disable_created_metrics()

_STANDING = (
    (False, "axisvault_axes", "Axes, their drives' sets,"),
    (True, "axisvault_controller_sets", "Controllers' sets"),
)

# What this process counted since it began.
_of_process = CollectorRegistry()
_failures = prometheus_client.Counter(
    "axisvault_ingest_failures", "Exports that the viewer could not take in.", registry=_of_process
)
_seconds = prometheus_client.Histogram(
    "axisvault_request_seconds",
    "How long requests took.",
    buckets=(0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0),
    registry=_of_process,
)


def note_failure() -> None:
    """Count an export that could not be taken in."""
    _failures.inc()


def clock(app: Flask) -> None:
    """Take the time of every request."""

    @app.before_request
    def begin() -> None:
        g.begun = monotonic()

    @app.teardown_request
    def end(_error: BaseException | None) -> None:
        _seconds.observe(monotonic() - g.pop("begun", monotonic()))


def metrics() -> Response:
    """Axes by how they stand, snapshots, messages that wait, failures, and times of requests."""
    with Vault.open(current_app.config["VAULT"]) as vault:
        require_reader(vault)
        text = generate_latest(_Figures(vault))
    return Response(text, content_type=CONTENT_TYPE_LATEST)


class _Figures(Collector):
    """The figures of a vault, then those of this process."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault

    def collect(self) -> Iterator[Metric]:
        """Look at the vault as it is now."""
        unknown = GaugeMetricFamily(
            "axisvault_unknown_figures", "1 for each figure that cannot be told.", labels=["figure"]
        )
        figures = {"axes": self._axes, "snapshots": self._snapshots, "messages": self._messages}
        for name, figure in figures.items():
            failed: list[VaultError] = []
            with told_apart(failed.append, f"metrics, {name}"):
                yield from tuple(figure())
            unknown.add_metric([name], len(failed))
        yield unknown
        yield from _of_process.collect()

    def _axes(self) -> Iterator[Metric]:
        vault = self._vault
        unknown: dict[Address, VaultError] = {}
        found = drift(vault, failed=unknown.__setitem__)
        for is_controllers, name, what in _STANDING:
            counts = Counter(a.status for a in found if a.is_controllers is is_controllers)
            failed = sum(address.is_controller is is_controllers for address in unknown)
            text = f"{what} by how they stand to their golden baseline."
            axes = GaugeMetricFamily(name, text, labels=["status"])
            for status in STATUSES:
                axes.add_metric([status], counts[status])
            axes.add_metric(["unknown"], failed)
            yield axes
        yield GaugeMetricFamily(
            "axisvault_axes_below_floor",
            "Axes with a floor under a margin that is not shown to be kept.",
            sum(bool(axis.floors) for axis in found),
        )

    def _snapshots(self) -> Iterator[Metric]:
        count = self._vault.index.count()
        yield GaugeMetricFamily("axisvault_snapshots", "Snapshots in the vault.", count)

    def _messages(self) -> Iterator[Metric]:
        yield GaugeMetricFamily(
            "axisvault_messages_waiting",
            "Alerts that have not gone out.",
            len(waiting(self._vault.state, channels_of(self._vault))),
        )
