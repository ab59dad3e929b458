"""A parameter as a person reads it: what the drive holds, and what that is on the machine."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.scaling import SCALING_ROLES, nominal_sizes
from vault.meaning.reader import system, unit_for
from vault.meaning.sentences import size_text, value_text
from vault.model.quantities import physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

DEFAULT = "the file's default"
"""Told beside a value that nothing states of the drive."""

_ROUNDING = Fraction(1, 10**6)
_OF_RATING = ("_rated_torque", "_rated_current")


@dataclass(frozen=True, slots=True)
class Reading:
    """One parameter of one state.

    `own` is the value as the drive holds it, `text` what that means in the reader's units.
    `physical` is its size on the machine as built, `stated` the size that the set believes in; both
    None where there is none, or it is not known. `really` is the size on the machine for the
    reader, where that is not what the set believes. `is_default`: it is the file's default.
    """

    parameter: Parameter
    own: str
    text: str
    physical: Physical | None = None
    stated: Physical | None = None
    really: str | None = None
    is_default: bool = False

    @property
    def told(self) -> str:
        """What it means, what it is really where the set is wrong about that, and whether it is
        the file's default."""
        said = self.text if self.really is None else f"{self.text}, really {self.really}"
        return f"{said}, {DEFAULT}" if self.is_default else said

    @property
    def meaning(self) -> str:
        """What the drive's own number is on the machine; empty where it speaks for itself."""
        if self.text != self.own:
            return self.told
        said = [] if self.really is None else [f"really {self.really}"]
        return ", ".join([*said, DEFAULT] if self.is_default else said)


class Readings:
    """Reads the parameters of one state in the units that the reader chose."""

    def __init__(self, view: AxisView) -> None:
        self._view = view
        self._nominal = nominal_sizes(view.scaling)

    def of(self, parameter: Parameter) -> Reading:
        """The parameter with its sizes and texts."""
        stated, real = self.sizes(parameter)
        own, size = value_text(parameter), stated or real
        text = own if size is None or speaks_for_itself(parameter, size) else size_text(size)
        really = size_text(real) if real is not None and _is_wrong(stated, real) else None
        is_default = parameter.code in self._view.defaults
        return Reading(parameter, own, text, real, stated, really, is_default)

    def is_of_axis(self, unit: str | None) -> bool:
        """Whether the axis says how large a unit is."""
        return unit in self._nominal.units or unit in self._view.sizes.units

    def sizes(self, parameter: Parameter) -> tuple[Physical | None, Physical | None]:
        """The size that the set states, and the one on the machine as built."""
        if parameter.role not in SCALING_ROLES:
            stated = self._view.physical_of(parameter, self._nominal)
            return stated, self._view.physical_of(parameter)
        # What scales the others is not scaled itself; a feed in user units is what it is said to
        # be, and turns or increments are numbers, no angles.
        size = None
        if parameter.unit == "user_position":
            size = self._view.physical_of(parameter, self._nominal)
        elif not isinstance(parameter.value, str):
            size = physical(parameter.value, parameter.unit)
        size = None if size is not None and size.kind == "angle" else size
        return size, size


def _is_wrong(stated: Physical | None, real: Physical) -> bool:
    """Whether a set believes in another size than there is."""
    if stated is None or not stated.ratio or stated.kind != real.kind:
        return False
    return abs(real.number() / stated.number() - 1) > _ROUNDING


def speaks_for_itself(parameter: Parameter, size: Physical) -> bool:
    """Whether the reader wants the unit that the drive has it in."""
    unit = parameter.unit or ""
    if unit.startswith("user_") or unit.endswith(_OF_RATING):
        return False
    return system() == "drive" or unit_for(size.kind) is None
