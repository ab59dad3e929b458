"""The semantic difference between two parameter sets.

Lines of parameters.yaml that are equal are dropped unread, so the work grows with what differs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from vault.meaning.changes import Change, Comparison, Difference, Kind
from vault.meaning.consequences import rank, usual_consequence
from vault.meaning.sentences import plain_sentence
from vault.model import roles
from vault.model.parameters import Parameter, code_order
from vault.model.quantities import Physical, convert, physical, rounded_decimal, same_kind
from vault.store import yaml_text

if TYPE_CHECKING:
    from vault.model.normalise import Definition

# Resolution of a 32-bit real (IEEE 754: 23 bits of fraction).
_REAL_STEP = Fraction(1, 2**23)


@dataclass(frozen=True)
class Side:
    """One side of a comparison: parameters.yaml, and what else is known about the parameters.

    `look_up` gives the definitions by code; it is asked only where a difference needs them.
    """

    name: str
    text: bytes
    family: str | None = None
    look_up: Callable[[], Mapping[str, Definition]] = dict

    @cached_property
    def definitions(self) -> Mapping[str, Definition]:
        """Definitions by code."""
        return self.look_up()


def compare(left: Side, right: Side, *, conversions: bool = True) -> Comparison:
    """Compare two parameter sets.

    Parameters pair by code, and by role where the two sides are of different families. Without
    `conversions` every difference in value, unit or raw content counts as changed.
    """
    left_lines = set(yaml_text.parameter_lines(left.text, left.name))
    right_lines = set(yaml_text.parameter_lines(right.text, right.name))
    same = left_lines & right_lines
    before = _read(left_lines - same, left.name)
    after = _read(right_lines - same, right.name)
    equal = len(same)
    found: list[Change] = []
    for one, other in _pairs(before, after, by_role=left.family != right.family):
        change = _change(one, other, left, right, conversions)
        if change is None:
            equal += 1
        else:
            found.append(replace(change, explanation=plain_sentence(change)))
    found.sort(key=_order)
    return Comparison(tuple(found), equal)


def _read(lines: Iterable[str], name: str) -> dict[str, Parameter]:
    found: dict[str, Parameter] = {}
    for line in lines:
        parameter = yaml_text.read_kept_line(line, name)
        found[parameter.code] = parameter
    return found


def _pairs(
    before: dict[str, Parameter], after: dict[str, Parameter], *, by_role: bool
) -> Iterator[tuple[Parameter | None, Parameter | None]]:
    pairs: dict[str, str | None] = {code: code for code in before if code in after}
    if by_role:
        taken = set(pairs)
        by_name = {p.role: code for code, p in after.items() if p.role and code not in taken}
        for code, parameter in before.items():
            if code not in pairs and parameter.role in by_name:
                pairs[code] = by_name.pop(parameter.role)
    partners = set(pairs.values())
    for code, parameter in before.items():
        partner = pairs.get(code)
        yield parameter, after[partner] if partner else None
    for code, parameter in after.items():
        if code not in partners:
            yield None, parameter


def _change(
    before: Parameter | None, after: Parameter | None, left: Side, right: Side, conversions: bool
) -> Change | None:
    shown = after or before
    if shown is None:
        return None
    role = roles.find(shown.role) if shown.role else None
    volatile = bool(role and role.volatile)
    group = role.group if role else "device"
    if role is None:
        side = right if after is not None else left
        if definition := side.definitions.get(shown.code):
            volatile, group = definition.volatile, definition.group
    consequence = "record" if volatile else usual_consequence(role, group)
    if before is None or after is None:
        kind: Kind = "only_left" if after is None else "only_right"
        return Change(
            kind,
            consequence,
            before,
            after,
            _physical(before),
            _physical(after),
            volatile=volatile,
            group=group,
        )
    verdict = _verdict(before, after, left, right, conversions)
    if verdict is None:
        return None
    return Change(
        verdict,
        consequence,
        before,
        after,
        _physical(before),
        _physical(after),
        _difference(before, after),
        volatile=volatile,
        group=group,
    )


def _verdict(
    before: Parameter, after: Parameter, left: Side, right: Side, conversions: bool
) -> Kind | None:
    """None where equal. Name, role and label alone make no difference within one code."""
    same_number = before.value == after.value and type(before.value) is type(after.value)
    if same_number and before.unit == after.unit and before.raw == after.raw:
        return None
    if not conversions:
        return "changed"
    if isinstance(before.value, str) or isinstance(after.value, str):
        return None if before.value == after.value else "changed"
    if before.code != after.code and before.label and after.label:
        same_meaning = before.label.casefold() == after.label.casefold()
        return "restated" if same_meaning else "changed"
    return "restated" if _equal(before, after, left, right) else "changed"


def _equal(before: Parameter, after: Parameter, left: Side, right: Side) -> bool:
    """Whether the values differ by at most half the coarser raw step."""
    if isinstance(before.value, str) or isinstance(after.value, str):
        return False
    if before.unit == after.unit:
        gap = abs(Fraction(after.value) - Fraction(before.value))
        factor = Fraction(1)
    elif before.unit and after.unit and same_kind(before.unit, after.unit):
        gap = abs(convert(before.value, before.unit, after.unit) - Fraction(after.value))
        zero = convert(0, before.unit, after.unit)
        factor = convert(1, before.unit, after.unit) - zero
    else:
        return False
    coarser = max(_step(before, left) * factor, _step(after, right))
    return gap == 0 or gap <= coarser / 2


def _step(parameter: Parameter, side: Side) -> Fraction:
    """Size of one raw step in the parameter's unit."""
    if isinstance(parameter.value, str) or isinstance(parameter.raw, str):
        return Fraction(0)
    if isinstance(parameter.raw, Decimal):
        return abs(Fraction(parameter.value)) * _REAL_STEP
    if parameter.raw and parameter.value:
        return abs(Fraction(parameter.value) / parameter.raw)
    definition = side.definitions.get(parameter.code)
    if definition is None:
        return Fraction(0)
    scale = Fraction(definition.scale)
    if definition.unit and parameter.unit and definition.unit != parameter.unit:
        if not same_kind(definition.unit, parameter.unit):
            return scale
        zero = convert(0, definition.unit, parameter.unit)
        return abs(convert(definition.scale, definition.unit, parameter.unit) - zero)
    return scale


def _physical(parameter: Parameter | None) -> Physical | None:
    if parameter is None or isinstance(parameter.value, str):
        return None
    return physical(parameter.value, parameter.unit)


def _difference(before: Parameter, after: Parameter) -> Difference | None:
    if isinstance(before.value, str) or isinstance(after.value, str):
        return None
    if before.label is not None or after.label is not None:
        return None  # choices have no size
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
    return (
        change.volatile,
        change.kind == "restated",
        rank(change.consequence),
        -size,
        code_order(change.shown.code),
    )
