"""Figures for a monitoring system, as OpenMetrics text (version 1.0.0, from memory)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from threading import Lock
from time import monotonic
from typing import TYPE_CHECKING

from flask import Response, current_app, g

from vault.jobs.alerts.deliver import channels_of, waiting
from vault.jobs.baseline.axis_drift import STATUSES
from vault.jobs.baseline.drift import drift
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.vault import Vault
from webui.visitors import needed_reader

if TYPE_CHECKING:
    from flask import Flask

# Upper bounds in seconds, and how many requests took up to so long, since this process began.
_BOUNDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
_lock = Lock()
_failures = 0
_took: Counter[float] = Counter()
_seconds = 0.0


def note_failure() -> None:
    """Count an export that could not be taken in."""
    global _failures
    with _lock:
        _failures += 1


def clock(app: Flask) -> None:
    """Take the time of every request."""

    @app.before_request
    def begin() -> None:
        g.begun = monotonic()

    @app.teardown_request
    def end(_error: BaseException | None) -> None:
        global _seconds
        took = monotonic() - g.pop("begun", monotonic())
        with _lock:
            _seconds += took
            _took[next((bound for bound in _BOUNDS if took <= bound), float("inf"))] += 1


def metrics() -> Response:
    """Axes by how they stand, snapshots, messages that wait, failures, and times of requests."""
    with Vault.open(current_app.config["VAULT"]) as vault:
        needed_reader(vault)
        text = "".join(f"{line}\n" for line in _lines(vault))
    return Response(text, content_type="application/openmetrics-text; version=1.0.0; charset=utf-8")


def _lines(vault: Vault) -> Iterator[str]:
    failures: dict[Address, VaultError] = {}
    found = Counter(one.status for one in drift(vault, failed=failures.__setitem__))
    yield from _head("axisvault_axes", "gauge", "Axes by how they stand to their golden baseline.")
    for status in STATUSES:
        yield f'axisvault_axes{{status="{status}"}} {found[status]}'
    yield f'axisvault_axes{{status="unknown"}} {len(failures)}'
    yield from _head("axisvault_snapshots", "gauge", "Snapshots in the vault.")
    yield f"axisvault_snapshots {vault.index.count()}"
    yield from _head("axisvault_messages_waiting", "gauge", "Alerts that have not gone out.")
    yield f"axisvault_messages_waiting {len(waiting(vault.state, channels_of(vault)))}"
    yield from _of_process()
    yield "# EOF"


def _of_process() -> Iterator[str]:
    """What this process counted since it began."""
    with _lock:
        failures, took, seconds = _failures, _took.copy(), _seconds
    name = "axisvault_ingest_failures"
    yield from _head(name, "counter", "Exports that the viewer could not take in.")
    yield f"{name}_total {failures}"
    name = "axisvault_request_seconds"
    yield from _head(name, "histogram", "How long requests took.")
    count = 0
    for bound in (*_BOUNDS, float("inf")):
        count += took[bound]
        edge = "+Inf" if bound == float("inf") else f"{bound}"
        yield f'{name}_bucket{{le="{edge}"}} {count}'
    yield f"{name}_count {count}"
    yield f"{name}_sum {seconds:.6f}"


def _head(name: str, kind: str, words: str) -> Iterator[str]:
    yield f"# TYPE {name} {kind}"
    yield f"# HELP {name} {words}"
