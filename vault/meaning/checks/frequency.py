"""Drives that are set in hertz: frequencies against the motor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import CLOSE, MOTOR, codes, is_frequency_drive
from vault.meaning.explainers.frequency import field_speed
from vault.meaning.explainers.meanings import sized
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

_HERTZ = ("frequency",)


def _places(view: AxisView, *roles: str) -> tuple[str, ...]:
    return (*codes(view, *roles), *((MOTOR,) if view.axis and view.axis.motor else ()))


@rule
def highest_frequency(view: AxisView) -> Iterator[Complaint]:
    """Highest frequency against the motor's highest speed, n = 60 f / p, and the rated one."""
    size, rated = sized(view, "max_frequency", _HERTZ), sized(view, "rated_frequency", _HERTZ)
    if size is None or size.ratio <= 0 or not is_frequency_drive(view):
        return
    hertz, most = float(size.number()), view.motor_speed("max_speed")
    turns = field_speed(view, hertz)
    if turns is not None and most and turns > most * CLOSE:
        yield Complaint(
            "highest_frequency",
            "hazard",
            f"At the highest frequency of {digits(hertz)} Hz the motor turns at about "
            f"{digits(turns)} r/min; it may turn {digits(most)} r/min.",
            _places(view, "max_frequency", "motor_pole_pairs", "motor_max_speed"),
            (figure("speed of the field", turns, "n = 60 f / p", unit="r/min"),),
        )
        return
    if rated is None or rated.ratio <= 0 or hertz <= float(rated.number()) * CLOSE:
        return
    share = float(rated.number() / size.number())
    at = f", about {digits(turns)} r/min," if turns is not None else ""
    yield Complaint(
        "highest_frequency",
        "dynamics",
        f"The highest frequency of {digits(hertz)} Hz{at} is above the rated "
        f"{digits(float(rated.number()))} Hz of the motor: about {digits(100 * share, 3)} % of "
        "its torque is left there.",
        codes(view, "max_frequency", "rated_frequency", "motor_pole_pairs"),
        (figure("torque above rated frequency", share, "f_rated / f", unit="1"),),
    )


@rule
def pole_pairs(view: AxisView) -> Iterator[Complaint]:
    """An induction motor runs a little slower than its field: p = 60 f / n, rounded down."""
    pairs, rated = view.number("motor_pole_pairs"), sized(view, "rated_frequency", _HERTZ)
    turns = view.motor_speed("rated_speed")
    if not is_frequency_drive(view) or pairs is None or rated is None or not turns:
        return
    if pairs <= 0 or rated.ratio <= 0 or turns < 0:
        return
    fitting = int(60 * float(rated.number()) / turns + 1e-3)
    if not 1 <= fitting <= 64 or pairs == fitting:
        return
    yield Complaint(
        "pole_pairs",
        "electrical",
        f"A motor of {digits(float(rated.number()))} Hz and {digits(turns)} r/min has {fitting} "
        f"pole pairs; the set says {digits(float(pairs))}.",
        _places(view, "motor_pole_pairs", "rated_frequency", "motor_rated_speed"),
        (Finding("pole pairs", str(fitting), "1", "60 f / n, rounded down"),),
    )
