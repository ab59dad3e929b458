"""Comparing two states: parameters, and everything around them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from vault.jobs.selectors import State, view_of
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.meaning.surroundings import surroundings


@dataclass(frozen=True, slots=True)
class Compared:
    """Two states and their difference."""

    left: State
    right: State
    comparison: Comparison


def compare_states(left: State, right: State) -> Compared:
    """Compare parameters, nameplate, mechanics, cabinet settings and controller link."""
    comparison = compare(view_of(left, right), view_of(right, left))
    told = [
        (change.left.value, change.right.value)
        for change in comparison.changes
        if change.left is not None and change.right is not None
    ]
    around = tuple(
        found
        for found in surroundings(*_around(left, right))
        if (found.left, found.right) not in told
    )
    return Compared(left, right, replace(comparison, surroundings=around))


def _around(left: State, right: State) -> tuple[dict[str, Any], dict[str, Any]]:
    sides = {"nameplate": dict(left.nameplate)}, {"nameplate": dict(right.nameplate)}
    in_vault = left.export is None and right.export is None  # a file knows no machine
    if in_vault and left.axis_text != right.axis_text:
        for side, state in zip(sides, (left, right), strict=True):
            side.update(_axis(state))
    return sides


def _axis(state: State) -> Mapping[str, Any]:
    record = state.axis
    if record is None:
        return {}
    found: dict[str, Any] = record.model_dump(
        exclude={"schema_", "title", "note"}, exclude_none=True
    )
    found["designed"] = found.pop("nameplate", {})
    return found
