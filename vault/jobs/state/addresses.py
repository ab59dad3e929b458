"""Addresses that two axes of one machine must not share."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.jobs.state.selectors import State
    from vault.meaning.axis_view import AxisView

ADDRESSES = {"node_address": "link", "station_alias": "link", "safety_address": "hazard"}
"""Roles of addresses, and what it is that two axes have one of them alike."""


def shared_addresses(
    left: State, left_view: AxisView, right: State, right_view: AxisView
) -> dict[str, str]:
    """Addresses that two axes of one machine have alike, by role; none of one drive's channels."""
    if left.address is None or right.address is None or left.address == right.address:
        return {}
    if left.address.machine != right.address.machine:
        return {}
    if _is_one_drive(left, left_view, right, right_view):
        return {}
    others = _addresses(right_view)
    return {
        role: value for role, value in _addresses(left_view).items() if others.get(role) == value
    }


def _is_one_drive(left: State, left_view: AxisView, right: State, right_view: AxisView) -> bool:
    """Whether two axes are channels of one drive: by serial number, else by the export."""
    own, its = left_view.nameplate.get("serial"), right_view.nameplate.get("serial")
    if own and its:
        return own == its
    mine, theirs = left.record, right.record
    if mine is None or theirs is None or mine.channel == theirs.channel:
        return False
    return mine.export_sha256 == theirs.export_sha256


def _addresses(view: AxisView) -> dict[str, str]:
    found = {}
    for role in ADDRESSES:
        parameter = view.find(role)
        if parameter is not None and parameter.value:
            found[role] = str(parameter.value)
    node = view.nameplate.get("node_id")
    if node and "node_address" not in found:
        found["node_address"] = node
    return found
