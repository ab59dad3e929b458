"""Ratings of the set against motor and drive, and current limits against them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.force import torque_follows_current
from vault.meaning.amperes import taken_as_rms, which_ampere
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MOTOR, SAME_RATING, codes, sized_in
from vault.meaning.explainers.meanings import sized
from vault.meaning.findings import digits, figure
from vault.meaning.sentences import size_text
from vault.model.quantities import Measure, Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

SAY_WHICH = "Say which in both, A_rms or A_pk: the dictionary gives the unit of the set."
UNCLEAR = "{name} is {value}, the motor's nameplate says {real}: {unclear} {say_which}"
OTHER_RATING = "{name} is {value}, the motor's nameplate says {real}{means}."
MEANS = ": {what} is {times} times what it should be"
ABOVE_MOTOR = "The current limit of {limit} is more than the {most} that the motor bears."
ABOVE_DRIVE = (
    "The current limit of {limit} is more than the {most} that the drive gives: it is never "
    "reached."
)
TORQUE_NEVER = (
    "The torque limit of {torque} takes about {needed}, the drive gives {most} at most: it is "
    "never reached."
)
SMALL_DRIVE = (
    "The motor is rated {motor}, the drive {drive}: the motor cannot be loaded to its rating for "
    "long."
)

_CURRENT = ("current",)
_RATINGS = (
    ("motor_rated_torque", "rated_torque", "torque", "every limit in permille of it"),
    ("motor_rated_current", "rated_current", "current", "every limit in permille of it"),
    ("motor_max_current", "max_current", "current", ""),
    ("motor_rated_speed", "rated_speed", "angular_velocity", ""),
    ("motor_max_speed", "max_speed", "angular_velocity", ""),
)


@rule
def motor_ratings(view: AxisView) -> Iterator[Complaint]:
    """Ratings in the set are those on the nameplate of the motor."""
    motor = view.axis.motor if view.axis is not None else None
    if motor is None:
        return
    for role, attribute, kind, follows in _RATINGS:
        size, parameter = sized(view, role, (kind,)), view.find(role)
        real = sized_in(getattr(motor, attribute), kind)
        if size is None or real is None or parameter is None or size.ratio <= 0:
            continue
        if unclear := which_ampere(size, real)[0]:
            yield Complaint(
                "motor_ratings",
                "electrical",
                UNCLEAR.format(
                    name=parameter.name,
                    value=size_text(size),
                    real=size_text(real),
                    unclear=unclear,
                    say_which=SAY_WHICH,
                ),
                (parameter.code, MOTOR),
                (
                    figure(
                        f"{parameter.name} over nameplate",
                        float(size / real),
                        "if r.m.s.",
                        unit="1",
                    ),
                ),
            )
            continue
        times = size.number() / real.number()
        if abs(times - 1) <= SAME_RATING:
            continue
        means = MEANS.format(what=follows, times=digits(float(times))) if follows else ""
        yield Complaint(
            "motor_ratings",
            "electrical",
            OTHER_RATING.format(
                name=parameter.name, value=size_text(size), real=size_text(real), means=means
            ),
            (parameter.code, MOTOR),
            (figure(f"{parameter.name} over nameplate", float(times), MOTOR, unit="1"),),
        )


@rule
def current_limit(view: AxisView) -> Iterator[Complaint]:
    """The current limit against what motor and drive bear."""
    limit = sized(view, "max_current", _CURRENT)
    if limit is None:
        return
    amperes = float(limit.number())
    wanted = f"{digits(amperes)} {limit.unit}"
    findings = (figure("current limit", limit, "share of the rated current"),)
    motor, place = _motor_current(view)
    if motor is not None and amperes > float(motor.number()) * CLOSE:
        yield Complaint(
            "current_limit",
            "electrical",
            ABOVE_MOTOR.format(limit=wanted, most=size_text(motor)) + taken_as_rms(limit, motor),
            (*codes(view, "max_current", "motor_rated_current"), place),
            findings,
        )
    drive = sized(view, "drive_max_current", _CURRENT)
    if drive is not None and drive.ratio > 0 and amperes > float(drive.number()) * CLOSE:
        yield Complaint(
            "current_limit",
            "electrical",
            ABOVE_DRIVE.format(limit=wanted, most=size_text(drive)) + taken_as_rms(limit, drive),
            codes(view, "max_current", "drive_max_current", "motor_rated_current"),
            findings,
        )


def _motor_current(view: AxisView) -> tuple[Physical | None, str]:
    motor = view.axis.motor if view.axis is not None else None
    real = sized_in(motor.max_current if motor is not None else None, "current")
    if real is not None:
        return real, MOTOR
    size, places = sized(view, "motor_max_current", _CURRENT), codes(view, "motor_max_current")
    return (size, places[0]) if size is not None and size.ratio > 0 else (None, "")


@rule
def torque_and_drive(view: AxisView) -> Iterator[Complaint]:
    """The torque limit against the most that the drive's current gives.

    Torque in proportion to current (permanent-magnet motor below saturation; common practice, no
    source): at T / T_rated times its rated current.
    """
    torque, drive = (
        sized(view, "max_torque", ("torque",)),
        sized(view, "drive_max_current", _CURRENT),
    )
    rated, current = view.scaling.rated_torque, view.scaling.rated_current
    if torque is None or drive is None or rated is None or current is None:
        return
    if min(torque.ratio, drive.ratio, rated.ratio, current.ratio) <= 0:
        return
    needed = float(torque.number() / rated.number() * current.number())
    if needed <= float(drive.number()) * CLOSE or not torque_follows_current(view.state):
        return
    said = TORQUE_NEVER.format(
        torque=size_text(torque), needed=f"{digits(needed)} {current.unit}", most=size_text(drive)
    )
    yield Complaint(
        "torque_and_drive",
        "dynamics",
        said + taken_as_rms(current, drive),
        codes(view, "max_torque", "drive_max_current", "motor_rated_torque", "motor_rated_current"),
        (
            figure(
                "current at the torque limit", needed, "T / T_rated x I_rated", unit=current.unit
            ),
        ),
    )


@rule
def drive_current(view: AxisView) -> Iterator[Complaint]:
    """The motor's rated current against the drive's: what the drive can give for long."""
    motor = view.scaling.rated_current
    if motor is None or motor.ratio <= 0:
        return
    drive, place = sized(view, "drive_rated_current", _CURRENT), codes(view, "drive_rated_current")
    if drive is None:
        drive, place = _nameplate_current(view), ("nameplate",)
    if drive is None or drive.ratio <= 0 or motor.number() <= drive.number():
        return
    said = SMALL_DRIVE.format(motor=size_text(motor), drive=size_text(drive))
    yield Complaint(
        "drive_current",
        "electrical",
        said + taken_as_rms(motor, drive),
        (*(codes(view, "motor_rated_current") or (MOTOR,)), *place),
        (
            figure("motor rated current", motor, "the set, else axis.yaml"),
            figure("drive rated current", drive, "the set, else its nameplate"),
        ),
    )


def _nameplate_current(view: AxisView) -> Physical | None:
    try:
        size = Measure.parse(view.nameplate.get("rated_current", "")).physical()
    except ValueError:
        return None
    return size if size is not None and size.kind == "current" else None
