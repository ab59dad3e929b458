"""What a difference beside the parameters does, computed from the machine on both sides.

Formulas: way per motor turn L / G; drop of a free load a t^2 / 2; torque of the load at rest
F L / (2 pi G); braking power of a resistor U^2 / R; DC link of a rectifier sqrt(2) U, without load.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.energy import power_in, rest_voltage
from vault.behaviour.force import hold_torque, moved
from vault.behaviour.hold import drop_within
from vault.behaviour.scaling import travel_of
from vault.behaviour.travel import speed_ratio
from vault.meaning.amperes import which_ampere
from vault.meaning.axis_view import AxisView
from vault.meaning.findings import digits, seconds
from vault.meaning.sentences import size_text
from vault.model.quantities import Measure, Physical, UnknownUnit, canonical_unit, si_number

if TYPE_CHECKING:
    from vault.behaviour.scaling import Travel
    from vault.meaning.changes import Surrounding
    from vault.model.axis import AxisRecord

AS_BUILT = "as built"
"""What a machine without parameters is called."""
TIMES = "That is {ratio} times as much{what}."
HOLDS_WITH = " to hold the load with"
WAY = {
    "unknown": "The same set moves the axis otherwise: axisvault check tells whether it still "
    "fits.",
    "same": "One turn of the motor moves the axis just as far.",
    "cause beside": "A turn of the motor makes {longer} times the way, and the same torque pushes "
    "{harder} times as hard.",
    "alone": "A turn of the motor makes {longer} times the way, and the same torque pushes "
    "{harder} times as hard: every length and speed of the set is off by that until its scaling "
    "follows.",
}
STOPS = "Software limits must stop the axis before it: axisvault check tells whether they do."
STOP_MOVED = {
    "in": "The stop stands {size} further in.",
    "out": "The stop stands {size} further out.",
}
WEIGHT = {
    "unknown": "It takes {ratio} times the force to speed up{pull}.",
    "known": "The same torque accelerates {ratio} times as hard{pull}.",
}
PULL = "{after} N hang on motor and brake instead of {before} N"
PULL_BESIDE = ", and {pull}"
PULL_ALONE = "{pull}."
PULL_FOLLOWS = "What motor and brake have to hold follows from it."
BRAKE = {
    "fitted": "The drive must work it, or the motor drives against a closed brake.",
    "gone": "With the drive disabled nothing holds the axis.",
    "gone, may hang": "With the drive disabled nothing holds the axis: a load that hangs falls.",
}
HOLDS = {
    "holds": "That is {after} times the load at rest instead of {before} times.",
    "sinks": "That is {after} times the load at rest instead of {before} times: the load sinks.",
}
DROP = "A load that nothing holds meanwhile falls up to {after} instead of {before}."
RESISTOR = "It takes up to {after} kW of braking instead of {before} kW."
CHOPPER = "See that the drive's chopper may carry the higher current."
MAINS = (
    "It charges the DC link to some {after} V instead of {before} V: reachable speed and room for "
    "braking energy follow."
)
MULTI_TURN = "Absolute positions wrap elsewhere: reference the axis before it moves on its own."
INCREMENTS = (
    "A turn counts {ratio} times as many increments: until the drive counts so too, every way is "
    "{back} times what it should be."
)
INTERVAL = (
    "The controller sends every {after} instead of every {before}: the drive's own interval and "
    "the watchdog must agree with that."
)
PATIENCE = {
    "longer": "A lost link is noticed after {after} instead of {before}: for so long the axis goes "
    "on by itself.",
    "shorter": "A lost link is noticed after {after} instead of {before}: more often than messages "
    "come it trips without a fault.",
}
LINK = "Controller and drive must have the same, or the link does not start."
"""What is said of a setting of the link of which no more is known."""

_UNIT_IN_NAME = re.compile(r"_(us|ms|s|ohm)$")


@dataclass(frozen=True, slots=True)
class Case:
    """A difference with the machine on both sides; `alone` where no cause tells of it too."""

    around: Surrounding
    left: AxisRecord | None
    right: AxisRecord | None
    alone: bool = False

    @property
    def hangs(self) -> bool:
        """Whether gravity pulls along the axis, on either side."""
        return any(machine.is_vertical for machine in self._machines())

    @property
    def may_hang(self) -> bool:
        """Whether gravity may pull along the axis: also where nobody recorded how it lies."""
        return self.hangs or all(machine.may_hang for machine in self._machines())

    @property
    def says_what_was_taken(self) -> bool:
        """Whether an entry is new that says no more than was taken without: a gearbox of 1:1."""
        mechanics = self.right.mechanics if self.right is not None else None
        if self.around.left is not None or mechanics is None or mechanics.gearbox is None:
            return False
        box = mechanics.gearbox
        return self.around.path.startswith("mechanics.gearbox") and box.motor == box.output

    @property
    def quantities(self) -> tuple[Physical, Physical] | None:
        """Both sides as quantities of one kind; None where they are none."""
        one, other = (self._quantity(v) for v in (self.around.left, self.around.right))
        return None if one is None or other is None or one.kind != other.kind else (one, other)

    @property
    def times(self) -> tuple[float, float] | None:
        """Both sides in seconds."""
        found = self.quantities
        if found is None or found[0].kind != "time":
            return None
        return float(found[0].number()), float(found[1].number())

    @property
    def ratio(self) -> float | None:
        """The right quantity over the left one; None where they do not compare."""
        found = self.quantities
        return float(found[1].number() / found[0].number()) if found and found[0].ratio else None

    @property
    def travels(self) -> tuple[Travel | None, Travel | None]:
        """Way per motor turn as built, on both sides."""
        found = [machine.mechanics for machine in self._machines()]
        one, other = (None if mechanics is None else travel_of(mechanics) for mechanics in found)
        return one, other

    @property
    def pulls(self) -> tuple[float, float]:
        """Pull of gravity along the axis in N, less what is counterbalanced."""
        one, other = (machine.gravity_force for machine in self._machines())
        return one, other

    @property
    def moved(self) -> tuple[float | None, float | None]:
        """All that moves, the rotor too, at the axis; None where that is not recorded."""
        found = [machine.state.asked(moved) for machine in self._machines()]
        one, other = (None if masses is None else masses.least for masses in found)
        return one, other

    @property
    def held(self) -> float | None:
        """Torque (N*m) of the motor that holds the right side's load; None where none hangs."""
        found = self._machines()[1].state.asked(hold_torque)
        return None if found is None else found.value

    def dropped(self, time: float) -> Physical | None:
        """How far a free load falls in a time (s) on the right side; None where none hangs."""
        machine = self._machines()[1]
        if machine.pull <= 0:
            return None
        return Physical(Fraction(drop_within(machine.state, time).value), 0, "length", "m")

    @property
    def at_rest(self) -> tuple[float | None, float | None]:
        """Voltage of the DC link at rest; None where the supply is not recorded."""
        one, other = (machine.state.asked(rest_voltage) for machine in self._machines())
        return one, other

    def _machines(self) -> tuple[AxisView, AxisView]:
        return as_built(self.left), as_built(self.right)

    def _quantity(self, value: object) -> Physical | None:
        try:
            measure = value if isinstance(value, Measure) else Measure.parse(str(value))
            if measure.unit is None and (named := _UNIT_IN_NAME.search(self.around.path)):
                measure = Measure(measure.value, canonical_unit(named[1]))
            return measure.physical()
        except (ValueError, UnknownUnit):
            return None


Effect = Callable[[Case], str]


def as_built(record: AxisRecord | None) -> AxisView:
    """The machine alone, without parameters."""
    if record is None:
        return AxisView(AS_BUILT, b"")
    return AxisView(AS_BUILT, b"", axis_text=b"as built", read_axis=lambda _: record)


def says(text: str) -> Effect:
    """The same sentence whatever the values are."""
    return lambda case: text


def times_as_much(what: str = "") -> Effect:
    """The ratio of the quantities, and what it acts on."""

    def effect(case: Case) -> str:
        ratio, sizes = case.ratio, case.quantities
        if sizes is not None and (said := which_ampere(*sizes)[0]):
            return said
        return "" if ratio is None else TIMES.format(ratio=digits(ratio), what=what)

    return effect


def way(case: Case) -> str:
    """Way per motor turn before and after."""
    one, other = case.travels
    if one is None or other is None or one.per_turn.kind != other.per_turn.kind:
        return WAY["unknown"]
    ratio = speed_ratio(one, other) or Fraction(1)
    if ratio == 1:
        return WAY["same"]
    longer, harder = digits(float(ratio), 6), digits(float(1 / ratio), 6)
    # a cause beside it tells what that shifts
    return WAY["alone" if case.alone else "cause beside"].format(longer=longer, harder=harder)


def stops(case: Case) -> str:
    """Where a hard stop went, and what must stop the axis before it."""
    found = case.quantities
    if found is None or "hard_stop" not in case.around.path:
        return STOPS
    moved = found[1] - found[0]
    inward = (moved.ratio > 0) == case.around.path.endswith("low")
    size = size_text(Physical(abs(moved.ratio), moved.pi_power, moved.kind, moved.unit))
    return f"{STOP_MOVED['in' if inward else 'out'].format(size=size)} {STOPS}"


def weight(case: Case) -> str:
    """What a moved mass does to torque, motor and brake."""
    ratio = case.ratio
    if not ratio:
        return pull(case)
    before, after = case.pulls
    hung = ""
    if before > 0 and after > 0:
        hung = PULL_BESIDE.format(pull=_pull_text(before, after))
    one, other = case.moved
    if one is None or other is None:
        return WEIGHT["unknown"].format(ratio=digits(ratio, 3), pull=hung)
    return WEIGHT["known"].format(ratio=digits(one / other, 3), pull=hung)


def pull(case: Case) -> str:
    """What hangs on motor and brake, before and after."""
    before, after = case.pulls
    if before == after:
        return PULL_FOLLOWS
    return PULL_ALONE.format(pull=_pull_text(before, after))


def _pull_text(before: float, after: float) -> str:
    return PULL.format(after=digits(after), before=digits(before))


def fitted(case: Case) -> str:
    """A holding brake that came or went."""
    if case.around.right is False:
        return BRAKE["gone, may hang" if case.may_hang else "gone"]
    return BRAKE["fitted"]


def holds(case: Case) -> str:
    """Holding torque against that of the load at rest."""
    travel, torque, needed = case.travels[1], case.quantities, case.held
    if travel is None or torque is None or travel.per_turn.kind != "length":
        return times_as_much(HOLDS_WITH)(case)
    if needed is None:
        return times_as_much()(case)
    before, after = (float(one.number()) / needed for one in torque)
    said = HOLDS["sinks" if after < 1 else "holds"]
    return said.format(after=digits(after, 3), before=digits(before, 3))


def drop(case: Case) -> str:
    """How far a free load falls until the brake holds."""
    fallen = [case.dropped(time) for time in case.times or ()]
    ways = [size_text(way) for way in fallen if way is not None]
    if len(ways) < 2:
        return ""
    before, after = ways
    return DROP.format(after=after, before=before)


def resistor(case: Case) -> str:
    """The most power a braking resistor takes, at the voltage where the drive trips."""
    supply = case.right.supply if case.right is not None else None
    trip = si_number(supply.dc_link_trip) if supply is not None else None
    found = case.quantities
    if trip is None or found is None or not (found[0].ratio and found[1].ratio):
        return times_as_much()(case)
    before, after = (digits(power_in(float(ohm.number()), trip) / 1000) for ohm in found)
    lower = found[1].ratio < found[0].ratio
    said = RESISTOR.format(after=after, before=before)
    return f"{said} {CHOPPER}" if lower else said


def mains(case: Case) -> str:
    """The DC link that a supply voltage charges."""
    found = [digits(volt, 3) for volt in case.at_rest if volt is not None]
    if len(found) < 2:
        return ""
    before, after = found
    return MAINS.format(after=after, before=before)


def increments(case: Case) -> str:
    """What an encoder of other bits counts."""
    before, after = case.around.left, case.around.right
    if not case.alone or not isinstance(before, int) or not isinstance(after, int):
        return ""
    if case.around.path.endswith("multi_turn_bits"):
        return MULTI_TURN
    ratio = digits(float(2) ** (after - before))
    back = digits(float(2) ** (before - after), 6)
    return INCREMENTS.format(ratio=ratio, back=back)


def interval(case: Case) -> str:
    """What another cycle of the bus needs."""
    times = case.times
    if times is None:
        return LINK
    one, other = times
    return INTERVAL.format(after=seconds(other), before=seconds(one))


def patience(case: Case) -> str:
    """What another watchdog or heartbeat does."""
    times = case.times
    if times is None:
        return LINK
    one, other = times
    said = PATIENCE["longer" if other > one else "shorter"]
    return said.format(after=seconds(other), before=seconds(one))
