"""Figures for a monitoring system, as OpenMetrics text (version 1.0.0, from memory)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from flask import Response, current_app

from vault.jobs.deliver import channels_of, waiting
from vault.jobs.drift import STATUSES, drift
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.vault import Vault


def metrics() -> Response:
    """Axes by how they stand, snapshots, and messages that wait."""
    with Vault.open(current_app.config["VAULT"]) as vault:
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
    yield "# EOF"


def _head(name: str, kind: str, words: str) -> Iterator[str]:
    yield f"# TYPE {name} {kind}"
    yield f"# HELP {name} {words}"
