"""One state of an axis with everything that gives its numbers a meaning.

A view reads what it is asked for and no more: parameters one by one, the axis record and the
dictionary only where somebody needs them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.controller_units import (
    COUNTS,
    COUNTS_PER,
    ControllerUnits,
    controller_sizes,
    units_said,
)
from vault.behaviour.force import hanging_force, hangs, steepest_pull
from vault.behaviour.scaling import (
    SCALING_ROLES,
    Scaling,
    Sizes,
    nominal_sizes,
    own_sizes,
    scaling,
)
from vault.behaviour.state import State
from vault.meaning.reader import system, unit_for
from vault.meaning.sentences import size_text, value_text
from vault.model import roles
from vault.model.cached_property import cached_property
from vault.model.hazard_policy import HazardPolicy
from vault.model.quantities import Physical
from vault.model.unit_table import SI_UNIT, STATED_AMPERES
from vault.store.files.parameters_text import (
    lines_by_role,
    parameter_lines,
    read_kept_line,
    read_parameters,
)

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord, Mechanics
    from vault.model.normalise import Definition
    from vault.model.parameters import Parameter, ParameterSet


class AxisView:
    """A state of an axis: parameters.yaml, nameplate, axis record, dictionary, scaling.

    `look_up` gives the definitions by code, `read_axis` the axis record from `axis_text`,
    `may_lack` whether the drive may have what the set has not, `defaults` the codes whose value is
    the file's default and not stated of the drive, `read_policy` what counts as a hazard; all are
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
        may_lack: Callable[[], bool] = bool,
        defaults: Callable[[], Collection[str]] = frozenset,
        read_policy: Callable[[], HazardPolicy] = HazardPolicy,
    ) -> None:
        self.name = name
        self.text = text
        self.family = family
        self.nameplate: Mapping[str, str] = nameplate or {}
        self.axis_text = axis_text
        self._look_up = look_up
        self._read_axis = read_axis
        self._may_lack = may_lack
        self._defaults = defaults
        self._read_policy = read_policy
        self._found: dict[str, Parameter | None] = {}
        self.controller: AxisView | None = None
        """The controller's set of the axis, where rules are to hold both against each other."""

    @cached_property
    def lines(self) -> frozenset[str]:
        """The parameter lines, unread."""
        return frozenset(parameter_lines(self.text, self.name))

    @cached_property
    def definitions(self) -> Mapping[str, Definition]:
        """Definitions by code."""
        return self._look_up()

    @cached_property
    def may_lack(self) -> bool:
        """Whether what is not in the set may all the same be in the drive."""
        return self._may_lack()

    @cached_property
    def defaults(self) -> frozenset[str]:
        """Codes whose value is the file's default, and not stated of the drive."""
        return frozenset(self._defaults())

    @cached_property
    def policy(self) -> HazardPolicy:
        """What counts as a hazard on the site."""
        return self._read_policy()

    @cached_property
    def axis(self) -> AxisRecord | None:
        """The axis as built, None where nothing is recorded."""
        if self.axis_text is None or self._read_axis is None:
            return None
        return self._read_axis(self.axis_text)

    @cached_property
    def parameters(self) -> ParameterSet:
        """All parameters, read."""
        return read_parameters(self.text, self.name)

    @cached_property
    def _by_role(self) -> Mapping[str, str]:
        return lines_by_role(self.text.decode("utf-8", "replace"))

    def find(self, role: str) -> Parameter | None:
        """The parameter that has a role, None where none has."""
        if role not in self._found:
            line = self._by_role.get(role)
            self._found[role] = None if line is None else self.read(line)
        return self._found[role]

    def read(self, line: str) -> Parameter:
        """The parameter of a line, in the ampere that its dictionary says where it says none.

        Until rules of reading 3 a set has `A` whatever the dictionary says.
        """
        found = read_kept_line(line, self.name)
        if found.unit != "A" or (definition := self.definitions.get(found.code)) is None:
            return found
        is_stated = definition.unit in STATED_AMPERES
        return replace(found, unit=definition.unit) if is_stated else found

    def with_others(self, others: Mapping[str, Parameter | None]) -> AxisView:
        """The same state with other parameters for some roles; what is read by role follows."""
        copy = AxisView(
            self.name,
            self.text,
            self.family,
            lambda: self.definitions,
            nameplate=self.nameplate,
            axis_text=self.axis_text,
            read_axis=self._read_axis,
            may_lack=lambda: self.may_lack,
            defaults=lambda: self.defaults,
            read_policy=lambda: self.policy,
        )
        copy._found = {**self._found, **others}
        return copy

    def with_record(self, record: AxisRecord) -> AxisView:
        """The same set on an axis that is built as a record says."""
        return AxisView(
            self.name,
            self.text,
            self.family,
            lambda: self.definitions,
            nameplate=self.nameplate,
            axis_text=b"supposed",
            read_axis=lambda _: record,
        )

    @cached_property
    def scaling_basis(self) -> tuple[object, ...]:
        """Everything that scaling rests on: equal for two views means equally scaled."""
        found = tuple(self.find(role) for role in (*SCALING_ROLES, COUNTS, COUNTS_PER))
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
        unit = parameter.unit
        if unit is None and kind == "gain" and self.axis is not None:
            unit = self.axis.position_gain_unit
        if role is not None and role.group == roles.CONTROLLER:
            if role.name == COUNTS:
                return None  # it says what a count is: in that size it would always be the same way
            return self.controller_sizes.physical(parameter.value, unit, kind)
        return (sizes or self.sizes).physical(parameter.value, unit, kind)

    @cached_property
    def controller_units(self) -> ControllerUnits:
        """What a controller's set and the axis record say of its unit and counts."""
        return units_said(self.find, self.axis)

    @cached_property
    def controller_sizes(self) -> Sizes:
        """Sizes of the controller's own units, whatever the drive's are."""
        return controller_sizes(self.controller_units)

    def at_motor(self, size: Physical | None) -> Physical | None:
        """A size as the motor gives it: what is a torque by its unit is a linear motor's force."""
        is_direct = self.mechanics is not None and self.mechanics.kind == "linear_motor"
        if size is None or size.kind != "torque" or not is_direct:
            return size
        return Physical(size.ratio, size.pi_power, "force", SI_UNIT["force"])

    @cached_property
    def _nominal(self) -> Sizes:
        return nominal_sizes(self.scaling)

    def shown(self, parameter: Parameter | None, *, both: bool = False) -> str:
        """A parameter for people: user units as what they are said to be, or `both`."""
        text = value_text(parameter)
        if parameter is None or parameter.unit is None:
            return text
        if system() == "drive" and not parameter.unit.startswith("user_"):
            return text
        size = self.physical_of(parameter, self._nominal)
        if size is None or unit_for(size.kind) is None:
            return text
        return f"{text}, {size_text(size)}," if both else size_text(size)

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

    @cached_property
    def state(self) -> State:
        """The state as `vault.behaviour` asks it."""
        return State(self)

    @property
    def mechanics(self) -> Mechanics | None:
        """The transmission as built."""
        return self.axis.mechanics if self.axis is not None else None

    @property
    def is_vertical(self) -> bool:
        """Whether the load moves by itself when nothing holds it, as far as is recorded."""
        return bool(self.state.asked(hangs))

    @property
    def may_hang(self) -> bool:
        """Whether it hangs, or nobody recorded how it lies."""
        return self.state.asked(hangs) is not False

    @property
    def has_brake(self) -> bool | None:
        """Whether a holding brake is fitted; None where nobody said."""
        if self.axis is None or self.axis.brake is None:
            return None
        return self.axis.brake.fitted

    @property
    def pull(self) -> float:
        """How gravity speeds a free load up along the axis, m/s^2, less what is counterbalanced."""
        return self.state.asked(steepest_pull) or 0.0

    @property
    def gravity_force(self) -> float:
        """Pull of gravity along the axis in N, less what a counterbalance carries; 0 if unknown."""
        return self.state.asked(hanging_force) or 0.0
