"""What a controller's set says of its axis, in SI: its scale, ways, speeds and ramps.

A controller reckons in a user unit of its own (`controller_units`) and sends counts. A count is one
user unit of the drive (607Ah, CiA 402-2). Of a drive whose scale is not in objects of that standard
it may be an increment of the encoder, and is where that fits to the count; so it is where the drive
states no scale. Speeds and ramps are user units per s and s^2 (PLCopen motion control, from
memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from vault.behaviour.controller_units import (
    COUNTS,
    USER_UNITS,
    ControllerUnits,
    StatedScale,
    controller_units,
)
from vault.behaviour.scale import is_linear
from vault.behaviour.scaling import TURN
from vault.behaviour.si_units import MOTION
from vault.model.cached_property import cached_property
from vault.model.choices import chosen
from vault.model.quantities import Physical, physical
from vault.model.unit_table import SI_UNIT

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.model.parameters import Parameter

SCALE_RECORD = "controller.scale"
DIRECTION = "controller_direction"
_ORDERS = {kind: order for kinds in MOTION.values() for order, kind in enumerate(kinds)}
MOST_OFF = 0.01
"""A travel error above it makes every other figure of the controller's another one; our choice."""

ROUNDING = Fraction(1, 10**6)
"""A length is written in axis.yaml rounded (1 um in a metre)."""

CountKind = Literal["unit as built", "unit as stated", "increment"]


@dataclass(frozen=True, slots=True)
class Told:
    """A constant of the controller's set, and its size on the axis in SI (m or rad, per s, …)."""

    parameter: Parameter
    size: float


@dataclass(frozen=True, slots=True)
class Count:
    """The way that the axis makes for one count it is sent, and what a count is taken for."""

    way: Physical
    kind: CountKind


@dataclass(frozen=True, slots=True)
class CountScale:
    """So many counts for a way of the axis, as the controller believes."""

    counts: Fraction
    per: Physical


class Controller:
    """The controller's set of an axis beside the drive's state.

    `constants` are the parameters that may be judged: not what is written elsewhere, or known only
    at run time. `in_units`: the drive's positions are in its user units, by the standard.
    """

    def __init__(
        self, drive: State, constants: Iterable[Parameter], *, in_units: bool = False
    ) -> None:
        self.drive = drive
        self._in_units = in_units
        self._by_role: dict[str, list[Parameter]] = {}
        for one in constants:
            if one.role is not None:
                self._by_role.setdefault(base_role(one.role), []).append(one)

    def all_of(self, role: str) -> list[Parameter]:
        """The constants of a role, in their order."""
        return self._by_role.get(role, [])

    def find(self, role: str) -> Parameter | None:
        """The constant of a role; of several the first."""
        return next(iter(self.all_of(role)), None)

    @property
    def roles(self) -> Mapping[str, list[Parameter]]:
        """Constants by role, without the numbers that make a role unique."""
        return self._by_role

    @cached_property
    def user_unit(self) -> Physical | None:
        """The way that a user unit is said to be; None where nobody says it."""
        symbol = self.unit_symbol
        return None if symbol is None else self._of_axis(physical(1, symbol))

    @cached_property
    def units(self) -> ControllerUnits:
        """What the set and axis.yaml say of unit and scale, as they write it."""
        counts, per = (self.drive.record(f"{SCALE_RECORD}.{key}") for key in ("counts", "per"))
        return controller_units(self.find, counts, per)

    @property
    def unit_symbol(self) -> str | None:
        """Symbol of the user unit: `mm`, `deg`, `rev`."""
        return self.units.symbol

    @cached_property
    def scale(self) -> CountScale | None:
        """Counts and their way, of the set, else of axis.yaml."""
        return self.own_scale or self.recorded_scale

    @cached_property
    def own_scale(self) -> CountScale | None:
        """Counts and their way by the set itself."""
        return self._on_axis(self.units.own)

    @cached_property
    def recorded_scale(self) -> CountScale | None:
        """Counts and their way by axis.yaml."""
        return self._on_axis(self.units.recorded)

    def _on_axis(self, stated: StatedScale | None) -> CountScale | None:
        way = None if stated is None else self._of_axis(stated.per.physical())
        return None if stated is None or way is None else CountScale(stated.counts, way)

    @cached_property
    def way_round(self) -> int:
        """-1 where the controller counts against the drive: its counts are negative, or it says so.

        A place of the drive is that of the controller times this.
        """
        return (-1 if chosen(self.find(DIRECTION)) == 1 else 1) * (-1 if self.counts_back else 1)

    @cached_property
    def counts_back(self) -> bool:
        """Whether the set has negative counts, wherever the way stands that they are for."""
        counts = self.find(COUNTS)
        return counts is not None and not isinstance(counts.value, str) and counts.value < 0

    def ratio_by(self, count: Count | None) -> Fraction | None:
        """Way really made over way the controller wants, for a count of that size; no sign."""
        scale = self.scale
        if scale is None or count is None or count.way.kind != scale.per.kind:
            return None
        return abs(count.way * scale.counts / scale.per)

    @cached_property
    def travel_error(self) -> Fraction | None:
        """k of the controller and the drive together: 1 where a commanded way is the way made."""
        return self.ratio_by(self.count)

    @cached_property
    def count(self) -> Count | None:
        """What a count is taken for."""
        increment = increment_of(self.drive)
        by_increments = None if self._in_units else self.ratio_by(increment)
        if by_increments is not None and abs(by_increments - 1) <= ROUNDING:
            return increment
        return count_of(self.drive)

    @property
    def is_off(self) -> bool:
        """Whether ways are not what the controller says: that is told, and comes first."""
        error = self.travel_error
        return error is not None and abs(error - 1) > MOST_OFF

    def ways(self, *roles: str) -> list[Told]:
        """Constants of roles as ways of the axis, m or rad."""
        return self._told(roles, 0)

    def speeds(self, *roles: str) -> list[Told]:
        """Constants of roles as speeds of the axis."""
        return self._told(roles, 1)

    def ramps(self, *roles: str) -> list[Told]:
        """Constants of roles as accelerations of the axis."""
        return self._told(roles, 2)

    def way(self, role: str) -> Told | None:
        """The constant of a role as a way of the axis."""
        return next(iter(self.ways(role)), None)

    def _told(self, roles: Iterable[str], order: int) -> list[Told]:
        if self.is_off:
            return []
        factor = float(self.travel_error or 1)
        found = []
        for parameter in (one for role in roles for one in self.all_of(role)):
            size = self._physical(parameter, order)
            if size is not None:
                found.append(Told(parameter, float(size.number()) * factor))
        return found

    def _physical(self, parameter: Parameter, order: int) -> Physical | None:
        """A constant as the controller believes it; `order` 1 for speeds, 2 for ramps."""
        if isinstance(parameter.value, str):
            return None
        if parameter.unit is None or parameter.unit in USER_UNITS:
            unit = self.user_unit
            if unit is None:
                return None
            kind = MOTION[unit.kind][order]
            size = Physical(unit.ratio, unit.pi_power, kind, SI_UNIT[kind])
            return size * Fraction(parameter.value)
        found = physical(parameter.value, parameter.unit)
        return self._of_axis(found) if found and _ORDERS.get(found.kind) == order else None

    def _of_axis(self, size: Physical | None) -> Physical | None:
        """A motion in the kind that the axis moves in: turns of a shaft count as what they move."""
        linear = self.drive.asked(is_linear)
        if size is None or linear is None or size.kind not in _ORDERS:
            return None
        is_length = size.kind in MOTION["length"]
        if is_length == linear:
            return size
        travel = self.drive.scaling.travel
        if is_length or travel is None or travel.per_turn.kind != "length":
            return None
        kind = MOTION["length"][_ORDERS[size.kind]]
        ratio = size.ratio * travel.per_turn.ratio / TURN.ratio
        power = size.pi_power + travel.per_turn.pi_power - TURN.pi_power
        return Physical(ratio, power, kind, SI_UNIT[kind])


def base_role(role: str) -> str:
    """A role without the number that makes it unique."""
    return role.partition(".")[0]


def count_of(drive: State) -> Count | None:
    """What a count is: the drive's user unit as built, as stated, else an increment."""
    own = drive.scaling
    if own.actual_unit is not None:
        return Count(own.actual_unit, "unit as built")
    if own.nominal_unit is not None and own.feed is not None:
        return Count(own.nominal_unit, "unit as stated")
    return increment_of(drive)


def stated_count_of(drive: State) -> Count | None:
    """A count as the drive states its unit, whatever the machine makes of it."""
    nominal = drive.scaling.nominal_unit
    return None if nominal is None else Count(nominal, "unit as stated")


def increment_of(drive: State) -> Count | None:
    """The way of one increment of the motor's encoder as built: L / (R G)."""
    own = drive.scaling
    counted = own.encoder_fitted or own.encoder
    if counted is None or own.travel is None:
        return None
    return Count(own.travel.per_turn * (1 / (counted * own.travel.gear)), "increment")
