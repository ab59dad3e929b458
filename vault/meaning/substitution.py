"""What one change does alone: put into the left state, and taken out of the right one.

Changes that are one thing (an atom: numerator and divisor, both limits, a value and its switch, the
scaling with the transmission that is fitted) go together. Values go over by their size and not by
their number.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_apart, margins_of
from vault.behaviour.facts import FACTS
from vault.behaviour.homing import absolute_shift, home_shift
from vault.behaviour.load_encoder import INCREMENTS, REVOLUTIONS
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scaling import RATING_ROLES, TRAVEL_ROLES, UNIT_ROLES, Scaling, scaling
from vault.meaning.margin_moves import MarginMove, moves
from vault.meaning.record_entries import with_entries
from vault.model.cached_property import cached_property

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from vault.behaviour.facts import FactFunction
    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change
    from vault.model.axis import AxisRecord

_SCALE, _RATINGS = "scale", "ratings"
LOAD_SCALE = "load encoder"
HOME, ABSOLUTE = "home_offset", "encoder_absolute_offset"
ZERO = (HOME, ABSOLUTE)
"""Roles that say where zero is: a change shifts every position."""
TRANSMISSION = (
    "mechanics.kind", "mechanics.gearbox", "mechanics.lead", "mechanics.pulley_circumference",
    "mechanics.pinion_circumference", "mechanics.pole_pitch", "encoder.single_turn_bits",
)  # fmt: skip
"""Entries of the axis record that decide how far a turn of the motor goes, as the drive counts."""
_ATOMS: dict[str, tuple[str, ...]] = {
    _SCALE: (*TRAVEL_ROLES, *UNIT_ROLES, *TRANSMISSION),
    _RATINGS: (*RATING_ROLES, "motor.rated_torque", "motor.rated_current"),
    "mounting": ("mechanics.orientation", "mechanics.inclination", "mechanics.counterbalance"),
    "room": ("mechanics.stroke", "mechanics.hard_stop_low", "mechanics.hard_stop_high"),
    "software limits": (
        "min_software_position_limit", "max_software_position_limit",
        "software_position_limits_used",
    ),
    "torque limits": (
        "max_torque", "positive_torque_limit", "negative_torque_limit", "max_current",
    ),
    "ramp shape": ("motion_profile_type", "profile_jerk", "profile_jerk_use"),
    "chopper and trip": (
        "braking_resistor_used", "braking_resistor_threshold", "dc_link_overvoltage_threshold",
    ),
    "set point interval": ("interpolation_time_period", "interpolation_time_index"),
    "guarding": ("guard_time", "life_time_factor"),
    "velocity factor": ("velocity_factor_numerator", "velocity_factor_divisor"),
    "acceleration factor": ("acceleration_factor_numerator", "acceleration_factor_divisor"),
    "jerk factor": ("jerk_factor_numerator", "jerk_factor_divisor"),
    LOAD_SCALE: (INCREMENTS, REVOLUTIONS),
    "direction": ("polarity", "encoder_direction"),
}  # fmt: skip
DIVISIBLE = frozenset({"software limits", "chopper and trip", "room", "mounting"})
"""Atoms of which one part may decide, and the others are only changed beside it."""
_ATOM_OF = {role: name for name, roles in _ATOMS.items() for role in roles}


def atom_of(role: str) -> str:
    """The atom of a role, or of an entry of the axis record: its own name, if it stands alone."""
    base = role.partition(".")[0]
    if base.startswith("digital_input_"):
        return "inputs"
    return _ATOM_OF.get(role, role)


def roles_apart(changes: Iterable[Change]) -> list[str]:
    """Roles that lie between two states: what is news, and all that scales."""
    known = (change for change in changes if change.shown.role and not change.volatile)
    return [
        str(change.shown.role)
        for change in known
        if change.is_news or change.shown.role in TRAVEL_ROLES
    ]


@dataclass(frozen=True, slots=True)
class Effect:
    """What an atom does alone: put in on the left, and left to the last on the right.

    `states` are those that the two are measured between.
    """

    put_in: tuple[MarginMove, ...]
    taken_out: tuple[MarginMove, ...]
    states: tuple[tuple[State, State], tuple[State, State]]


class Substitution:
    """Two states, and what lies between them atom by atom."""

    def __init__(
        self,
        left: AxisView,
        right: AxisView,
        changed: Iterable[str],
        *,
        entries: Iterable[str] = (),
        two_axes: bool = False,
    ) -> None:
        """`changed` are the roles that differ, `entries` keys of the axis record that do.

        Each of two axes has a zero of its own.
        """
        self.left = left.state
        self.policy = left.policy
        margins_of(self.left)  # what both states answer is shared by all substitutions of them
        margins_of(right.state)
        self._atoms: dict[str, list[str]] = {}
        for role in changed:
            self._atoms.setdefault(atom_of(role), []).append(role)
        self._entries: dict[str, list[str]] = {}
        for key in entries:
            self._entries.setdefault(atom_of(key), []).append(key)
        self.right = right.state
        self._shifts = {} if two_axes else self._shifted(left.state, right.state)
        self._effects: dict[str, Effect] = {}
        self._parts: dict[str, Effect] = {}
        self._views = left, right

    def _shifted(self, left: State, right: State) -> dict[str, float]:
        """How far positions lie elsewhere by each offset that differs, either way, in m or rad.

        Zero lies at the home mark plus the home offset (607Ch, from memory), but many drives preset
        the position with it, so that it lies the other way (common practice, no source). Of an
        absolute offset the sign is the maker's own.
        """
        found: dict[str, float] = {}
        if HOME in self._atoms and (gap := home_shift(left, right)) is not None:
            found[HOME] = abs(gap)
        if ABSOLUTE in self._atoms:
            with suppress(Missing, DoesNotApply):
                found[ABSOLUTE] = abs(absolute_shift(left, right, ABSOLUTE).value)
        return found

    @property
    def roles(self) -> tuple[str, ...]:
        """One role of every atom that differs."""
        return tuple(members[0] for members in self._atoms.values())

    @cached_property
    def total(self) -> tuple[MarginMove, ...]:
        """Margins that all changes together move."""
        return moves(margins_of(self.left), margins_of(self.right))

    @cached_property
    def record(self) -> tuple[MarginMove, ...]:
        """Margins that another axis record alone moves."""
        own, other = self._views
        if own.axis == other.axis or other.axis is None:
            return ()
        scaled = scaling(own.find, own.nameplate, other.axis)
        with_it = self.left.substituted({}, scaling=scaled, record=other.axis)
        return moves(margins_of(self.left), margins_of(with_it))

    def of(self, role: str) -> Effect:
        """What the atom of a role does."""
        name = atom_of(role)
        if name not in self._effects:
            self._effects[name] = self._effect(name)
        return self._effects[name]

    def members(self, role: str) -> tuple[str, ...]:
        """The roles and entries that differ of the atom of one of them."""
        name = atom_of(role)
        return (*self._atoms.get(name, ()), *self._entries.get(name, ()))

    def within(self, role: str) -> Effect:
        """What one role or entry of an atom does, without what else differs of the atom."""
        if role not in self._parts:
            self._parts[role] = self._swapped(atom_of(role), role)
        return self._parts[role]

    def _effect(self, name: str) -> Effect:
        if name in self._shifts:  # it moves nothing but zero: on either side the same
            pairs = tuple(
                (state, state.substituted({}, shift=self._shifts[name]))
                for state in (self.left, self.right)
            )
            moved = [moves(*margins_apart(one, other)) for one, other in pairs]
            return Effect(moved[0], moved[1], (pairs[0], pairs[1]))
        return self._swapped(name)

    def _swapped(self, name: str, part: str | None = None) -> Effect:
        """What an atom does, or one part of it."""
        pairs = (
            (self.left, self._exchanged(name, part, self.left, self.right)),
            (self._exchanged(name, part, self.right, self.left), self.right),
        )
        put_in, taken_out = (moves(*margins_apart(one, other)) for one, other in pairs)
        return Effect(put_in, taken_out, pairs)

    def _exchanged(self, name: str, part: str | None, state: State, other: State) -> State:
        """A state that has an atom as another one has it, or one part of it."""
        roles = [role for role in self._atoms.get(name, ()) if part in (None, role)]
        keys = [key for key in self._entries.get(name, ()) if part in (None, key)]
        values = {role: other.value(role) for role in roles}
        record, scaled = self._built(keys, state)
        if roles and name in (_SCALE, _RATINGS):
            scaled = _mixed(name, scaled or state.scaling, other.scaling)
        return state.substituted(values, scaling=scaled, record=record)

    def _built(
        self, keys: Collection[str], state: State
    ) -> tuple[AxisRecord | None, Scaling | None]:
        """A state's record that has entries as the other side has them, and how the axis moves.

        None without entries.
        """
        own, other = self._views if state is self.left else self._views[::-1]
        if not keys or own.axis is None or other.axis is None:
            return None, None
        record = with_entries(own.axis, other.axis, keys)
        return record, scaling(own.find, own.nameplate, record)


def _mixed(name: str, own: Scaling, other: Scaling) -> Scaling:
    """The scaling of a state with one part of another's; the machine stays as it is."""
    if name == _RATINGS:
        return replace(own, rated_torque=other.rated_torque, rated_current=other.rated_current)
    return replace(
        other, travel=own.travel, rated_torque=own.rated_torque, rated_current=own.rated_current
    )


def figure_between(states: tuple[State, State], quantity: str) -> tuple[float | None, float | None]:
    """A fact of both states in SI; None where it cannot be told or has no sense."""
    compute: FactFunction = FACTS[quantity].compute
    one, other = (state.asked(compute) for state in states)
    return (
        None if one is None else one.value,
        None if other is None else other.value,
    )
