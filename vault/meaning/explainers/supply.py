"""Supply, DC link and braking resistor: where the energy of a stop goes."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.ramps import top_speed
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding


def stop_energy(view: AxisView) -> float | None:
    """Energy (J) in a linear axis at its highest speed; None where masses are not recorded."""
    velocity, travel = top_speed(view), view.scaling.travel
    mass = view.moving_mass
    if velocity is None or travel is None or mass is None or travel.per_turn.kind != "length":
        return None
    return physics.kinetic_energy(
        velocity, mass, float(travel.per_turn.number()), float(travel.gear), view.motor_inertia or 0
    )


def link_energy(view: AxisView) -> float | None:
    """Energy (J) that the DC link takes between its working voltage and its trip."""
    supply = view.axis.supply if view.axis is not None else None
    if supply is None or not supply.dc_link_capacitance or not supply.dc_link_trip:
        return None
    capacitance, trip = supply.dc_link_capacitance.physical(), supply.dc_link_trip.physical()
    voltage = supply.voltage.physical() if supply.voltage else None
    if capacitance is None or trip is None or voltage is None:
        return None
    # A rectifier charges the link to the peak of the mains.
    start = sqrt(2) * float(voltage.number())
    return physics.dc_link_energy(float(capacitance.number()), start, float(trip.number()))


@explains(
    "braking_resistor_used",
    "braking_resistor_resistance",
    "braking_resistor_power",
    "braking_resistor_energy",
    "braking_resistor_threshold",
    "dc_link_overvoltage_threshold",
)
def resistor(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Energy of a stop against what link and resistor take."""
    findings: list[Finding] = []
    said = []
    energy, link = stop_energy(right), link_energy(right)
    if energy is not None:
        findings.append(figure("energy of a stop", energy, "m v^2 / 2 + J w^2 / 2", unit="J"))
        text = f"A stop from the highest speed gives back up to {digits(energy)} J"
        if link is not None:
            findings.append(
                figure("energy the DC link takes", link, "C (U2^2 - U1^2) / 2", unit="J")
            )
            text += f"; the DC link alone takes {digits(link)} J"
        said.append(f"{text}.")
    off = right.choice("braking_resistor_used") == 0
    if off and change.shown.role == "braking_resistor_used":
        said.append("Without the resistor the drive trips on over-voltage and the axis coasts.")
        if energy is not None and link is not None and energy <= link:
            said[-1] = "The DC link takes that without the resistor."
    if change.shown.role == "braking_resistor_resistance":
        said.append("Too small a value here lets the resistor overheat unnoticed.")
    return Explanation(" ".join(said), "electrical", tuple(findings)) if said else None


@explains("supply_phases")
def phases(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The setting against the feed that is wired."""
    label = (change.right.label or "").casefold() if change.right is not None else ""
    fed = right.axis.supply.phases if right.axis is not None and right.axis.supply else None
    if fed == 3 and "single" in label:
        text = (
            "The cabinet feeds three phases: set to one, the drive does not notice a phase that "
            "is missing."
        )
    elif fed == 1 and "three" in label:
        text = "The cabinet feeds one phase: set to three, the drive trips on a missing phase."
    else:
        return None
    return Explanation(text, "electrical")
