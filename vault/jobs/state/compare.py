"""Comparing two states: parameters, and everything around them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from vault.jobs.state.addresses import ADDRESSES, shared_addresses
from vault.jobs.state.reread import Rereading, by_one_dictionary
from vault.jobs.state.selectors import State, may_lack, view_of
from vault.meaning.changes import Comparison, Surrounding
from vault.meaning.compare import compare
from vault.meaning.faults import FaultCode, Suspect, read_fault, suspects
from vault.meaning.record_changes import by_rule
from vault.meaning.sentences import surrounding_sentence
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.errors import WrongUsage

SHARED = "Both have the {place}, {value}: on one bus, one of them is wrong."

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.axis import AxisRecord


@dataclass(frozen=True, slots=True)
class Compared:
    """Two states and their difference; `sides` tell two axes apart, None for one over time.

    `rereading` says how both were made to be read by one dictionary, None where they were anyway.
    """

    left: State
    right: State
    comparison: Comparison
    sides: tuple[str, str] | None = None
    rereading: Rereading | None = None

    def fault(self, code: str) -> FaultCode:
        """A fault as the right side's family names it, else the left's. Raises WrongUsage."""
        return read_fault(code, self.right.family or self.left.family)

    def suspects(self, fault: FaultCode) -> list[Suspect]:
        """The differences that can explain a fault, best explanation first."""
        return suspects(
            self.comparison.changes,
            fault,
            view_of(self.left, self.right),
            view_of(self.right, self.left),
            self.comparison.surroundings,
            two_axes=self.sides is not None,
        )


def compare_by_one_dictionary(left: State, right: State) -> Compared:
    """Compare two states, by today's dictionary where it changed between them."""
    left, right, rereading = by_one_dictionary(left, right)
    return replace(compare_states(left, right), rereading=rereading)


def compare_states(left: State, right: State) -> Compared:
    """Compare parameters, nameplate, mechanics, cabinet settings and controller link.

    Raises WrongUsage for the set of a drive and that of a controller: these do not compare.
    """
    check_same_side(left, right)
    sides = _sides(left, right)
    before, after = view_of(left, right), view_of(right, left)
    comparison = compare(before, after, sides=sides)
    told = {
        (str(change.left.value), str(change.right.value))
        for change in comparison.changes
        if change.left is not None and change.right is not None
    }
    around = explained(
        (
            found
            for found in surroundings(*_around(left, right))
            # A plate that is a parameter too is told once; what people write is always told.
            if not found.path.startswith("nameplate.")
            or (str(found.left), str(found.right)) not in told
        ),
        left.axis,
        right.axis,
        sides,
    )
    around = by_rule(around, before, after, comparison.changes, two_axes=sides is not None)
    around = tuple(_as_exported(one, left, right, sides) for one in around)
    around = (*_shared(left, before, right, after), *comparison.surroundings, *around)
    return Compared(left, right, replace(comparison, surroundings=around), sides)


def check_same_side(left: State, right: State) -> None:
    """Raise WrongUsage for sets of two sides."""
    one, other = left.address, right.address
    if one is None or other is None or one.side == other.side:
        return
    drive, controller = (other, one) if one.is_controller else (one, other)
    raise WrongUsage(
        f"{drive} is a drive's set and {controller} a controller's: they have no values in common",
        hint=f"whether both fit each other tells: axisvault check {drive}",
    )


def _shared(left: State, before: AxisView, right: State, after: AxisView) -> Iterator[Surrounding]:
    """Addresses that two axes of one machine have alike: what is equal is no change, and told."""
    for role, value in shared_addresses(left, before, right, after).items():
        text = SHARED.format(place=role.replace("_", " "), value=value)
        yield Surrounding(role, value, value, ADDRESSES[role], text)


def _as_exported(
    around: Surrounding, left: State, right: State, sides: tuple[str, str] | None
) -> Surrounding:
    """A plate that one export has not, and may merely have left out, is not gone."""
    if not around.path.startswith("nameplate."):
        return around
    lacks = (around.left is None and may_lack(left)) or (around.right is None and may_lack(right))
    if not lacks:
        return around
    return replace(around, explanation=surrounding_sentence(around, sides, may_lack=True))


def _sides(left: State, right: State) -> tuple[str, str] | None:
    """What tells two axes apart; None for one axis over time, and for an export of its drive."""
    one, other = left.address, right.address
    if one is None or other is None:
        return None if _is_one_axis(left, right) else (_named(left), _named(right))
    if one == other:
        return None
    (machine, axis), (other_machine, other_axis) = one.shown, other.shown
    if axis == other_axis:
        return machine, other_machine
    if machine == other_machine:
        return axis, other_axis
    return str(one), str(other)


def _is_one_axis(left: State, right: State) -> bool:
    """Whether an export on disk is of the drive that another state is of: by serial and axis."""
    mine, theirs = (_drive(state) for state in (left, right))
    return left.family_name == right.family_name and "" not in mine and mine == theirs


def _drive(state: State) -> tuple[str, str]:
    """The serial number of a state's drive, empty where nothing says it, and the axis in it."""
    parameter = view_of(state).find("serial_number")
    serial = state.nameplate.get("serial") or (parameter.value if parameter else "")
    record, export = state.record, state.export
    channel = export.listing.channel if export is not None else record.channel if record else None
    return str(serial), f"axis {channel}"


def _named(state: State) -> str:
    if state.address is not None:
        return str(state.address)
    return PurePath(state.name.removeprefix("file:")).name


def _around(left: State, right: State) -> tuple[dict[str, Any], dict[str, Any]]:
    sides = {"nameplate": dict(left.nameplate)}, {"nameplate": dict(right.nameplate)}
    in_vault = left.export is None and right.export is None  # a file knows no machine
    # How the axis is built is told of the drive's set, and once.
    is_controllers = left.address is not None and left.address.is_controller
    if in_vault and not is_controllers and left.axis_text != right.axis_text:
        for side, state in zip(sides, (left, right), strict=True):
            side.update(_axis(state))
    return sides


def _axis(state: State) -> Mapping[str, Any]:
    return built(state.axis)


BESIDE = ("title", "note", "follows", "export_every", "pair", "margins", "controller")
"""Keys of an axis record that tell nothing of how the axis is built."""


def built(record: AxisRecord | None) -> Mapping[str, Any]:
    """What is compared of an axis as built; empty where nothing is recorded."""
    if record is None:
        return {}
    found: dict[str, Any] = record.model_dump(exclude={"schema_", *BESIDE}, exclude_none=True)
    found["designed"] = found.pop("nameplate", {})
    return found
