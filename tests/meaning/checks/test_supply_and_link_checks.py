"""Energy, supply, controller link and ranges of a set."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.meaning.checks.sets import (
    SCREW,
    Settings,
    complaints,
    defined,
    parameter,
    recorded,
    the_complaint,
    view_of,
    with_mechanics,
)
from vault.meaning.axis_view import AxisView
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import parameters_text

# 100 kg; link of 470 uF from sqrt(2) x 400 V to 820 V: C (U2^2 - U1^2) / 2
# = 470e-6 x (672,400 - 320,000) / 2 = 82.81 J; m v^2 / 2 = 82.81 J at 1.2869 m/s.
HEAVY = {
    **with_mechanics(SCREW, moving_mass="100 kg"),
    "supply": {"voltage": "400 V", "dc_link_capacitance": "470 uF", "dc_link_trip": "820 V"},
    "motor": {"inertia": "1e-12 kg*m^2"},  # that does not count
}
UNUSED: Settings = {"braking_resistor_used": 0}


@pytest.mark.parametrize(("speed", "count"), [("1286 mm/s", 0), ("1288 mm/s", 1)])
def test_the_dc_link_takes_a_stop_without_a_resistor(speed: str, count: int) -> None:
    settings = {**UNUSED, "max_profile_velocity": speed}
    found = complaints("stop_energy", view_of(settings, HEAVY))
    assert len(found) == count
    assert all("82.81 J" in one.sentence for one in found)


def test_losses_are_not_counted_on() -> None:
    settings = {**UNUSED, "max_profile_velocity": "1300 mm/s"}  # 84.5 J
    lossy = with_mechanics(HEAVY, efficiency="0.9")
    for record in (HEAVY, lossy):
        found = the_complaint("stop_energy", view_of(settings, record))
        assert "up to 84.5 J" in found.sentence


@pytest.mark.parametrize("used", [{"braking_resistor_used": 1}, {}])
def test_with_a_resistor_or_without_knowing_nothing_is_said(used: Settings) -> None:
    view = view_of({**used, "max_profile_velocity": "9000 mm/s"}, HEAVY)
    assert not complaints("stop_energy", view)


def test_without_mass_or_link_nothing_is_said_about_energy() -> None:
    fast = {**UNUSED, "max_profile_velocity": "9000 mm/s"}
    assert complaints("stop_energy", view_of(fast, HEAVY))
    assert not complaints("stop_energy", view_of(fast, with_mechanics(HEAVY, moving_mass=None)))
    assert not complaints("stop_energy", view_of(fast, {**HEAVY, "supply": {}}))


RESISTOR = {"supply": {"resistor": "100 ohm", "resistor_power": "100 W", "resistor_energy": "1 kJ"}}


@pytest.mark.parametrize(
    ("role", "right", "wrong"),
    [
        ("braking_resistor_resistance", "100 ohm", "47 ohm"),
        ("braking_resistor_power", "101 W", "300 W"),
        ("braking_resistor_energy", "1000 J", "2000 J"),
    ],
)
def test_the_resistor_in_the_set_is_the_one_fitted(role: str, right: str, wrong: str) -> None:
    assert not complaints("resistor_ratings", view_of({role: right}, RESISTOR))
    assert complaints("resistor_ratings", view_of({role: wrong}, RESISTOR))
    assert not complaints("resistor_ratings", view_of({role: wrong, **UNUSED}, RESISTOR))
    assert not complaints("resistor_ratings", view_of({role: wrong}, {"supply": {}}))


@pytest.mark.parametrize(
    ("chosen", "fed", "words"),
    [(3, 3, None), (1, 1, None), (1, 3, "does not notice"), (3, 1, "trips"), (2, 3, None)],
)
def test_the_phases_set_are_those_fed(chosen: int, fed: int, words: str | None) -> None:
    setting = parameter("supply_phases", chosen)
    found = complaints(
        "supply_phases", view_of({"supply_phases": setting}, {"supply": {"phases": fed}})
    )
    assert [words in one.sentence for one in found if words] == ([True] if words else [])
    assert bool(found) is (words is not None)
    assert not complaints("supply_phases", view_of({"supply_phases": setting}))


TWO_MS = {"controller_link": {"task_period": "2 ms"}}


@pytest.mark.parametrize(("interval", "count"), [("2000 us", 0), ("1 ms", 1), ("0 ms", 0)])
@pytest.mark.parametrize("role", ["update_interval", "communication_cycle_period"])
def test_the_interval_is_the_task_period(role: str, interval: str, count: int) -> None:
    # 1006h holds nought where there is no cycle (CiA 301, from memory).
    assert len(complaints("update_interval", view_of({role: interval}, TWO_MS))) == count
    assert not complaints("update_interval", view_of({role: interval}))


@pytest.mark.parametrize(("mode", "period", "count"), [(8, 2, 0), (8, 1, 1), (1, 1, 0)])
def test_the_interpolation_time_counts_where_set_points_come_in_cycles(
    mode: int, period: int, count: int
) -> None:
    settings: Settings = {
        "modes_of_operation": mode,
        "interpolation_time_period": period,
        "interpolation_time_index": -3,
    }
    assert len(complaints("update_interval", view_of(settings, TWO_MS))) == count


@pytest.mark.parametrize(
    ("mode", "cycle", "rules"),
    [
        # 60C2h as it came, 1 ms; a profile drive on a bus of 4 ms runs in no steps of it.
        (1, "4000 us", []),
        (6, "4000 us", []),
        (1, "2000 us", ["update_interval"]),  # the bus cycle itself is not the task's
        (8, "4000 us", ["bus_cycle", "update_interval"]),
        (0, "4000 us", ["bus_cycle", "update_interval"]),  # the controller chooses the mode
        (None, "4000 us", ["bus_cycle", "update_interval"]),
    ],
)
def test_the_interpolation_time_tells_nothing_of_a_drive_that_makes_its_moves_itself(
    mode: int | None, cycle: str, rules: list[str]
) -> None:
    settings: Settings = {
        **({} if mode is None else {"modes_of_operation": mode}),
        "interpolation_time_period": 1,
        "interpolation_time_index": -3,
        "communication_cycle_period": cycle,
    }
    view = view_of(settings, {"controller_link": {"task_period": "4 ms"}})
    assert [r for r in ("bus_cycle", "update_interval") if complaints(r, view)] == rules
    places = {place for one in complaints("update_interval", view) for place in one.look_at}
    assert ("p/interpolation_time_period" in places) == ("bus_cycle" in rules)


LINK = {
    "controller_link": {"node_address": 11, "process_data_in": "24 byte", "process_data_out": "22"}
}


@pytest.mark.parametrize(("role", "right", "wrong"), [
    ("node_address", 11, 12),
    ("process_data_in_size", 24, 26),
])  # fmt: skip
def test_address_and_sizes_are_those_of_the_controller(role: str, right: int, wrong: int) -> None:
    assert not complaints("controller_agreement", view_of({role: right}, LINK))
    assert complaints("controller_agreement", view_of({role: wrong}, LINK))
    assert not complaints("controller_agreement", view_of({role: wrong}))


def test_a_size_that_the_record_gives_without_unit_is_left_alone() -> None:
    assert not complaints("controller_agreement", view_of({"process_data_out_size": 1}, LINK))


@pytest.mark.parametrize(
    ("entries", "count"),
    [
        # 16 + 32 bits, 6 byte; the controller takes 24.
        ({"0x1A00:01": 0x60410010, "0x1A00:02": 0x60640020}, 1),
        # Two entries of 96 bits (their objects are invented) are 24 byte.
        ({"0x1A00:01": 0x20000060, "0x1A00:02": 0x20010060}, 0),
        # Two mappings, and nothing says which of them is used.
        ({"0x1A00:01": 0x60410010, "0x1A01:01": 0x60640020}, 0),
    ],
)
def test_what_the_drive_maps_has_the_size_that_the_record_gives_the_controller(
    entries: dict[str, int], count: int
) -> None:
    mapped = ParameterSet(Parameter(code, code, raw, raw) for code, raw in entries.items())
    view = AxisView("x", parameters_text(mapped)).with_record(recorded(LINK))
    found = complaints("controller_agreement", view)
    assert len(found) == count
    assert all("set up for 6 byte from drive to controller" in one.sentence for one in found)
    assert all(one.look_at == ("0x1A00:01", "axis.yaml: controller_link") for one in found)


def test_the_interval_is_told_with_all_the_places_that_it_may_stand_in() -> None:
    settings: Settings = {
        "modes_of_operation": 8, "interpolation_time_period": 1, "interpolation_time_index": -3,
        "update_interval": "1 ms",
    }  # fmt: skip
    found = the_complaint("update_interval", view_of(settings, TWO_MS))
    assert set(found.look_at) == {
        "p/interpolation_time_period", "p/interpolation_time_index", "p/update_interval",
        "axis.yaml: controller_link",
    }  # fmt: skip


TIME = "following_error_time_out"


@pytest.mark.parametrize(
    ("value", "count"), [("1 ms", 0), ("0.9 ms", 1), ("1 s", 0), ("1.001 s", 1)]
)
def test_a_value_lies_in_its_family_s_range_in_whatever_unit(value: str, count: int) -> None:
    known = defined(TIME, low=Decimal(1), high=Decimal(1000))
    assert len(complaints("own_range", view_of({TIME: value}, definitions=known))) == count


@pytest.mark.parametrize(("low", "high", "words"), [
    (Decimal(5), None, "5 to any ms"),
    (None, Decimal(3), "any to 3 ms"),
])  # fmt: skip
def test_a_range_may_be_open_on_one_side(
    low: Decimal | None, high: Decimal | None, words: str
) -> None:
    known = defined(TIME, low=low, high=high)
    assert words in the_complaint("own_range", view_of({TIME: "4 ms"}, definitions=known)).sentence


def test_live_values_and_other_kinds_of_unit_are_left_alone() -> None:
    live = defined(TIME, low=Decimal(5), volatile=True)
    assert not complaints("own_range", view_of({TIME: "4 ms"}, definitions=live))
    other = defined(TIME, low=Decimal(5), unit="mm")
    assert not complaints("own_range", view_of({TIME: "4 ms"}, definitions=other))
    assert not complaints("own_range", view_of({TIME: "4 ms"}))
