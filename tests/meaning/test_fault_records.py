"""What a change of the axis record does to a fault. Values are invented, shares by hand in the
comments; judgement is common practice, no source."""

from __future__ import annotations

from math import log2
from typing import Any

import pytest

from tests.meaning.test_fault_rankings import rankings, suspected, view
from vault.meaning.changes import Surrounding
from vault.meaning.fault_records import entries, weight_name
from vault.meaning.faults import Suspect


def told(
    fault: str, axis: str, record: dict[str, dict[str, object]], **after: object
) -> dict[str, Suspect]:
    """Suspects on an axis of the rankings whose record, and set, change so."""
    known = rankings()["axes"][axis]
    built: dict[str, Any] = dict(known["record"])
    for section, some in record.items():
        built[section] = {**built.get(section, {}), **some}
    built = {
        section: {key: value for key, value in some.items() if value is not None}
        for section, some in built.items()
    }
    views = view(known, known["set"]), view({"record": built}, {**known["set"], **after})
    return {suspect.name: suspect for suspect in suspected(fault, *views)}


def test_a_mass_counts_by_the_margins_that_it_used_up() -> None:
    found = told("8611h", "lift", {"mechanics": {"moving_mass": "90 kg"}})["mechanics.moving_mass"]
    assert "the torque limit is" in found.why
    assert 0.1 < found.score < 0.8
    lighter = told("8611h", "lift", {"mechanics": {"moving_mass": "40 kg"}})
    assert "may hide it" in lighter["mechanics.moving_mass"].why
    assert lighter["mechanics.moving_mass"].score < found.score / 2


def test_a_mass_that_is_the_same_in_another_unit_is_nothing() -> None:
    assert told("8611h", "lift", {"mechanics": {"moving_mass": "60.001 kg"}}) == {}


def test_a_gearbox_is_one_entry_whichever_number_changed() -> None:
    box = {"mechanics": {"gearbox": {"motor": 11, "output": 2}}}
    found = told("8612h", "gantry", box)
    assert found["mechanics.gearbox"].why.endswith("every commanded way is 1.82 times as long")
    sentence = found["mechanics.gearbox"].change.explanation
    assert "motor: 10 became 11" in sentence and "output: 1 became 2" in sentence
    assert sentence.count("A turn of the motor makes") == 1


def test_values_that_the_machine_shifted_are_told_after_it() -> None:
    found = told("8611h", "gantry", {"mechanics": {"gearbox": {"motor": 5, "output": 1}}})
    first, *shifted = found.values()
    assert first.name == "mechanics.gearbox"
    assert shifted
    assert all(s.why.endswith("behind it is the transmission of the machine") for s in shifted)
    slower = told("8611h", "gantry", {"mechanics": {"gearbox": {"motor": 8, "output": 1}}})
    first, *shifted = slower.values()
    assert first.name == "mechanics.gearbox"
    assert max(s.score for s in shifted) == first.score


def test_a_gear_that_was_changed_in_machine_and_set_alike_sends_nothing_elsewhere() -> None:
    both = told("8612h", "gantry", {"mechanics": {"gearbox": {"motor": 20, "output": 1}}},
                gear_ratio_motor_revolutions="20 rev")  # fmt: skip
    assert both == {}
    # Twice the gear is half the thrust that the motor needs for a push: it makes the fault rarer.
    lag = told("8611h", "gantry", {"mechanics": {"gearbox": {"motor": 5, "output": 1}}},
               gear_ratio_motor_revolutions="5 rev")  # fmt: skip
    assert list(lag) == ["mechanics.gearbox"]
    assert "the torque limit is" in lag["mechanics.gearbox"].why


def test_a_screw_of_another_lead_counts_where_the_set_scales_nothing() -> None:
    (found,) = told("8612h", "lift", {"mechanics": {"lead": "20.1 mm"}}).values()
    # 1.005 times the way: a quarter of the 2 % that count whole.
    assert found.score == pytest.approx(0.9 * 0.25)


def test_what_is_only_filled_in_changed_no_machine() -> None:
    assert told("8611h", "lift", {"encoder": {"single_turn_bits": 20}}) == {}


def test_what_was_struck_from_the_record_counts_little() -> None:
    gone = told("2310h", "lift", {"motor": {"rated_current": None}})["motor.rated_current"]
    assert gone.score == pytest.approx(0.8 * 0.25)
    assert gone.why.endswith("it was struck from the record")


def test_a_brake_that_was_fitted_stops_an_axis_whose_drive_does_not_work_it() -> None:
    fitted = {"brake": {"fitted": True, "holding_torque": "4 N*m"}}
    (found,) = told("7121h", "carriage", fitted).values()
    assert (found.name, found.score) == ("brake.fitted", 1)
    assert "brake.fitted" not in told("7121h", "carriage", fitted, brake_used="Yes (1)")


def test_a_slower_brake_counts_by_the_delay_that_it_leaves() -> None:
    found = told("7121h", "lift", {"brake": {"release_time": "70 ms"}})["brake.release_time"]
    # 80 ms of delay were 1.33 times the 60 ms, and are 1.14 times the 70 ms.
    assert found.score == pytest.approx(0.9 * log2(70 / 60) / log2(80 / 60))


def test_another_feed_counts_whole_and_without_a_figure() -> None:
    found = told("3220h", "lift", {"supply": {"phases": 1}})["supply.phases"]
    assert (found.score, found.why) == (1, "the feed is another one")


def test_a_resistor_of_more_ohms_brings_the_dc_link_up() -> None:
    filled_in = told("3210h", "lift", {"supply": {"resistor": "94 ohm"}})
    assert filled_in == {}  # the record had none before
    known = rankings()["axes"]["lift"]
    one = {**known["record"], "supply": {**known["record"]["supply"], "resistor": "47 ohm"}}
    other = {**one, "supply": {**one["supply"], "resistor": "94 ohm"}}
    views = [view({"record": record}, known["set"]) for record in (one, other)]
    (suspect,) = suspected("3210h", *views)
    assert suspect.name == "supply.resistor"
    assert "the resistor's peak power is" in suspect.why


def test_the_duty_is_one_entry() -> None:
    known = rankings()["axes"]["lift"]
    moves = [{"distance": "600 mm"}, {"distance": "-600 mm"}]
    longer = {**known["record"], "duty": {"cycle": "4 s", "moves": moves}}
    (found,) = suspected("4310h", view(known, known["set"]), view({"record": longer}, known["set"]))
    assert found.name == "duty"


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("controller_link.node_address", "noted.link"),
        ("controller_link.Watchdog time", "noted.link"),
        ("controller_link.scaling", "noted.scaling"),
        ("cabinet.phase order", "noted.direction"),
        ("cabinet.mains fuse", "noted.supply"),
        ("cabinet.brake_supply", "noted.brake"),
        ("cabinet.limit switch low", "noted.over_travel"),
        ("cabinet.door", "noted.otherwise"),
        ("mechanics.lead", "mechanics.lead"),
    ],
)
def test_settings_that_people_name_count_by_what_they_are_about(key: str, name: str) -> None:
    assert weight_name(key) == name


def test_a_cabinet_setting_counts_for_the_faults_that_it_is_about() -> None:
    known = rankings()["axes"]["carriage"]
    one, other = (
        view({"record": {**known["record"], "controller_link": {"node_address": n}}}, known["set"])
        for n in (12, 13)
    )
    (found,) = suspected("8130h", one, other)
    assert (found.name, found.score) == ("controller_link.node_address", 0.9)
    assert suspected("8612h", one, other) == []


def test_the_worst_part_of_an_entry_is_its_class() -> None:
    rows = [
        Surrounding("mechanics.gearbox.motor", 1, 2, "travel", "a."),
        Surrounding("mechanics.gearbox.output", 1, 2, "hazard", "b."),
        Surrounding("nameplate.motor", "x", "y", "electrical", "c."),
        Surrounding("margins.stop_room", "2", "0.5", "hazard", "d."),
        Surrounding("supply.phases", None, 3, "electrical", "e."),
    ]
    assert entries(rows) == [Surrounding("mechanics.gearbox", None, None, "hazard", "a. b.")]


def test_a_gearbox_written_in_other_numbers_is_nothing() -> None:
    for fault in ("8611h", "8612h"):
        assert told(fault, "lift", {"mechanics": {"gearbox": {"motor": 4, "output": 2}}}) == {}
