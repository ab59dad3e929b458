"""The speed of a move over time: trapezoid, jerk-limited or sine-squared ramps, in SI.

From standstill to standstill, with the speed reached if the way allows. Times and ways come from
`vault.behaviour.formulas`; here is only what the speed is between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.meaning.explainers.ramps import reference_move

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical

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
    """Speed over time of a move of `way` (m or rad): up to `speed`, on at it, down again.

    `speed` is what is really reached. `like` says which kind of axis it is.
    """

    way: float
    up: Ramp
    down: Ramp
    like: Physical | None = None

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
        """Speed at a time after the start; nought before and after the move."""
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
    like: Physical | None = None,
) -> MoveProfile:
    """The profile of a move over a way (more than nought), all in SI.

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
        like,
    )


def profile_of(view: AxisView) -> MoveProfile | None:
    """The profile of the reference move of a state; None where it is not known."""
    move = reference_move(view)
    if move is None or move.way <= 0:
        return None
    return move_profile(
        move.way,
        move.speed,
        move.rise,
        move.fall,
        jerk=move.jerk,
        sine_squared=move.sine_squared,
        like=move.like,
    )


@dataclass(frozen=True, slots=True)
class TwoProfiles:
    """The same move before and after."""

    before: MoveProfile
    after: MoveProfile


def two_profiles(left: AxisView, right: AxisView) -> TwoProfiles | None:
    """Profiles of both sides, where both are known, of one move, and one sees that they differ."""
    before, after = profile_of(left), profile_of(right)
    if before is None or after is None or before.like is None or after.like is None:
        return None
    if before.like.kind != after.like.kind or abs(before.way - after.way) > 1e-9:
        return None
    return TwoProfiles(before, after) if _differ(before, after) else None


def _differ(one: MoveProfile, other: MoveProfile) -> bool:
    longest, fastest = max(one.time, other.time), max(one.speed, other.speed)
    if abs(one.time - other.time) > _SEEN * longest:
        return True
    times = [longest * place / 200 for place in range(201)]
    return any(abs(one.speed_at(t) - other.speed_at(t)) > _SEEN * 2 * fastest for t in times)
