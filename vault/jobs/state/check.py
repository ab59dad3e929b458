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
    from vault.meaning.axis_view import AxisView


def check_state(state: State) -> list[Complaint]:
    """Everything that is not plausible, worst first."""
    view = view_of(state)
    found = [*check_view(view), *_doubled(state, view), *_pair(state, view)]
    return sorted(found, key=lambda complaint: rank(complaint.consequence))


def looked_at(state: State, complaint: Complaint) -> list[tuple[str, str]]:
    """Where a complaint says to look, each with the name of the parameter that a code is of."""
    named = view_of(state).parameters
    return [(place, named[place].name if place in named else "") for place in complaint.look_at]


_PAIRED = (
    "position_gain", "velocity_gain", "velocity_integral_time", "velocity_feed_forward",
    "following_error_window", "following_error_time_out", "max_profile_velocity",
    "profile_acceleration", "profile_deceleration", "quick_stop_deceleration", "max_torque",
    "min_software_position_limit", "max_software_position_limit",
)  # fmt: skip
"""What two drives of one gantry must have alike (common practice, no source)."""


def _pair(state: State, view: AxisView) -> list[Complaint]:
    """What the axis of the pair has otherwise: two drives of one gantry pull at one beam.

    Of another machine it does not move with this one, and is to be alike all the same.
    """
    named = state.axis.pair if state.axis is not None else None
    if state.vault is None or state.address is None or named is None:
        return []
    partner = state.vault.address(named)
    named = str(partner)
    snapshot = state.vault.latest(partner)
    if snapshot is None or partner == state.address:
        return []
    other = view_of(State(named, state.vault, partner, snapshot, True))
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


def _doubled(state: State, view: AxisView) -> list[Complaint]:
    """Addresses that another axis of the machine has too."""
    if state.vault is None or state.address is None:
        return []
    codes = {role: p.code for role in ADDRESSES if (p := view.find(role)) is not None}
    found = []
    for address in state.vault.axes():
        if address.machine != state.address.machine or address == state.address:
            continue
        if state.vault.names.retired(address) is not None:
            continue
        if (snapshot := state.vault.latest(address)) is None:
            continue
        other = State(str(address), state.vault, address, snapshot, True)
        for role, value in shared_addresses(state, view, other, view_of(other)).items():
            place = role.replace("_", " ")
            found.append(
                Complaint(
                    "doubled_address",
                    ADDRESSES[role],
                    f"{address} has the same {place}, {value}.",
                    (codes.get(role, "nameplate"),),
                    (Finding(place, value, None, str(address)),),
                )
            )
    return found
