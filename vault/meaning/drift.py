"""Drift: which differences from a golden baseline count, and which of them are waived.

By meaning: what is only restated is no drift, what is shifted is. Live values never drift; what
names the hardware (serial numbers, versions) is told apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from vault.behaviour.scaling import TRAVEL_ROLES, UNIT_ROLES
from vault.meaning.consequences import CONSEQUENCES, rank
from vault.store.clock import parse_time

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Comparison
    from vault.model.golden import Waiver

_OWN_ROLES = frozenset(
    (
        "node_address",
        "station_alias",
        "home_offset",
        "encoder_absolute_offset",
        "commutation_offset",
    )
)
"""What every axis has for itself, twin or not (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A difference from the baseline, and the waiver that covers it, be it in force or not."""

    change: Change
    waiver: Waiver | None = None

    def drifts(self, moment: datetime) -> bool:
        """Whether it counts at a moment: not waived, or not any more."""
        return self.waiver is None or not in_force(self.waiver, moment)


@dataclass(frozen=True, slots=True)
class Deviations:
    """Differences from a baseline, worst first, and what names other hardware."""

    settings: tuple[Deviation, ...] = ()
    hardware: tuple[Change, ...] = ()


def in_force(waiver: Waiver, moment: datetime) -> bool:
    """Whether a waiver holds at a moment: a bare date ends with its day, in local time."""
    return moment <= parse_time(waiver.until)


def deviations(
    comparison: Comparison,
    left: AxisView,
    right: AxisView,
    waivers: Sequence[Waiver] = (),
    *,
    of_twin: bool = False,
) -> Deviations:
    """Sort a comparison of baseline (left) and present state into what counts and what does not.

    With `of_twin` the baseline is another axis's: what an axis has for itself does not count, nor
    does other mechanics that the parameters take into account.
    """
    told = [change for change in comparison.news if not (of_twin and _is_own(change, left, right))]
    hardware = tuple(change for change in told if _names_hardware(change))
    settings = [
        Deviation(change, _waiver_of(change, right, waivers))
        for change in told
        if not _names_hardware(change)
    ]
    return Deviations(tuple(settings), hardware)


def worst(changes: Sequence[Change]) -> str | None:
    """The worst class of some changes."""
    return min((c.consequence for c in changes), key=rank, default=None)


def is_worse(one: str | None, other: str | None) -> bool:
    """Whether a class is worse than another; anything is worse than none."""
    places = [CONSEQUENCES.index(name) if name else len(CONSEQUENCES) for name in (one, other)]
    return places[0] < places[1]


def _names_hardware(change: Change) -> bool:
    return change.group == "identity"


def _is_own(change: Change, left: AxisView, right: AxisView) -> bool:
    role = change.shown.role
    if role is None:
        return False
    if role.partition(".")[0] in _OWN_ROLES:
        return True
    if role not in (*TRAVEL_ROLES, *UNIT_ROLES):
        return False
    errors = left.scaling.travel_error, right.scaling.travel_error
    return errors[0] is not None and errors[0] == errors[1]


def _waiver_of(change: Change, right: AxisView, waivers: Sequence[Waiver]) -> Waiver | None:
    codes = {side.code for side in (change.right, change.left) if side is not None}
    for waiver in waivers:
        if waiver.code not in codes:
            continue
        if waiver.allow.is_any:
            return waiver
        size = change.right_physical or right.physical_of(change.right)
        unsure = change.kind == "shifted" and change.right_physical is None
        if not unsure and waiver.allow.covers(change.right, size):
            return waiver
    return None
