"""One parameter over time as numbers in one unit, beside what it should be and what it may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.jobs.baseline.golden import show
from vault.jobs.inspect.history import ParameterStep
from vault.jobs.state.selectors import State, view_of
from vault.meaning.changes import Change, Comparison
from vault.meaning.common_unit import CommonUnit, common_unit
from vault.meaning.drift import deviations, in_force
from vault.meaning.reader import in_unit
from vault.meaning.readings import Readings
from vault.model.unit_table import UNITS
from vault.store.clock import now
from vault.store.files.parameters_text import find_parameter

if TYPE_CHECKING:
    from vault.jobs.baseline.golden import Baseline
    from vault.meaning.axis_view import AxisView
    from vault.meaning.readings import Reading
    from vault.model.names import Address
    from vault.model.parameters import Parameter
    from vault.model.quantities import Measure
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class TimelinePoint:
    """What a snapshot held: `value` in the timeline's unit, None for nothing; `text` for people."""

    at: datetime
    value: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A value to hold the timeline against."""

    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """A parameter over time in `unit`.

    `golden` is what was approved, of the axis `golden_of` where that is another one; `allowed` are
    bounds of waivers in force; `low` and `high` is what the drive takes.
    """

    points: tuple[TimelinePoint, ...]
    unit: str
    golden: Mark | None = None
    golden_of: str | None = None
    allowed: tuple[Mark | None, Mark | None] | None = None
    low: Mark | None = None
    high: Mark | None = None


def parameter_timeline(
    vault: Vault, address: Address, steps: Sequence[ParameterStep]
) -> Timeline | None:
    """Make the timeline of what `parameter_history` found.

    None for texts and choices, and where there are fewer than two values, or no common unit.
    """
    readings = [step.reading for step in steps if step.reading is not None]
    unit = common_unit(readings) if len(readings) > 1 else None
    if unit is None:
        return None
    points = tuple(_point(step, unit) for step in steps)
    last = next(step for step in reversed(steps) if step.reading is not None)
    state = State(str(address), vault, address, last.snapshot, last is steps[-1])
    marks = _MarkMaker(readings[-1].parameter, view_of(state), unit)
    return _limited(_approved(Timeline(points, unit.unit), show(vault, address), marks), marks)


def _point(step: ParameterStep, unit: CommonUnit) -> TimelinePoint:
    value = unit.number(step.reading) if step.reading is not None else None
    text = step.reading.told if step.reading is not None else "not in this export"
    return TimelinePoint(step.snapshot.record.taken_at, value, text)


@dataclass(frozen=True, slots=True)
class _MarkMaker:
    """Makes marks of other values of the parameter, which is as the drive held it last."""

    parameter: Parameter
    view: AxisView
    unit: CommonUnit

    def mark(self, value: Decimal, unit: str | None) -> Mark | None:
        """Another value of the parameter, in its own way of counting."""
        other = replace(self.parameter, value=value, raw=int(value), unit=unit)
        return self.read(Readings(self.view).of(other))

    def read(self, reading: Reading) -> Mark | None:
        """A reading of such a parameter, of this state or another one."""
        found = self.unit.number(reading)
        return None if found is None else Mark(found, reading.told)

    def bound(self, bound: Measure | None) -> Mark | None:
        """A bound that a person wrote, in whatever unit."""
        if bound is None:
            return None
        if bound.unit is None or bound.unit == self.parameter.unit:
            return self.mark(bound.value, self.parameter.unit)
        size, unit = bound.physical(), UNITS.get(self.unit.unit)
        if size is None or unit is None or unit.kind != size.kind:
            return None
        return Mark(float(in_unit(size, self.unit.unit)), str(bound))


def _approved(timeline: Timeline, baseline: Baseline, marks: _MarkMaker) -> Timeline:
    """With the golden value, and what a waiver allows beside it."""
    if baseline.state is None:
        return timeline
    view, parameter = view_of(baseline.state), marks.parameter
    golden = find_parameter(view.text, parameter.code, parameter.role, view.name)
    if golden is None or (baseline.follows and _is_own(golden, parameter, view, marks.view)):
        return timeline
    for waiver in baseline.golden.waivers:
        if waiver.code in (parameter.code, golden.code) and in_force(waiver, now()):
            low, high = marks.bound(waiver.allow.low), marks.bound(waiver.allow.high)
            timeline = replace(timeline, allowed=(low, high) if low or high else None)
            break
    of = str(baseline.follows) if baseline.follows else None
    return replace(timeline, golden=marks.read(Readings(view).of(golden)), golden_of=of)


def _is_own(golden: Parameter, last: Parameter, left: AxisView, right: AxisView) -> bool:
    """Whether an axis has it for itself, so that its twin's baseline says nothing about it."""
    change = Change("changed", "record", golden, last)
    return not deviations(Comparison((change,), 0), left, right, of_twin=True).settings


def _limited(timeline: Timeline, marks: _MarkMaker) -> Timeline:
    """With what the drive takes, as its dictionary or the export says."""
    definition = marks.view.definitions.get(marks.parameter.code)
    if definition is None:
        return timeline
    low, high = (
        None if bound is None else marks.mark(bound, definition.unit)
        for bound in (definition.low, definition.high)
    )
    return replace(timeline, low=low, high=high)
