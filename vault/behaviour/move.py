"""A move from standstill to standstill: its speed over time, and how long the reference move takes.

Ramps are even, jerk-limited or sine-squared (6086h, CiA 402-2; from memory). The reference move is
the one of the axis record, else half the stroke, at the profile's speed and ramps.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.facts import Figure, fact
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.mode import is_cyclic
from vault.behaviour.position import stroke
from vault.behaviour.ramp import FALL, RISE, ramp
from vault.behaviour.scale import unit
from vault.behaviour.speed import profile_speed
from vault.behaviour.state import JERK

if TYPE_CHECKING:
    from vault.behaviour.state import State

LINEAR_RAMP, SINE_SQUARED, JERK_LIMITED = 0, 1, 3
"""Profile types with a formula of the standard's (6086h)."""
_SEEN = 0.02
"""Profiles that differ by less than this share of speed and time look the same in a picture."""
_POINTS = 24  # of a curved ramp


@dataclass(frozen=True, slots=True)
class Ramp:
    """A change of speed by `speed` (m/s or rad/s) at a rate (per second squared).

    `jerk` limits how fast the rate itself changes; None for none.
    """

    speed: float
    rate: float
    jerk: float | None = None
    sine_squared: bool = False

    @property
    def time(self) -> float:
        """How long it lasts, in s."""
        if self.sine_squared:
            return formulas.sine_squared_ramp_time(self.speed, self.rate)
        return formulas.ramp_time(self.speed, self.rate, self.jerk)

    @property
    def is_straight(self) -> bool:
        """Whether the speed goes up evenly."""
        return self.jerk is None and not self.sine_squared

    def speed_at(self, time: float) -> float:
        """Speed gained after a time within the ramp.

        Even: v = a t. Sine-squared: the integral of a sin^2(pi t / T), a/2 (t - T/2pi sin 2pi t/T).
        Jerk-limited: j t^2 / 2 while the rate builds up for tj = a/j (or half the ramp, where the
        rate is not reached), then even at the rate j tj, then the first part mirrored (textbook
        kinematics: v is the integral of a).
        """
        if self.sine_squared:
            wave = self.time / (2 * pi) * sin(2 * pi * time / self.time)
            return self.rate / 2 * (time - wave)
        if self.jerk is None:
            return self.rate * time
        build_up = min(self.rate / self.jerk, self.time / 2)
        if time > self.time / 2:
            return self.speed - self.speed_at(self.time - time)
        if time <= build_up:
            return self.jerk * time**2 / 2
        return self.jerk * build_up * (time - build_up / 2)


@dataclass(frozen=True, slots=True)
class MoveProfile:
    """Speed over time of a move over a way (m or rad): up to `speed`, on at it, down again.

    `speed` is what is really reached.
    """

    way: float
    up: Ramp
    down: Ramp

    @property
    def speed(self) -> float:
        """The highest speed reached."""
        return self.up.speed

    @property
    def even_time(self) -> float:
        """Time at the highest speed, in s: the way that the ramps leave, over that speed."""
        ramps = self.speed / 2 * (self.up.time + self.down.time)
        return max(0.0, (self.way - ramps) / self.speed)

    @property
    def time(self) -> float:
        """Time of the whole move, in s."""
        return self.up.time + self.even_time + self.down.time

    def speed_at(self, time: float) -> float:
        """Speed at a time after the start; zero before and after the move."""
        if not 0 < time < self.time:
            return 0.0
        if time < self.up.time:
            return self.up.speed_at(time)
        left = self.time - time
        return self.down.speed_at(left) if left < self.down.time else self.speed

    def points(self) -> tuple[tuple[float, float], ...]:
        """Time and speed at as many places as a drawn line needs."""
        way_up = _times(self.up)
        way_down = [self.time - time for time in reversed(_times(self.down))]
        times = [*way_up, *way_down]
        return tuple((time, self.speed_at(time)) for time in times)

    def looks_like(self, other: MoveProfile) -> bool:
        """Whether nobody sees a difference between two moves in a picture."""
        longest, fastest = max(self.time, other.time), max(self.speed, other.speed)
        if abs(self.time - other.time) > _SEEN * longest:
            return False
        times = [longest * place / 200 for place in range(201)]
        most = _SEEN * 2 * fastest
        return all(abs(self.speed_at(t) - other.speed_at(t)) <= most for t in times)


def _times(ramp: Ramp) -> list[float]:
    count = 1 if ramp.is_straight else _POINTS
    return [ramp.time * place / count for place in range(count + 1)]


def move_profile(
    way: float,
    speed: float,
    acceleration: float,
    deceleration: float,
    *,
    jerk: float | None = None,
    sine_squared: bool = False,
) -> MoveProfile:
    """The profile of a move over a way (more than zero), all in SI.

    Where the way is too short for the speed, the ramps are all of it: way = peak / 2 times time.
    """
    time = formulas.move_time(
        way, speed, acceleration, deceleration, jerk=jerk, sine_squared=sine_squared
    )
    peak = min(speed, 2 * way / time)
    return MoveProfile(
        way,
        Ramp(peak, acceleration, jerk, sine_squared),
        Ramp(peak, deceleration, jerk, sine_squared),
    )


def reference_way(state: State) -> Figure:
    """Way of the reference move: as recorded, else half the stroke. Raises Missing."""
    own = state.recorded("mechanics.reference_move")
    if own is not None:
        return Figure(own, unit(state), "mechanics.reference_move")
    return Figure(state.ask(stroke).value / 2, unit(state), "half the stroke")


def profile_type(state: State) -> int:
    """The kind of ramp; even ones where the set does not say. Raises DoesNotApply for a maker's."""
    if state.value("motion_profile_type") is None:
        return LINEAR_RAMP
    kind = state.choice("motion_profile_type")
    if kind not in (LINEAR_RAMP, SINE_SQUARED, JERK_LIMITED):
        raise DoesNotApply
    return kind


def profile_jerk(state: State) -> float | None:
    """Jerk limit of moves: only the jerk-limited profile has one, unless 60A3h turns it off."""
    if state.choice("motion_profile_type") != JERK_LIMITED:
        return None
    size = state.si("profile_jerk", JERK)
    used = state.number("profile_jerk_use")
    return size if size is not None and size > 0 and used != 0 else None


def reference_move(state: State) -> MoveProfile:
    """The reference move as the set's speed and ramps allow. Raises Missing, DoesNotApply."""
    way, kind = state.ask(reference_way).value, state.ask(profile_type)
    speed, rise = state.ask(profile_speed).value, ramp(state, RISE)
    if way <= 0:
        raise DoesNotApply
    return move_profile(
        way,
        speed,
        rise,
        _fall(state, rise),
        jerk=state.ask(profile_jerk),
        sine_squared=kind == SINE_SQUARED,
    )


def _fall(state: State, rise: float) -> float:
    """The deceleration; as the acceleration, where the set has none."""
    try:
        return ramp(state, FALL)
    except Missing:
        return rise


@fact("time of the reference move")
def reference_move_time(state: State) -> Figure:
    """Time (s) of the reference move on its profile; in cyclic modes the controller makes it."""
    if is_cyclic(state):
        raise DoesNotApply
    return Figure(state.ask(reference_move).time, "s", "profile over the reference move")
