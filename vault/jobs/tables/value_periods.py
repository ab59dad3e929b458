"""Every setting of every axis over time: one row for as long as it stays the same.

A row ends where the value, or what it amounts to on the machine, becomes another one, and where an
export does not have it. Live values (positions, temperatures) are no settings and left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import State, view_of
from vault.meaning.readings import Readings
from vault.store.index.lines import is_live

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.names import Address
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class ValuePeriod:
    """A parameter that stayed the same from a snapshot on; until now where `valid_to` is None.

    `size` is what it amounts to on the machine as built, in SI, None where that cannot be told.
    """

    address: Address
    family: str | None
    parameter: Parameter
    size: Physical | None
    snapshot: str
    valid_from: datetime
    valid_to: datetime | None = None


@dataclass(frozen=True, slots=True)
class _Open:
    """A period that has not ended yet."""

    parameter: Parameter
    size: Physical | None
    family: str | None
    snapshot: Snapshot


def value_periods(vault: Vault, address: Address) -> Iterator[ValuePeriod]:
    """The periods of an axis, by code and then by time."""
    ended: list[ValuePeriod] = []
    running: dict[str, _Open] = {}
    before: AxisView | None = None
    for snapshot in vault.index.snapshots(address):
        view = view_of(State(snapshot.id[:10], vault, address, snapshot))
        if before is None or not _is_same(before, view):
            ended += _follow(running, view, snapshot, address)
        before = view
    ended += [_period(address, each, None) for each in running.values()]
    yield from sorted(ended, key=lambda each: (each.parameter.code, each.valid_from))


def _is_same(before: AxisView, view: AxisView) -> bool:
    """Whether nothing that a row says can have changed."""
    return (
        before.lines == view.lines
        and before.family == view.family
        and before.scaling_basis == view.scaling_basis
    )


def _follow(
    running: dict[str, _Open], view: AxisView, snapshot: Snapshot, address: Address
) -> list[ValuePeriod]:
    """Bring what runs up to a snapshot; what ended there comes back."""
    readings, found = Readings(view), dict[str, _Open]()
    for line in view.lines:
        parameter = view.read(line)
        if not is_live(parameter):
            _, size = readings.sizes(parameter)
            found[parameter.code] = _Open(parameter, size, view.family, snapshot)
    ended = []
    for code, was in list(running.items()):
        now = found.get(code)
        if now is None or _said(now) != _said(was):
            ended.append(_period(address, was, snapshot))
            del running[code]
    for code, now in found.items():
        running.setdefault(code, now)
    return ended


def _said(each: _Open) -> tuple[Parameter, Physical | None, str | None]:
    return each.parameter, each.size, each.family


def _period(address: Address, was: _Open, end: Snapshot | None) -> ValuePeriod:
    return ValuePeriod(
        address,
        was.family,
        was.parameter,
        was.size,
        was.snapshot.id,
        was.snapshot.record.taken_at,
        None if end is None else end.record.taken_at,
    )
