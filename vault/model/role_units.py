"""Units that a role can be in, by its kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.quantities import unit_named
from vault.model.unit_table import UNITS

if TYPE_CHECKING:
    from vault.model.roles import Role

UNITS_OF: dict[str, tuple[frozenset[str], tuple[str, ...]]] = {
    kind: (frozenset(kinds.split()), tuple(meant.split()))
    for kind, kinds, meant in (
        ("position", "length angle user_position increments ratio", "mm deg user_position"),
        (
            "velocity",
            "velocity angular_velocity user_velocity increments_velocity frequency ratio",
            "mm/s r/min user_velocity",
        ),
        (
            "acceleration",
            "acceleration angular_acceleration user_acceleration increments_acceleration time "
            "ratio",
            "mm/s^2 rad/s^2 user_acceleration",
        ),
        ("jerk", "jerk angular_jerk user_jerk time ratio", "mm/s^3 rad/s^3 user_jerk"),
        (
            "motor_speed",
            "angular_velocity velocity user_velocity increments_velocity frequency ratio",
            "r/min rad/s",
        ),
        ("time", "time", "ms s"),
        ("interval", "time", "us ms"),
        ("frequency", "frequency angular_velocity gain ratio", "Hz"),
        ("current", "current rated_current ratio", "A A_rms A_pk"),
        ("rated_current", "rated_current current ratio", "permille_rated_current A_rms"),
        ("torque", "torque force rated_torque energy ratio", "N*m"),
        ("rated_torque", "rated_torque torque force energy ratio", "permille_rated_torque N*m"),
        ("voltage", "voltage ratio", "V mV"),
        ("power", "power ratio", "W kW"),
        ("energy", "energy torque", "J"),
        ("resistance", "resistance", "ohm"),
        ("inductance", "inductance", "mH"),
        ("capacitance", "capacitance", "uF"),
        ("temperature", "temperature", "degC"),
        ("inertia", "inertia mass", "kg*m^2 kg*cm^2"),
        ("percent", "ratio", "percent"),
        ("data_size", "data", "byte"),
    )
}
"""By kind of role: kinds of unit that it can be in, and units that may have been meant."""

_KNOWN_KINDS = frozenset(unit.kind for unit in UNITS.values())


def fits(role: Role, unit: str) -> bool:
    """Whether a role can be in a unit at all; one of a kind of its own is for the maker to know."""
    kinds = UNITS_OF.get(role.kind)
    kind = unit_named(unit).kind
    return kinds is None or kind in kinds[0] or kind not in _KNOWN_KINDS
