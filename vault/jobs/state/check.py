"""Plausibility of one state, alone and among the other axes of its machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.addresses import ADDRESSES, shared_addresses
from vault.jobs.state.selectors import State, view_of
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint
from vault.meaning.checks import check as check_view
from vault.meaning.consequences import rank

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.meaning.axis_view import AxisView
    from vault.model.names import Address
    from vault.store.vault import Vault


class Seen:
    """Latest states of axes, each with its view, read once for whoever checks many of them."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault
        self._seen: dict[Address, tuple[State, AxisView] | None] = {}

    def beside(self, address: Address) -> Iterator[tuple[State, AxisView]]:
        """The other axes of a machine, by their sets of the same side."""
        names = self._vault.names
        for other in map(names.named, self._vault.index.axes(address.machine)):
            if other == address or other.side != address.side:
                continue
            if names.retired(other) is None and (found := self.latest(other)) is not None:
                yield found

    def named(self, text: str) -> Address:
        """The axis that somebody calls so."""
        return self._vault.address(text)

    def latest(self, address: Address) -> tuple[State, AxisView] | None:
        """The latest state of one; None where it has none."""
        if address not in self._seen:
            snapshot = self._vault.latest(address)
            found = None
            if snapshot is not None:
                state = State(str(address), self._vault, address, snapshot, True)
                found = state, view_of(state)
            self._seen[address] = found
        return self._seen[address]


def check_state(state: State, seen: Seen | None = None) -> list[Complaint]:
    """Everything that is not plausible, worst first.

    `seen` are the axes around it, where many of them are checked one after the other.
    """
    view = view_of(state)
    if seen is None and state.vault is not None:
        seen = Seen(state.vault)
    found = [*check_view(view), *_doubled(state, view, seen), *_pair(state, view, seen)]
    return sorted(found, key=lambda complaint: rank(complaint.consequence))


_PAIRED = (
    "position_gain", "velocity_gain", "velocity_integral_time", "velocity_feed_forward",
    "following_error_window", "following_error_time_out", "max_profile_velocity",
    "profile_acceleration", "profile_deceleration", "quick_stop_deceleration", "max_torque",
    "min_software_position_limit", "max_software_position_limit",
)  # fmt: skip
"""What two drives of one gantry must have alike (common practice, no source)."""


def _pair(state: State, view: AxisView, seen: Seen | None) -> list[Complaint]:
    """What the axis of the pair has otherwise: two drives of one gantry pull at one beam.

    Of another machine it does not move with this one, and is to be alike all the same.
    """
    named = state.axis.pair if state.axis is not None else None
    if seen is None or state.address is None or named is None:
        return []
    partner = seen.named(named)
    if state.address.is_controller:
        partner = partner.controller
    if partner == state.address or (paired := seen.latest(partner)) is None:
        return []
    _, other = paired
    if partner.machine == state.address.machine:
        who, rule = f"on {named}, which moves with it,", "two drives of one beam must have the same"
    else:
        who, rule = f"on {named}, its pair by axis.yaml,", "a pair is to have the same"
    found = []
    for role in _PAIRED:
        parameter, theirs = view.find(role), other.find(role)
        one, two = view.si(role), other.si(role)
        if parameter is None or theirs is None or one is None or two is None:
            continue
        if abs(one - two) <= 1e-6 * max(abs(one), abs(two)):
            continue
        text = f"{parameter.name} is {view.shown(parameter)}, {who} {other.shown(theirs)}: {rule}."
        finding = Finding(parameter.name, f"{two:.9g}", None, named)
        found.append(Complaint("pair", "dynamics", text, (parameter.code,), (finding,)))
    return found


def _doubled(state: State, view: AxisView, seen: Seen | None) -> list[Complaint]:
    """Addresses that another axis of the machine has too."""
    if seen is None or state.address is None:
        return []
    codes = {role: p.code for role in ADDRESSES if (p := view.find(role)) is not None}
    found = []
    for other, its in seen.beside(state.address):
        for role, value in shared_addresses(state, view, other, its).items():
            place = role.replace("_", " ")
            found.append(
                Complaint(
                    "doubled_address",
                    ADDRESSES[role],
                    f"{other.address} has the same {place}, {value}.",
                    (codes.get(role, "nameplate"),),
                    (Finding(place, value, None, str(other.address)),),
                )
            )
    return found
