"""Changes on another axis that can bring a fault about. Codes by CiA 402-2, from memory."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import parameter
from vault.meaning.changes import Change, Surrounding
from vault.meaning.coupled_faults import coupling
from vault.meaning.faults import FaultCode


def fault(standard: int | None) -> FaultCode:
    return FaultCode("E1", "a fault", standard)


def changed(role: str) -> Change:
    return Change("changed", "dynamics", parameter(role, 5), parameter(role, 8))


SUPPLY, BUS = "the supply that both may share", "the bus that both are on"


@pytest.mark.parametrize(
    ("standard", "role", "through"),
    [
        (0x3100, "braking_resistor_power", SUPPLY),
        (0x3FFF, "profile_deceleration", SUPPLY),
        (0x7110, "max_torque", SUPPLY),
        (0x711F, "max_torque", SUPPLY),
        (0x7120, "max_torque", None),
        (0x7500, "fieldbus_timeout", BUS),
        (0x8100, "fieldbus_timeout", BUS),
        (0x82FF, "fieldbus_timeout", BUS),
        (0x8300, "fieldbus_timeout", None),
        (0x8700, "fieldbus_timeout", BUS),
        (0x8700, "max_torque", None),
        (0x3210, "fieldbus_timeout", None),
        (None, "max_torque", None),
    ],
)
def test_axes_are_coupled_by_what_they_share(
    standard: int | None, role: str, through: str | None
) -> None:
    assert coupling(changed(role), fault(standard)) == through


@pytest.mark.parametrize(
    ("path", "standard", "through"),
    [
        ("supply.voltage", 0x3210, SUPPLY),
        ("mechanics.moving_mass", 0x3210, SUPPLY),
        ("motor.inertia", 0x3210, SUPPLY),
        ("duty.cycle", 0x3210, SUPPLY),
        ("controller_link.period", 0x8130, BUS),
        ("controller_link.period", 0x3210, None),
        ("brake.fitted", 0x3210, None),
    ],
)
def test_entries_of_the_record_couple_as_settings_of_their_theme(
    path: str, standard: int, through: str | None
) -> None:
    around = Surrounding(path, 1, 2, "dynamics", "")
    assert coupling(around, fault(standard)) == through


def test_what_nobody_knows_the_meaning_of_couples_nothing() -> None:
    bare = parameter("max_torque", 5)
    unknown = Change("changed", "record", None, type(bare)("X", "Thing", 5, 5))
    assert coupling(unknown, fault(0x3210)) is None
