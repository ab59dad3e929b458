"""What a trace tells, in sentences: each quantity with what it is held against, or why not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.findings import digits, in_reader_units
from vault.model.wording import capitalised

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.behaviour.trace.against import Told
    from vault.behaviour.trace.measured import Measured

TITLES = {
    "steady_lag": "steady lag",
    "peak_lag": "peak lag",
    "settling_time": "settling time",
    "overshoot": "overshoot",
    "rms_torque": "r.m.s. torque",
    "peak_torque": "peak torque",
    "stop_distance": "way of the stop",
    "friction": "dry friction",
    "inertia": "inertia at the motor",
    "resonance": "resonance",
}
DOUBT = " ± {doubt}"
HELD = "; {basis}: {against}{share}"
SHARE = " ({share} % of it)"
TOLD = "{title}: {figures}."
CANNOT = "{title} cannot be told, because {reason}."
NOT_TOLD = "cannot be told, because {reason}"
SLIP = (
    "A belt that slips behind the motor is not seen here: the motor's encoder goes on counting. "
    "Measure the way at the load."
)
BEHIND = (
    "What twists, plays or slips behind the motor is not seen by its encoder: measure it at the "
    "load."
)


def sentence(told: Told) -> str:
    """What a trace tells of a quantity."""
    title = capitalised(TITLES[told.name])
    if told.measured is None:
        return CANNOT.format(title=title, reason=told.reason)
    return TOLD.format(title=title, figures=figures(told))


def figures(told: Told) -> str:
    """What a trace tells of a quantity, for a row that has its name."""
    if told.measured is None:
        return NOT_TOLD.format(reason=told.reason)
    said = f"{shown(told.measured)}{_doubt(told.measured)}"
    if not told.against:
        return said
    first = told.against[0]
    ratio = told.measured.value / first.value if first.value else 0.0
    share = SHARE.format(share=digits(100 * ratio, 3)) if 0 < ratio < 100 else ""
    return said + HELD.format(
        basis=first.basis, against=_sized(first.value, first.unit), share=share
    )


def shown(measured: Measured) -> str:
    """A measured figure in the reader's unit, with the digits that it is worth."""
    return _sized(measured.value, measured.unit)


def _sized(size: float, unit: str) -> str:
    if unit in ("kg*m^2", "N*m", "Hz", "kg", "N") or unit.endswith("s/rad"):
        return f"{digits(size, 3)} {unit}" if abs(size) >= 1e-3 or not size else _small(size, unit)
    if unit == "s":
        return f"{digits(1000 * size, 3)} ms"
    return in_reader_units(float(f"{size:.3g}"), unit)


def _small(size: float, unit: str) -> str:
    """An inertia of a small motor: in kg*cm^2, so that it has digits before the point."""
    return f"{digits(size * 1e4, 3)} kg*cm^2" if unit == "kg*m^2" else f"{digits(size, 3)} {unit}"


def _doubt(measured: Measured) -> str:
    if measured.uncertainty <= 0.005 * abs(measured.value):
        return ""
    return DOUBT.format(doubt=_sized(float(f"{measured.uncertainty:.2g}"), measured.unit))


def not_seen(state: State) -> str:
    """What no trace of the motor's encoder shows of this axis; nothing with one at the load."""
    if state.record("load_encoder") is not None:
        return ""
    return SLIP if state.record("mechanics.kind") == "belt" else BEHIND
