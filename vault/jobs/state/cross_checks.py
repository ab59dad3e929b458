"""Whether the controller's program fits the drive: both sets of an axis held against each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import State, resolve, view_of
from vault.meaning.checks import cross_check
from vault.meaning.consequences import rank
from vault.meaning.controller_side import with_controller
from vault.model.written_form import minute_text
from vault.store.clock import microseconds

if TYPE_CHECKING:
    from vault.jobs.state.check import Seen
    from vault.meaning.checks import Complaint
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

BESIDE = "Held against the {side}'s {which}, taken {taken}."
_CONTROLLER = "controller: "


@dataclass(frozen=True, slots=True)
class CheckedState:
    """What is not plausible about a state, alone and beside the other side's set, worst first.

    `beside` is the other side's state that it was held against, None where the axis has none.
    """

    state: State
    complaints: tuple[Complaint, ...]
    beside: State | None = None

    @property
    def told_beside(self) -> str:
        """A sentence on which set of the other side was taken; empty without one."""
        if self.beside is None or self.beside.record is None or self.beside.address is None:
            return ""
        which = "golden baseline" if _is_golden(self.beside) else "set"
        if self.beside.is_latest and not _is_golden(self.beside):
            which = "latest set"
        taken = minute_text(self.beside.record.taken_at)
        return BESIDE.format(side=self.beside.address.side, which=which, taken=taken)

    def looked_at(self, complaint: Complaint) -> list[tuple[str, str]]:
        """Where a complaint says to look, each with the name of the parameter that a code is of."""
        drive, controller = self.state, self.beside
        if self.state.address is not None and self.state.address.is_controller:
            drive, controller = self.beside or self.state, self.state
        return [(place, _name(place, drive, controller)) for place in complaint.look_at]


def _name(place: str, drive: State, controller: State | None) -> str:
    """Name of the parameter of a place; empty for one of the axis record."""
    code = place.removeprefix(_CONTROLLER)
    state = drive if code == place else controller
    parameter = state.parameters.get(code) if state is not None else None
    return "" if parameter is None else parameter.name


def _is_golden(state: State) -> bool:
    return state.built_at is not None


def other_side(state: State) -> State | None:
    """The other side's set that goes with a state; None where the axis has none, or then had none.

    Beside a golden baseline the golden one where there is one, else the latest; beside the latest
    the latest; beside an older one that of its moment.
    """
    vault, address, snapshot = state.vault, state.address, state.snapshot
    if vault is None or address is None or snapshot is None:
        return None
    other = vault.names.named(address.drive if address.is_controller else address.controller)
    if vault.latest(other) is None:
        return None
    if _is_golden(state):
        has_golden = vault.golden(vault.follows(other) or other).approval is not None
        return resolve(vault, f"{other}@golden" if has_golden else str(other))
    if state.is_latest:
        return resolve(vault, str(other))
    then = vault.index.latest_at(other, microseconds(snapshot.record.taken_at))
    return None if then is None else _state_of(vault, other, then)


def _state_of(vault: Vault, address: Address, snapshot: Snapshot) -> State:
    latest = vault.latest(address)
    is_latest = latest is not None and latest.id == snapshot.id
    return State(str(address), vault, address, snapshot, is_latest)


def cross_checks(drive: State, controller: State) -> list[Complaint]:
    """What does not fit between a drive's set and one of its controller's, worst first."""
    return cross_check(with_controller(view_of(drive), view_of(controller, drive)))


def misfits(state: State) -> tuple[list[Complaint], State | None]:
    """What does not fit between a state and the other side's set that goes with it, and that."""
    beside = other_side(state)
    if beside is None or state.address is None:
        return [], None
    sides = (beside, state) if state.address.is_controller else (state, beside)
    return cross_checks(*sides), beside


def check_both(state: State, seen: Seen | None = None) -> CheckedState:
    """Everything that is not plausible about a state, and what does not fit its other side."""
    alone = check_state(state, seen)
    across, beside = misfits(state)
    found = sorted([*alone, *across], key=lambda complaint: rank(complaint.consequence))
    return CheckedState(state, tuple(found), beside)
