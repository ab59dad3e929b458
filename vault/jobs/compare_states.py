"""Comparing two states: parameters, and everything around them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from vault.jobs.selectors import State, side_of
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.meaning.surroundings import surroundings
from vault.store import layout


@dataclass(frozen=True, slots=True)
class Compared:
    """Two states and their difference."""

    left: State
    right: State
    comparison: Comparison


def compare_states(left: State, right: State) -> Compared:
    """Compare parameters, nameplate, mechanics, cabinet settings and controller link."""
    comparison = compare(side_of(left), side_of(right))
    around = surroundings(*_around(left, right))
    return Compared(left, right, replace(comparison, surroundings=around))


def _around(left: State, right: State) -> tuple[dict[str, Any], dict[str, Any]]:
    sides = {"nameplate": dict(left.nameplate)}, {"nameplate": dict(right.nameplate)}
    in_vault = left.export is None and right.export is None  # a file knows no machine
    if in_vault and _axis_text(left) != _axis_text(right):
        for side, state in zip(sides, (left, right), strict=True):
            side.update(_axis(state))
    return sides


def _axis_text(state: State) -> bytes | None:
    if state.vault is None or state.address is None or state.snapshot is None:
        return None
    commit = None if state.is_latest else state.snapshot.id
    return state.vault.read(layout.axis_file(state.address), commit)


def _axis(state: State) -> Mapping[str, Any]:
    record = state.axis
    if record is None:
        return {}
    found: dict[str, Any] = record.model_dump(
        exclude={"schema_", "title", "note"}, exclude_none=True
    )
    found["designed"] = found.pop("nameplate", {})
    return found
