"""Where the energy of a stop goes, and whether the drive knows its resistor and its supply."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import SAME_RATING, SUPPLY, sized_in
from vault.meaning.explainers.meanings import chosen_in, sized
from vault.meaning.findings import figure
from vault.meaning.sentences import size_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

OTHER_MAINS = (
    "The drive is set to mains of {set}, the cabinet feeds {fed}: it watches mains and DC link by "
    "the wrong voltage."
)
OTHER_RESISTOR = "{name} is {value}, the one fitted has {real}: the drive guards it wrongly."
PHASES = {
    1: "The cabinet feeds one phase, the drive is set to three: it trips on a missing phase.",
    3: "The cabinet feeds three phases, the drive is set to one: it does not notice a phase that "
    "is missing.",
}
"""By the phases of the cabinet."""

_USED = "braking_resistor_used"
_RESISTOR = (
    ("braking_resistor_resistance", "resistor", "resistance"),
    ("braking_resistor_power", "resistor_power", "power"),
    ("braking_resistor_energy", "resistor_energy", "energy"),
)


@rule
def resistor_ratings(view: AxisView) -> Iterator[Complaint]:
    """The drive guards the resistor by the ratings in the set: they are those of the one fitted."""
    supply = view.axis.supply if view.axis is not None else None
    if supply is None or chosen_in(view, _USED) == 0:
        return
    for role, attribute, kind in _RESISTOR:
        size, parameter = sized(view, role, (kind,)), view.find(role)
        real = sized_in(getattr(supply, attribute), kind)
        if size is None or parameter is None or real is None or size.ratio <= 0:
            continue
        times = size.number() / real.number()
        if abs(times - 1) <= SAME_RATING:
            continue
        yield Complaint(
            "resistor_ratings",
            "electrical",
            OTHER_RESISTOR.format(name=parameter.name, value=size_text(size), real=size_text(real)),
            (parameter.code, SUPPLY),
            (figure(f"{parameter.name} over fitted", float(times), SUPPLY, unit="1"),),
        )


@rule
def supply_voltage(view: AxisView) -> Iterator[Complaint]:
    """The voltage that the drive is set to against the one that is wired."""
    parameter, size = view.find("supply_voltage"), sized(view, "supply_voltage", ("voltage",))
    supply = view.axis.supply if view.axis is not None else None
    fed = sized_in(supply.voltage, "voltage") if supply is not None else None
    if parameter is None or size is None or size.ratio <= 0 or fed is None:
        return
    times = size.number() / fed.number()
    if abs(times - 1) <= SAME_RATING:
        return
    yield Complaint(
        "supply_voltage",
        "electrical",
        OTHER_MAINS.format(set=size_text(size), fed=size_text(fed)),
        (parameter.code, SUPPLY),
        (figure(f"{parameter.name} over fitted", float(times), SUPPLY, unit="1"),),
    )


@rule
def supply_phases(view: AxisView) -> Iterator[Complaint]:
    """The setting against the feed that is wired."""
    parameter, kind = view.find("supply_phases"), chosen_in(view, "supply_phases")
    supply = view.axis.supply if view.axis is not None else None
    if parameter is None or supply is None or supply.phases is None or kind not in (1, 3):
        return
    if kind == supply.phases:
        return
    said = PHASES[3 if supply.phases == 3 else 1]
    finding = Finding("phases fed", str(supply.phases), "1", SUPPLY)
    yield Complaint("supply_phases", "electrical", said, (parameter.code, SUPPLY), (finding,))
