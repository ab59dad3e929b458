"""How the values of one parameter become sizes and texts, on axes that are scaled alike.

Of a value it is known at once about how large it is, and how far off another may be that is the
same. Those are floats, and they preselect only: what is the same is told by exact sizes, which are
worked out for the few values that come so near.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from vault.meaning.readings import Readings, speaks_for_itself
from vault.meaning.steps import defined_step, near_step
from vault.model import roles

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

# By far more than a few operations with doubles are off (IEEE 754: a share of 2**-53 each).
_ROUNDING = 1e-12
_UNDERFLOW = 1e-200
_LARGEST = 1e100


class Whereabouts(NamedTuple):
    """About how large a value is in SI, half a raw step of it, and what both may be off."""

    near: float
    half_step: float
    slack: float


ANYWHERE = Whereabouts(0.0, 0.0, inf)


@dataclass(frozen=True, slots=True)
class Sizing:
    """What the values of a parameter have alike on axes that are scaled alike.

    `key` is that of their row. `kind` is unit and kind of their sizes on the machine as built, None
    where they have none. `says_its_value`: the text of a value is the value as the drive holds it.
    `written_unit` is the unit that numbers without a size are in. `has_label`: they are choices.
    Sizes grow with the number, by `per_one` each, from `origin`; `step_per_one` is in SI a step of
    one in the unit, `defined_step` a raw step in the unit by the definition.
    """

    view: AxisView
    readings: Readings = field(compare=False, repr=False)
    key: str
    kind: tuple[str, str] | None
    says_its_value: bool
    written_unit: str | None
    has_label: bool
    origin: float = 0.0
    per_one: float = 0.0
    step_per_one: float = 0.0
    defined_step: float = 0.0

    @classmethod
    def of(cls, view: AxisView, readings: Readings, like: Parameter) -> Sizing:
        """That of all values of the parameter that are numbers if this one is, and so on."""
        role = roles.find(like.role) if like.unit is None and like.role else None
        # A count that states no unit is in that of its role, as 1 is 1 rev.
        unit = role.unit if role is not None and role.kind == "count" else like.unit
        key, is_default = like.role or like.code, like.code in view.defaults
        has_label = like.label is not None
        if isinstance(like.value, str):
            return cls(view, readings, key, None, not is_default, unit, has_label)
        zero, one = (replace(like, value=value, raw=0) for value in (0, 1))
        (stated, size), (stated_one, size_one) = readings.sizes(zero), readings.sizes(one)
        told = stated or size
        says_its_value = not is_default and (
            told is None
            or (
                speaks_for_itself(like, told)
                and (size is None or stated is None or (stated, stated_one) == (size, size_one))
            )
        )
        if size is None or size_one is None:
            return cls(view, readings, key, None, says_its_value, unit, has_label)
        step = view.physical_of(zero), view.physical_of(one)
        return cls(
            view,
            readings,
            key,
            (size.unit, size.kind),
            says_its_value,
            unit,
            has_label,
            _float(size.number()),
            _float((size_one - size).number()),
            0.0
            if step[0] is None or step[1] is None
            else abs(_float((step[1] - step[0]).number())),
            _float(defined_step(zero, view)),
        )

    def whereabouts(self, value: str, raw: str) -> Whereabouts:
        """Where the size of a number is to be looked for, as it is written; only of what has one.

        A number beyond a float may be anywhere.
        """
        near = self.origin + self.per_one * float(value)
        half_step = self.step_per_one * near_step(value, raw, self.defined_step) / 2
        if not (abs(near) < _LARGEST and half_step < _LARGEST and abs(self.per_one) < _LARGEST):
            return ANYWHERE
        slack = _ROUNDING * (abs(self.origin) + abs(near) + half_step) + _UNDERFLOW
        return Whereabouts(near, half_step, slack)


def _float(number: Fraction) -> float:
    try:
        return float(number)
    except OverflowError:
        return inf
