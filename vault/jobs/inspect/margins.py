"""Every margin of one state of an axis, beside that of its golden baseline."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.behaviour.facts import Margin
from vault.behaviour.state import SCALING
from vault.jobs.state.selectors import State, golden_state, view_of
from vault.meaning.margin_moves import MarginMove
from vault.meaning.margin_text import hedges_in, ordered, standing, summary
from vault.meaning.missing_words import is_record_key
from vault.meaning.start_speed import begins_at_speed, start_speed
from vault.model.errors import WrongUsage
from vault.model.names import whole_axis
from vault.model.near_names import did_you_mean

if TYPE_CHECKING:
    from decimal import Decimal

    from vault.meaning.axis_view import AxisView
    from vault.meaning.margin_text import Standing
    from vault.meaning.start_speed import StartSpeed
    from vault.model.parameters import Parameter


@dataclass(frozen=True, slots=True)
class Rests:
    """What of a state a margin rests on: its parameters, and keys of the axis record."""

    parameters: tuple[Parameter, ...]
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AxisMargin:
    """A margin of an axis. `golden` is that of its baseline; `floor` what it must at least be."""

    margin: Margin
    rests: Rests
    golden: Margin | None = None
    floor: Decimal | None = None

    @property
    def stands(self) -> Standing:
        """How it stands to 1 and to its floor."""
        return standing(self.margin, self.floor)

    @property
    def approved(self) -> Margin | None:
        """The margin of the baseline, where it is another one."""
        moved = self.golden is not None and MarginMove("", self.golden, self.margin).moves
        return self.golden if moved else None


@dataclass(frozen=True, slots=True)
class AxisMargins:
    """All margins of a state, worst first; `golden` is the state of the baseline, if there is one.

    What has no sense for the axis is not among them. `start` is the speed that its stops begin at.
    """

    state: State
    golden: State | None
    rows: tuple[AxisMargin, ...]
    start: StartSpeed | None = None

    def start_of(self, row: AxisMargin) -> str:
        """The speed that a stop or a drop begins at; empty for other margins."""
        begins = self.start is not None and row.margin.is_known and begins_at_speed(row.margin)
        return self.start.text if begins and self.start is not None else ""

    def notes(self, row: AxisMargin) -> list[str]:
        """What is told once for many: why a stop begins that fast, what makers do otherwise."""
        why = self.start.why if self.start is not None and self.start_of(row) else ""
        return [*([why] if why else []), *hedges_in(row.margin.hedge)]

    @property
    def summary(self) -> str:
        """The answer in a line."""
        return summary([(row.margin, row.floor) for row in self.rows])

    @property
    def known(self) -> tuple[AxisMargin, ...]:
        """Those that have a ratio."""
        return tuple(row for row in self.rows if row.margin.is_known)

    @property
    def unknown(self) -> tuple[AxisMargin, ...]:
        """Those for which something is missing."""
        return tuple(row for row in self.rows if not row.margin.is_known)

    @property
    def missing(self) -> tuple[str, ...]:
        """Everything that is missing for one of them, once."""
        return tuple(dict.fromkeys(name for row in self.rows for name in row.margin.missing))


def axis_margins(state: State, wanted: str | None = None) -> AxisMargins:
    """The margins of a state, or only the `wanted` one.

    Raises WrongUsage where there is none, and for a controller's set, which has none at all.
    """
    if state.address is not None:
        whole_axis(state.address)
    view = view_of(state)
    found = margins_of(view.state)
    golden = _golden(state)
    approved = margins_of(view_of(golden).state) if golden is not None else {}
    floors = view.axis.margins if view.axis is not None else {}
    rows = [
        AxisMargin(margin, _rests(margin, view), approved.get(margin.name), floors.get(margin.name))
        for margin in ordered(_wanted(found, wanted), floors)
    ]
    return AxisMargins(state, golden, tuple(rows), start_speed(view.state))


def _golden(state: State) -> State | None:
    """The baseline that holds for a state; None where there is none."""
    if state.vault is None or state.address is None:
        return None
    with suppress(WrongUsage):
        return golden_state(state.vault, state.address)
    return None


def _wanted(found: Mapping[str, Margin], wanted: str | None) -> list[Margin]:
    if wanted is None:
        return [*found.values()]
    if wanted not in found:
        near = did_you_mean(wanted, found)
        raise WrongUsage(
            f"this axis has no margin {wanted!r}{near}", hint="axisvault margins M/A lists them"
        )
    return [found[wanted]]


def _rests(margin: Margin, view: AxisView) -> Rests:
    """What is there of all that was asked for the margin."""
    found, keys = [], []
    for name in margin.rests_on:
        if is_record_key(name):
            if view.state.record(name) is not None:
                keys.append(name)
        elif name != SCALING and (parameter := view.find(name)) is not None:
            found.append(parameter)
    return Rests(tuple(found), tuple(keys))
