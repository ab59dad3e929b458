"""The DC link and what feeds and empties it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.integrator import integrate
from tests.oracle.readings import first_known, flags, from_record, from_settings
from tests.oracle.stops import Stops
from tests.oracle.units import MISSING, Vector

_CHARGING_STEPS = 200
_HIGH_MAINS = 1.1  # common practice, no source: mains may be a tenth above their nominal voltage


def supplies(cases: Sequence[Case], stopped: Stops) -> dict[str, Vector]:
    """Voltages of the DC link in V, energy of a stop in J, power of the chopper in W."""
    mains = first_known(
        from_record(cases, "supply", "voltage"), from_settings(cases, "supply_voltage")
    )
    capacitance = first_known(
        from_record(cases, "supply", "dc_link_capacitance"),
        from_settings(cases, "dc_link_capacitance"),
    )
    resistor = first_known(
        from_record(cases, "supply", "resistor"),
        from_settings(cases, "braking_resistor_resistance"),
    )
    chops = flags(cases, lambda case: case.settings.get("braking_resistor_used", "1") == "1")
    threshold = from_settings(cases, "braking_resistor_threshold")
    power = threshold * (threshold / resistor)
    return {
        "stop_energy_returned": stopped.energy,
        "dc_link_peak": _charged(_rectified(mains), capacitance, stopped.surplus),
        "chopper_power_peak": np.where(chops, power, MISSING),
        "rest_voltage_high": _rectified(mains * _HIGH_MAINS),
    }


def _rectified(mains: Vector) -> Vector:
    """Voltage in V of a link that keeps the highest value of a rectified sine."""
    angles = np.linspace(0, 2 * np.pi, 721)
    shape = np.abs(np.sin(angles))
    effective = float(np.sqrt(np.mean(shape[:-1] ** 2)))
    return mains * (float(shape.max()) / effective)


def _charged(voltage: Vector, capacitance: Vector, energy: Vector) -> Vector:
    """Voltage in V of a link with this capacitance in F after this energy in J has come in.

    The current into the link is power / voltage, its voltage grows by current / capacitance.
    """

    def rate(_: Vector, link: Vector) -> Vector:
        growth: Vector = energy / link / capacitance
        return growth

    start = np.expand_dims(voltage, 0)
    charged: Vector = integrate(rate, start, np.ones_like(energy), _CHARGING_STEPS)[0]
    return charged
