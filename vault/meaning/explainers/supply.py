"""Supply, DC link and braking resistor: where the energy of a stop, or of a descent, goes."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour import energy
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import FALLS, chosen_in, of_kind, upper_first
from vault.meaning.findings import digits, figure, finding, in_words
from vault.model.choices import chosen
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.axis import Supply

STOP = "a stop from the highest speed gives back up to {energy}"
DESCENT = "lowering the load over the stroke gives back {energy}, at up to {power}"
GIVEN_BACK = "{parts}{link}."
LINK = "; the DC link alone takes {energy}"
RESISTOR = {
    "helps": "The resistor takes what the DC link cannot.",
    "not needed": "The DC link takes that without the resistor.",
    "needed": "Without the resistor the drive trips on over-voltage and the axis coasts.",
}
NOT_USED = "The resistor is not used: it has no effect."
NOT_RECORDED = "If it is more than what is fitted the resistor may overheat unnoticed."
FITTED = "Fitted is {fitted}, {verdict}."
VERDICT = {
    "same": "as set",
    "less": "less than set: it may overheat unnoticed",
    "more": "more than set: the drive gives it less than it could take",
}
DESCENT_POWER = "Lowering the load gives back up to {power} while it lasts."
TRIPS_FIRST = (
    "The drive trips at {trip} before the resistor is switched on: a stop ends in coasting."
)
AT_REST = "At high mains the DC link rests at {voltage}{burns}."
BURNS = ": the resistor may be switched on all the time, and burn"
SET_MAINS = {
    "same": "The cabinet feeds {fed}, as set.",
    "other": "The cabinet feeds {fed}: the drive watches mains and DC link by another voltage, and "
    "may trip, or not notice.",
    "unknown": "At high mains the DC link rests at {high}, at low mains at {low}.",
}
LOW_MAINS = "At low mains the DC link rests at {voltage}{trips}."
TRIPS = ", below it: the drive trips while they are low"
PHASES = {
    (1, 3): "The cabinet feeds three phases: set to one, the drive does not notice a phase that is "
    "missing.",
    (3, 1): "The cabinet feeds one phase: set to three, the drive trips on a missing phase.",
    (1, 1): "The cabinet feeds one phase, as set.",
    (3, 3): "The cabinet feeds three phases, as set.",
    (1, None): "On a three-phase feed the drive does not notice a missing phase so.",
    (3, None): "On a single-phase feed the drive trips on a missing phase.",
    (2, 1): "The cabinet feeds one phase, not direct voltage.",
    (2, 3): "The cabinet feeds three phases, not direct voltage.",
}
"""By the number of `supply_phases` in `vault.model.choices` (1 single, 2 direct, 3 three), and by
the phases of the feed; None where it is not recorded."""

_NO = 0


def stop_energy(view: AxisView) -> float | None:
    """Energy (J) that comes back in a quick stop from the worst speed; None where not known."""
    found = view.state.asked(energy.stop_energy)
    return None if found is None or isinf(found.value) else found.value


def descent(view: AxisView) -> tuple[float, float] | None:
    """Energy (J) and power (W) that a load gives back when it is lowered over the stroke.

    F h and F v, without losses, which help.
    """
    lowered, power = (
        view.state.asked(each) for each in (energy.descent_energy, energy.descent_power)
    )
    return None if lowered is None or power is None else (lowered.value, power.value)


def link_energy(view: AxisView) -> float | None:
    """Energy (J) that the DC link takes between its working voltage and its trip."""
    found = view.state.asked(energy.link_energy)
    return None if found is None or found.value <= 0 else found.value


def _supply(view: AxisView) -> Supply | None:
    return view.axis.supply if view.axis is not None else None


@explains("braking_resistor_used", "dc_link_overvoltage_threshold")
def resistor(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Energy of a stop and of a descent against what the link takes."""
    findings: list[Finding] = []
    said: list[str] = []
    most = _given_back(right, said, findings)
    if change.shown.role != "braking_resistor_used":
        return Explanation(" ".join(said), "electrical", tuple(findings)) if said else None
    number, link = chosen(change.right), link_energy(right)
    if number is None:
        return Explanation(" ".join(said), "electrical", tuple(findings)) if said else None
    if number != _NO:
        said.append(RESISTOR["helps"])
        return Explanation(" ".join(said), "electrical", tuple(findings))
    if most is not None and link is not None and most <= link:
        said.append(RESISTOR["not needed"])
        return Explanation(" ".join(said), "electrical", tuple(findings))
    said += [RESISTOR["needed"], FALLS] if right.is_vertical else [RESISTOR["needed"]]
    worst = "hazard" if right.is_vertical else "electrical"
    return Explanation(" ".join(said), worst, tuple(findings))


def _given_back(view: AxisView, said: list[str], findings: list[Finding]) -> float | None:
    """Say what stop and descent give back, and what the link takes; the larger of both in J."""
    stopped, lowered, link = stop_energy(view), descent(view), link_energy(view)
    parts = []
    if stopped is not None:
        findings.append(figure("energy of a stop", stopped, "M v^2 / 2 + F s", unit="J"))
        parts.append(STOP.format(energy=f"{digits(stopped)} J"))
    if lowered is not None:
        findings += [
            figure("energy of a descent", lowered[0], "F x stroke", unit="J"),
            figure("power of a descent", lowered[1], "F v", unit="W"),
        ]
        size, power = f"{digits(lowered[0])} J", f"{digits(lowered[1])} W"
        parts.append(DESCENT.format(energy=size, power=power))
    if parts and link is not None:
        findings.append(figure("energy the DC link takes", link, "C (U2^2 - U1^2) / 2", unit="J"))
    if parts:
        alone = LINK.format(energy=f"{digits(link)} J") if link is not None else ""
        said.append(upper_first(GIVEN_BACK.format(parts=", ".join(parts), link=alone)))
    known = [size for size in (stopped, lowered[0] if lowered else None) if size is not None]
    return max(known, default=None)


@explains("braking_resistor_resistance", "braking_resistor_power", "braking_resistor_energy")
def resistor_data(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the drive reckons the resistor's heat from, against the resistor that is fitted."""
    role = str(change.shown.role)
    kind, attribute, basis = {
        "braking_resistor_resistance": ("resistance", "resistor", "resistor as recorded"),
        "braking_resistor_power": ("power", "resistor_power", "continuous power as recorded"),
        "braking_resistor_energy": ("energy", "resistor_energy", "pulse energy as recorded"),
    }[role]
    size = of_kind(change.right_physical, (kind,))
    supply = _supply(right)
    fitted = getattr(supply, attribute) if supply is not None else None
    stated = si_number(fitted)
    if size is None:
        return None
    said: list[str] = []
    findings: list[Finding] = []
    if chosen_in(right, "braking_resistor_used") == _NO:
        said.append(NOT_USED)
    elif stated is None:
        # Heat is U^2 / R: a drive that believes in more ohms, or in a stronger resistor, reckons
        # less of it (from the formula).
        said.append(NOT_RECORDED)
    else:
        findings.append(figure("as fitted", stated, basis, unit=size.unit))
        verdict = VERDICT[_against(float(size.number()), stated)]
        said.append(FITTED.format(fitted=fitted, verdict=verdict))
    if role == "braking_resistor_power" and (lowered := descent(right)) is not None:
        said.append(DESCENT_POWER.format(power=f"{digits(lowered[1])} W"))
        findings.append(figure("power of a descent", lowered[1], "F v", unit="W"))
    return Explanation(" ".join(said), "electrical", tuple(findings))


def _against(size: float, stated: float) -> str:
    if abs(size - stated) <= 0.01 * stated:
        return "same"
    return "less" if size > stated else "more"


@explains("braking_resistor_threshold")
def switch_on(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Between the highest mains and the trip, or the resistor burns or never helps."""
    size, trip = (
        of_kind(change.right_physical, ("voltage",)),
        right.state.asked(energy.trip_voltage),
    )
    if size is None:
        return None
    voltage, rest = float(size.number()), right.state.asked(energy.rest_high)
    if trip is not None and voltage >= trip:
        text = TRIPS_FIRST.format(trip=f"{digits(trip)} V")
        return Explanation(text, "hazard" if right.is_vertical else "electrical")
    if rest is None:
        return None
    burns = BURNS if voltage <= rest.value else ""
    text = AT_REST.format(voltage=in_words(rest), burns=burns)
    return Explanation(text, "electrical", (finding("DC link at high mains", rest),))


@explains("supply_voltage")
def mains(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The setting against the feed that is wired."""
    size, supply = of_kind(change.right_physical, ("voltage",)), _supply(right)
    if size is None:
        return None
    fed, stated = (None, None) if supply is None else (supply.voltage, si_number(supply.voltage))
    if stated is not None:
        same = abs(float(size.number()) - stated) <= 0.01 * stated
        return Explanation(SET_MAINS["same" if same else "other"].format(fed=fed), "electrical")
    high, low = (right.state.asked(rest) for rest in (energy.rest_high, energy.rest_low))
    if high is None or low is None:
        return None
    text = SET_MAINS["unknown"].format(high=in_words(high), low=in_words(low))
    figures = (finding("highest voltage at rest", high), finding("lowest voltage at rest", low))
    return Explanation(text, "electrical", figures)


@explains("undervoltage_threshold")
def undervoltage(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Above the lowest rest of the DC link the drive trips while the mains are low."""
    size, rest = of_kind(change.right_physical, ("voltage",)), right.state.asked(energy.rest_low)
    if size is None or size.ratio <= 0 or rest is None:
        return None
    trips = TRIPS if float(size.number()) > rest.value else ""
    text = LOW_MAINS.format(voltage=in_words(rest), trips=trips)
    return Explanation(text, "electrical", (finding("lowest voltage at rest", rest),))


@explains("supply_phases")
def phases(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The setting against the feed that is wired."""
    number, supply = chosen(change.right), _supply(right)
    fed = supply.phases if supply is not None else None
    text = PHASES.get((number or 0, fed))
    return None if text is None else Explanation(text, "electrical")
