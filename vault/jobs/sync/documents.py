"""The JSON objects of the `sync` commands, one function per object."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.state.documents import Json
    from vault.jobs.sync.log import SyncEvent
    from vault.jobs.sync.sync import Given, Taken


def taken_json(found: Taken) -> Json:
    """What was taken from another copy of the vault."""
    return {
        "partner": found.partner,
        "tip": found.tip,
        "merge": found.merge,
        "snapshots": found.snapshots,
        "axes": [str(axis) for axis in found.axes],
        "files": list(found.files),
        "kept": [{"file": path, "side": side} for path, side in found.kept],
        "unchanged": found.is_nothing,
        "warnings": list(found.warnings),
    }


def given_json(found: Given) -> Json:
    """What was given to another copy."""
    return {"partner": found.partner, "tip": found.tip, "unchanged": found.unchanged}


def events_json(found: Iterable[SyncEvent]) -> list[Json]:
    """What this copy took and gave, oldest first."""
    return [
        {
            "at": time_text(event.at),
            "by": event.by,
            "what": event.what,
            "partner": event.partner,
            "tip": event.tip,
            "merge": event.merge,
            "snapshots": event.snapshots,
            "axes": event.axes,
        }
        for event in found
    ]
