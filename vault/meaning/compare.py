"""The semantic difference between two parameter sets.

Lines of parameters.yaml that are equal are dropped unread, so the work grows with what differs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from vault.behaviour.scaling import SCALING_ROLES, Sizes, common_sizes
from vault.behaviour.travel import is_calibration
from vault.meaning.alone import Alone
from vault.meaning.axis_view import AxisView
from vault.meaning.causes import (
    cause_of,
    collect,
    controller_cause,
    settle_scaling_rows,
    travel_cause,
)
from vault.meaning.changes import Cause, Change, Comparison, Difference, Kind
from vault.meaning.consequences import rank, usual_consequence
from vault.meaning.explainers import explained
from vault.meaning.joint import told_once
from vault.meaning.judging import classed, in_two_lines, short_on_one, together
from vault.meaning.steps import equal_in_unit, step_size
from vault.meaning.substitution import Substitution
from vault.model import roles
from vault.model.choices import same_label
from vault.model.export import Scalar
from vault.model.parameters import Parameter, code_order
from vault.model.quantities import (
    Physical,
    convert,
    rounded_decimal,
    same_kind,
    unit_named,
    unlike_amperes,
)

_SCALING = frozenset(SCALING_ROLES)
# CiA 301: objects 2000h to 5FFFh are the maker's own; from memory.
_STANDARD_OBJECT = re.compile(r"0x[016-9A-F][0-9A-F]{3}:[0-9A-F]{2}")


def compare(
    left: AxisView,
    right: AxisView,
    *,
    conversions: bool = True,
    sides: tuple[str, str] | None = None,
) -> Comparison:
    """Compare two states: of one axis over time, or of the two axes that `sides` names.

    Parameters pair by code, and by role where the two sides are of different families. Without
    `conversions` every difference in value, unit or raw content counts as changed.
    """
    same = left.lines & right.lines
    judge = _Judge(left, right, conversions)
    found: list[Change] = []
    equal = 0
    if judge.rescaled or judge.recounted:
        for parameter in _read(same, left).values():
            change = judge.change(parameter, parameter)
            equal += change is None
            found += [change] if change else []
    else:
        equal = len(same)
    before, after = _read(left.lines - same, left), _read(right.lines - same, right)
    for one, other in _pairs(before, after, by_role=left.family != right.family):
        change = judge.change(one, other)
        equal += change is None
        found += [change] if change else []
    found.sort(key=lambda change: code_order(change.shown.code))  # lines come in any order
    if conversions:
        found = judge.settled(found)
    causes = tuple(_told(cause, left, right) for cause in collect(found, left, right, sides))
    alone = Alone(found, left, right, applies=sides is None and not judge.rescaled)
    found = [
        explained(change, left, right, sides, without=alone.without(change)) for change in found
    ]
    if not conversions or (not found and left.axis == right.axis):
        return Comparison(tuple(sorted(found, key=_order)), equal, causes)
    roles_changed = [str(c.shown.role) for c in found if c.shown.role and c.is_news]
    between = Substitution(left, right, roles_changed, two_axes=sides is not None)
    found = [in_two_lines(classed(c, between, sides)) for c in found]
    found = told_once(found, left.state, right.state, sides)
    rows = together(between) if sides is None else short_on_one(between, sides)
    return Comparison(tuple(sorted(found, key=_order)), equal, causes, rows, between.total)


def _told(cause: Cause, left: AxisView, right: AxisView) -> Cause:
    """A cause that says where what is behind it is only the file's default."""
    if cause.code not in left.defaults and cause.code not in right.defaults:
        return cause
    doubt = f"{cause.code} is the file's default on one side, and not stated of the drive."
    return replace(cause, explanation=f"{cause.explanation} {doubt}")


def compare_one(
    left: AxisView, right: AxisView, before: Parameter | None, after: Parameter | None
) -> Change | None:
    """What became of one parameter of an axis over time; None where it is equal."""
    judge = _Judge(left, right, conversions=True)
    change = judge.change(before, after)
    return None if change is None else judge.settled([change])[0]


def _read(lines: Iterable[str], view: AxisView) -> dict[str, Parameter]:
    found: dict[str, Parameter] = {}
    for line in lines:
        parameter = view.read(line)
        found[parameter.code] = parameter
    return found


def _pairs(
    before: dict[str, Parameter], after: dict[str, Parameter], *, by_role: bool
) -> Iterator[tuple[Parameter | None, Parameter | None]]:
    pairs: dict[str, str | None] = {}
    if by_role:
        by_name = {p.role: code for code, p in after.items() if p.role}
        for code, parameter in before.items():
            if parameter.role in by_name:
                pairs[code] = by_name.pop(parameter.role)
    taken = set(pairs.values())
    for code, parameter in before.items():
        if code not in after or code in pairs or code in taken:
            continue
        if not by_role or _may_be_one(parameter, after[code]):
            pairs[code] = code
    partners = set(pairs.values())
    for code, parameter in before.items():
        partner = pairs.get(code)
        yield parameter, after[partner] if partner else None
    for code, parameter in after.items():
        if code not in partners:
            yield None, parameter


def _may_be_one(one: Parameter, other: Parameter) -> bool:
    """Whether one code in two families can be one parameter: makers number as they like."""
    if one.role and other.role:
        return one.role == other.role
    in_standard = _STANDARD_OBJECT.fullmatch(one.code) is not None
    return in_standard or one.name.casefold() == other.name.casefold()


class _Judge:
    """Decides what became of one parameter, given how both sides are scaled."""

    def __init__(self, left: AxisView, right: AxisView, conversions: bool) -> None:
        self._left = left
        self._right = right
        self._conversions = conversions
        self._travel: str | None = None
        self._sizes: tuple[Sizes, Sizes] | None = None
        self.rescaled = False
        self.recounted = False
        differs = conversions and left.scaling_basis != right.scaling_basis
        if differs and not is_calibration(left.state, right.state):
            self._sizes = common_sizes(left.scaling, right.scaling)
            self._travel = travel_cause(left.scaling, right.scaling)
            one, other = self._sizes
            self.rescaled = one.units != other.units or one.scales != other.scales
            self.recounted = left.controller_sizes.units != right.controller_sizes.units

    def change(self, before: Parameter | None, after: Parameter | None) -> Change | None:
        """What became of a parameter; None where it is equal."""
        shown = after or before
        if shown is None:
            return None
        volatile, group, consequence = self._traits(before, after)
        left_size = self._left.physical_of(before)
        right_size = self._right.physical_of(after)
        if before is None or after is None:
            kind: Kind = "only_left" if after is None else "only_right"
            return Change(
                kind, consequence, before, after, left_size, right_size,
                volatile=volatile, group=group,
            )  # fmt: skip
        verdict, cause = self._verdict(before, after)
        if verdict is None or (verdict == "shifted" and volatile):
            return None
        change = Change(
            verdict, consequence, before, after, left_size, right_size,
            volatile=volatile, group=group, cause=cause,
        )  # fmt: skip
        if verdict != "shifted":
            return replace(change, difference=_difference(before, after))
        worst = min(consequence, "travel", key=rank)
        change = replace(change, consequence=worst, ratio=self._ratio(before, after))
        if _contradicts(left_size, right_size, change.ratio):  # what one side states is not so
            return replace(change, left_physical=None, right_physical=None)
        return change

    def settled(self, changes: list[Change]) -> list[Change]:
        """The same changes, with the rows that scale others judged by what they do."""
        if self._sizes is None:
            return changes
        return settle_scaling_rows(
            changes,
            self._travel,
            self._left.scaling,
            self._right.scaling,
            same_size=not self.rescaled,
        )

    def _traits(self, before: Parameter | None, after: Parameter | None) -> tuple[bool, str, str]:
        """Whether it is a live value, its group, and the usual consequence of a change.

        Only what is live for every side that knows the parameter is live.
        """
        known: list[tuple[bool, str, roles.Role | None]] = []
        for parameter, side in ((after, self._right), (before, self._left)):
            role = roles.find(parameter.role) if parameter and parameter.role else None
            if role is not None:
                known.append((role.volatile, role.group, role))
            elif parameter and (definition := side.definitions.get(parameter.code)) is not None:
                known.append((definition.volatile, definition.group, None))
        volatile = bool(known) and all(live for live, _, _ in known)
        _, group, role = known[0] if known else (False, "device", None)
        is_quiet = volatile or self._is_left_alone(before, after)
        return volatile, group, "record" if is_quiet else usual_consequence(role, group)

    def _is_left_alone(self, before: Parameter | None, after: Parameter | None) -> bool:
        """Whether only one of two families has it, and there nobody ever set it."""
        if self._left.family == self._right.family or (before and after):
            return False
        parameter, side = (before, self._left) if before else (after, self._right)
        definition = side.definitions.get(parameter.code) if parameter else None
        if parameter is None or definition is None or definition.default is None:
            return False
        return _same(parameter.value, definition.default)

    def _verdict(self, before: Parameter, after: Parameter) -> tuple[Kind | None, str | None]:
        """Kind and cause. Name, role and label alone make no difference within one code."""
        same_value = _same(before.value, after.value)
        same = same_value and before.unit == after.unit and _same(before.raw, after.raw)
        if not self._conversions:
            return (None if same else "changed"), None
        if isinstance(before.value, str) or isinstance(after.value, str):
            return (None if same else "changed"), None
        if self._left.family != self._right.family and before.label and after.label:
            if not same_label(before.label, after.label, after.role):
                return "changed", None
            return (None, None) if same else ("restated", "choice_numbers")
        if same_value and _same(before.raw, after.raw) and _no_units_apart(before, after):
            return None, None
        if same:
            return self._shifted(before, after)
        if not unlike_amperes(before.unit, after.unit) and self._equal(before, after):
            return "restated", self._cause(before, after)
        return "changed", None

    def _shifted(self, before: Parameter, after: Parameter) -> tuple[Kind | None, str | None]:
        ratio = self._ratio(before, after)
        if ratio is None or ratio == 1:
            return None, None
        return "shifted", self._cause(before, after)

    def _in_common(self, before: Parameter, after: Parameter) -> tuple[Physical, Physical] | None:
        """Both sizes on one basis, None where scaling is the same or they do not compare."""
        if self._sizes is None or not _SCALING.isdisjoint((before.role, after.role)):
            return None
        left = self._left.physical_of(before, self._sizes[0])
        right = self._right.physical_of(after, self._sizes[1])
        if left is None or right is None or (left.kind, left.unit) != (right.kind, right.unit):
            return None
        return left, right

    def _ratio(self, before: Parameter, after: Parameter) -> Fraction | None:
        """Size on the right over that on the left, where scaling differs."""
        sizes = self._in_common(before, after)
        if sizes is None or before.value == 0 or not sizes[0].ratio:
            return None
        return sizes[1] / sizes[0]

    def _cause(self, before: Parameter, after: Parameter) -> str | None:
        units = sorted({unit for unit in (before.unit, after.unit) if unit})
        if len(units) == 2 and same_kind(*units):
            return "unit"
        for unit in units:
            if self._is_resized(replace(before, unit=unit)):
                found = (
                    controller_cause(unit)
                    if _is_controllers(before)
                    else cause_of(unit, self._travel, self._left.scaling, self._right.scaling)
                )
                if found is not None:
                    return found
        return "unit" if before.unit != after.unit else "step"

    def _is_resized(self, parameter: Parameter) -> bool:
        """Whether one of a parameter's unit is more or less on the right than on the left."""
        one = replace(parameter, value=1)
        sizes = self._in_common(one, one)
        return sizes is not None and sizes[0] != sizes[1]

    def _equal(self, before: Parameter, after: Parameter) -> bool:
        """Whether the values differ by at most half the coarser raw step."""
        if isinstance(before.value, str) or isinstance(after.value, str):
            return False
        sizes = self._in_common(before, after)
        if self._sizes is None or sizes is None:
            return equal_in_unit(before, after, self._left, self._right)
        one, other = self._sizes
        steps = step_size(before, self._left, one), step_size(after, self._right, other)
        return abs((sizes[1] - sizes[0]).number()) <= max(steps) / 2


def _is_controllers(parameter: Parameter) -> bool:
    role = roles.find(parameter.role) if parameter.role else None
    return role is not None and role.group == roles.CONTROLLER


def _contradicts(left: Physical | None, right: Physical | None, ratio: Fraction | None) -> bool:
    """Whether two different sizes are not in the ratio that is known."""
    if left is None or right is None or left.unit != right.unit or left == right:
        return False
    return not left.ratio or right / left != ratio


def _same(one: Scalar, other: Scalar) -> bool:
    """Equal in number and in kind of number."""
    return one == other and isinstance(one, Decimal) == isinstance(other, Decimal)


def _no_units_apart(before: Parameter, after: Parameter) -> bool:
    """Whether only the words for the unit differ, and none of them is one: `N/A` and nothing.

    A choice has no unit, whatever the export writes beside it.
    """
    if before.unit == after.unit:
        return False
    if before.label is not None and before.label == after.label:
        return True
    units = [unit for unit in (before.unit, after.unit) if unit is not None]
    return len(units) == 1 and unit_named(units[0]).kind.startswith("text ")


def _difference(before: Parameter, after: Parameter) -> Difference | None:
    if isinstance(before.value, str) or isinstance(after.value, str):
        return None
    if before.label is not None or after.label is not None:
        return None  # choices have no size
    if unlike_amperes(before.unit, after.unit):
        return None
    unit = after.unit
    if before.unit == after.unit:
        start = Fraction(before.value)
    elif before.unit and after.unit and same_kind(before.unit, after.unit):
        start = convert(before.value, before.unit, after.unit)
    else:
        return None
    gap = Fraction(after.value) - start
    relative = rounded_decimal(gap / abs(start), 6) if start else None
    return Difference(rounded_decimal(gap), relative, unit)


def _order(change: Change) -> tuple[object, ...]:
    """Worst first, then by size of the relative difference, then by code."""
    size = Decimal(0)
    if change.difference is not None:
        relative = change.difference.relative
        size = Decimal("Infinity") if relative is None else abs(relative)
    elif change.ratio is not None:
        size = abs(rounded_decimal(change.ratio - 1, 6))
    return (
        change.volatile,
        change.kind == "restated",
        rank(change.consequence),
        -size,
        code_order(change.shown.code),
    )
