"""What is left to do after a restore: the as-left state against what the plan wants, by meaning."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.scaling import UNIT_ROLES
from vault.jobs.restore.unproven import not_stated
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State
from vault.meaning.loading import never_loaded
from vault.meaning.sentences import value_text
from vault.model.normalise import Definition, family_definitions
from vault.model.protecting_roles import protects
from vault.model.restore import Adapted

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.model.parameters import Parameter


@dataclass(frozen=True, slots=True)
class Remaining:
    """A difference that keeps the axis from being restored, and what to do about it."""

    change: Change
    to_do: str


@dataclass(frozen=True, slots=True)
class Ignored:
    """A difference that may be, and why."""

    change: Change
    reason: str


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What differs after a restore: `safety` is validated apart, the rest is set or may differ."""

    differences: tuple[Remaining, ...]
    safety: tuple[Remaining, ...]
    ignored: tuple[Ignored, ...]


def hold_against(target: State, left: State, adapted: tuple[Adapted, ...] = ()) -> LeftOver:
    """Sort what differs between the target of a plan and the state that was left."""
    sorting = _Sorting(target, left, adapted)
    differences: list[Remaining] = []
    safety: list[Remaining] = []
    ignored: list[Ignored] = []
    for change in compare_states(target, left).comparison.news:
        if (reason := sorting.may_differ(change)) is not None:
            ignored.append(Ignored(change, reason))
        elif sorting.is_safety(change):
            to_do = "Have it set and validated by the machine's own safety procedure."
            safety.append(Remaining(change, to_do))
        else:
            differences.append(Remaining(change, sorting.to_do(change)))
    return LeftOver(tuple(differences), tuple(safety), tuple(ignored))


_UNITS = ("user_unit_position", *UNIT_ROLES)


class _Sorting:
    """Tells what may differ after a restore from what may not."""

    def __init__(self, target: State, left: State, adapted: tuple[Adapted, ...]) -> None:
        self._kept: Mapping[str, Definition] = target.definitions
        self._there: Mapping[str, Definition] = left.definitions
        self._other_family = target.family_name != left.family_name
        self._adapted = {value.code: value for value in adapted}
        self._not_stated = not_stated(target)
        motors = [state.nameplate.get("motor_serial") for state in (target, left)]
        self._same_motor = None if None in motors else motors[0] == motors[1]
        listed = left.family
        self._listed = listed.parameters if listed is not None else {}
        self._is_listed, self._is_open = bool(self._listed), listed is not None and listed.open
        firmware = [state.nameplate.get("firmware") for state in (target, left)]
        self._other_firmware = None not in firmware and firmware[0] != firmware[1]
        self._known_there = (
            family_definitions(listed, left.nameplate.get("firmware")) if listed else self._there
        )

    def _definitions(self, change: Change) -> Iterator[Definition]:
        sides = ((change.right, self._there), (change.left, self._kept))
        for parameter, known in sides:
            definition = known.get(parameter.code) if parameter is not None else None
            if definition is not None:
                yield definition

    def is_safety(self, change: Change) -> bool:
        """Whether a safety function differs."""
        return any(never_loaded(d) == "safety" for d in self._definitions(change))

    def may_differ(self, change: Change) -> str | None:
        """Why a difference is none to bother about; None for one that is."""
        if self.is_safety(change):
            return None
        before, after = change.left, change.right
        code = before.code if before is not None else change.shown.code
        if code in self._not_stated:
            return self._not_stated[code]
        adapted = self._adapted.get(after.code) if after is not None else None
        if adapted is not None and after is not None and str(after.raw) == adapted.raw:
            return f"adapted by the plan: {adapted.reason}"
        why = next(filter(None, map(never_loaded, self._definitions(change))), None)
        if why is not None:
            return _WHY[why]
        if (reason := self._referenced(change)) is not None:
            return reason
        if change.left is None:
            return self._beside(change)
        return self._lacking(change) if after is None else None

    def _referenced(self, change: Change) -> str | None:
        """Whether referencing the axis set it; as delivered, the axis was not referenced yet."""
        role, after = change.shown.role, change.right
        if after is None or role not in ("encoder_absolute_offset", "commutation_offset"):
            return None
        if self._same_motor is False or self._other_family:
            another = "of another encoder"
        elif self._same_motor is None and role == "encoder_absolute_offset":
            another = "nothing tells which motor is fitted"
        else:
            return None
        definition = self._there.get(after.code)
        if definition is None or after.value == (definition.default or 0):
            return None
        return f"{another}: set by referencing the axis; compare the position at a known mark"

    def _beside(self, change: Change) -> str | None:
        """A setting that the target does not tell."""
        parameter = change.right
        definition = self._there.get(parameter.code) if parameter is not None else None
        if self._other_family and change.shown.role in _UNITS:
            return "the unit of the other family: values are compared by what they mean"
        if parameter is None or definition is None or definition.default is None:
            return None
        if parameter.value != definition.default:
            return None
        return "the target does not tell it; it stands as delivered"

    def _lacking(self, change: Change) -> str | None:
        """A setting of the target that the drive does not have."""
        before = change.left
        if before is None:
            return None
        if self._other_family:
            has_role = before.role is not None and any(
                d.role == before.role for d in self._known_there.values()
            )
            return None if has_role else "the other family has no such setting"
        if before.code in self._known_there or not self._knows_what_is_there(before):
            return None
        return "the firmware has no such setting"

    def _knows_what_is_there(self, missing: Parameter) -> bool:
        """Whether the drive is known to lack a setting, and not merely this export.

        A dictionary tells, an open one of what it has. Without one another firmware may, but not
        of what protects.
        """
        if self._is_listed and (not self._is_open or missing.code in self._listed):
            return True
        return self._other_firmware and not protects(missing.role)

    def to_do(self, change: Change) -> str:
        """What puts a difference right."""
        before, after = change.left, change.right
        if before is None:
            default = next((d.default for d in self._definitions(change)), None)
            back = f" As delivered it is {default}." if default is not None else ""
            return f"The target does not tell it: find out who set it, and why.{back}"
        if after is None:
            return "It is missing in the export: export all parameters, or load it again."
        if change.shown.role == "encoder_absolute_offset" and self._same_motor is not True:
            return "Reference the axis, compare the position at a known mark, then export again."
        said = f"Set it to {value_text(before)}"
        if self._other_family:
            said += " as the plan has it for this family"
        elif before.raw != before.value:
            said += f" (raw {before.raw})"
        if change.kind == "shifted":
            return (
                "The number is right, what it stands for is not: correct what scales it first, "
                "then export again."
            )
        definition = next(self._definitions(change), None)
        if definition is not None and definition.level is not None:
            said += f", with access level {definition.level}"
        if definition is not None and definition.effective == "after_restart":
            return f"{said}, or load the file again; restart the drive, then export again."
        return f"{said}, or load the file again; then export again."


_WHY = {
    "read_only": "the drive sets it itself",
    "live": "a live value",
    "identity": "it belongs to the hardware",
}
