"""One state of an axis with everything that gives its numbers a meaning.

A view reads what it is asked for and no more: parameters one by one, the axis record and the
dictionary only where somebody needs them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from vault.meaning.scaling import SCALING_ROLES, Scaling, Sizes, own_sizes, scaling
from vault.model import roles
from vault.model.quantities import Physical
from vault.store import yaml_text

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.normalise import Definition
    from vault.model.parameters import Parameter


class AxisView:
    """A state of an axis: parameters.yaml, nameplate, axis record, dictionary, scaling.

    `look_up` gives the definitions by code, `read_axis` the axis record from `axis_text`; both are
    called only where needed.
    """

    def __init__(
        self,
        name: str,
        text: bytes,
        family: str | None = None,
        look_up: Callable[[], Mapping[str, Definition]] = dict,
        *,
        nameplate: Mapping[str, str] | None = None,
        axis_text: bytes | None = None,
        read_axis: Callable[[bytes], AxisRecord] | None = None,
    ) -> None:
        self.name = name
        self.text = text
        self.family = family
        self.nameplate: Mapping[str, str] = nameplate or {}
        self.axis_text = axis_text
        self._look_up = look_up
        self._read_axis = read_axis
        self._found: dict[str, Parameter | None] = {}

    @cached_property
    def lines(self) -> frozenset[str]:
        """The parameter lines, unread."""
        return frozenset(yaml_text.parameter_lines(self.text, self.name))

    @cached_property
    def definitions(self) -> Mapping[str, Definition]:
        """Definitions by code."""
        return self._look_up()

    @cached_property
    def axis(self) -> AxisRecord | None:
        """The axis as built, None where nothing is recorded."""
        if self.axis_text is None or self._read_axis is None:
            return None
        return self._read_axis(self.axis_text)

    @cached_property
    def _decoded(self) -> str:
        return self.text.decode("utf-8", "replace")

    def find(self, role: str) -> Parameter | None:
        """The parameter that has a role, None where none has."""
        if role not in self._found:
            line = yaml_text.line_with_role(self._decoded, role)
            self._found[role] = None if line is None else yaml_text.read_kept_line(line, self.name)
        return self._found[role]

    @cached_property
    def scaling_basis(self) -> tuple[object, ...]:
        """Everything that scaling rests on: equal for two views means equally scaled."""
        found = tuple(self.find(role) for role in SCALING_ROLES)
        return (found, self.nameplate.get("encoder_single_turn_bits"), self.axis_text)

    @cached_property
    def scaling(self) -> Scaling:
        """How numbers become motion in this state."""
        return scaling(self.find, self.nameplate, self.axis)

    @cached_property
    def sizes(self) -> Sizes:
        """Sizes of the units that depend on the axis, as far as this state alone tells."""
        return own_sizes(self.scaling)

    def physical_of(
        self, parameter: Parameter | None, sizes: Sizes | None = None
    ) -> Physical | None:
        """A parameter in SI, None where it has no size or its unit tells too little."""
        if parameter is None or isinstance(parameter.value, str) or parameter.label is not None:
            return None
        role = roles.find(parameter.role) if parameter.role else None
        kind = role.kind if role else None
        return (sizes or self.sizes).physical(parameter.value, parameter.unit, kind)

    def physical(self, role: str) -> Physical | None:
        """The value of a role in SI."""
        return self.physical_of(self.find(role))

    def si(self, role: str) -> float | None:
        """The value of a role in SI as a number to compute consequences with."""
        found = self.physical(role)
        return None if found is None else float(found.number())

    def number(self, role: str) -> Fraction | None:
        """The bare value of a role, in whatever unit it is written."""
        parameter = self.find(role)
        if parameter is None or isinstance(parameter.value, str):
            return None
        return Fraction(parameter.value)

    def choice(self, role: str) -> int | None:
        """The number of a choice."""
        parameter = self.find(role)
        return parameter.raw if parameter is not None and isinstance(parameter.raw, int) else None

    @property
    def is_vertical(self) -> bool:
        """Whether gravity pulls along the axis, as far as the axis record says."""
        mechanics = self.axis.mechanics if self.axis is not None else None
        return mechanics is not None and mechanics.orientation in ("vertical", "inclined")

    @property
    def has_brake(self) -> bool | None:
        """Whether a holding brake is fitted; None where nobody said."""
        if self.axis is None or self.axis.brake is None:
            return None
        return self.axis.brake.fitted
