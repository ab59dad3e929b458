"""The JSON object of a search over the fleet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.as_json import Json, parameter_json
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.find import Found


def find_json(found: Iterable[Found]) -> Json:
    """Axes that have or had a value; `until` is null for what is there now."""
    return {"found": [_found_json(entry) for entry in found]}


def _found_json(entry: Found) -> Json:
    return {
        "axis": entry.axis,
        "code": entry.parameter.code,
        "name": entry.parameter.name,
        "role": entry.parameter.role,
        **(parameter_json(entry.parameter, None) or {}),
        "snapshot": entry.snapshot,
        "since": time_text(entry.since),
        "until": None if entry.until is None else time_text(entry.until),
    }
