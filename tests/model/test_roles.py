"""Roles and the choices behind them.

Outside reference: the CiA 402 profile of the library `canopen` (`canopen.profiles.p402`), for
object indexes, operating modes and homing methods. What goes beyond it is CiA 402-2 /
IEC 61800-7-201 and CiA 301, from memory.
"""

from __future__ import annotations

import inspect
import re
from collections import Counter

import pytest
from canopen.profiles import p402

from vault.model import choices, roles
from vault.model.datatypes import BY_NAME
from vault.model.quantities import canonical_unit, unit_named
from vault.model.roles import GROUPS, KINDS, Role

ROLES = roles.all_roles()
MEASURED = frozenset(
    [
        "time",
        "frequency",
        "torque",
        "current",
        "voltage",
        "power",
        "energy",
        "resistance",
        "inductance",
        "inertia",
        "temperature",
        "gain",
        "rated_torque",
        "rated_current",
    ]
)
USER_UNITS = {
    "position": "user_position",
    "velocity": "user_velocity",
    "acceleration": "user_acceleration",
    "jerk": "user_jerk",
}
HOMING_METHODS = {
    name: numbers if isinstance(numbers, tuple) else (numbers,)
    for name, numbers in vars(p402.Homing).items()
    if name.startswith("HM_")
}
OPERATION_MODES = dict(p402.OperationMode.CODE2NAME)


def named(name: str) -> Role:
    role = roles.find(name)
    assert role is not None
    return role


def label(table: str, number: int) -> str:
    text = choices.label(table, number)
    assert text is not None
    return text


# The table


def test_at_least_eighty_roles_stand_for_a_standard_object() -> None:
    assert sum(role.object is not None for role in ROLES) >= 80


def test_no_name_is_given_twice() -> None:
    assert [name for name, n in Counter(role.name for role in ROLES).items() if n > 1] == []


def test_no_object_is_given_twice() -> None:
    objects = Counter(role.object for role in ROLES if role.object)
    assert [code for code, n in objects.items() if n > 1] == []


def test_no_title_is_given_twice() -> None:
    assert [title for title, n in Counter(role.title for role in ROLES).items() if n > 1] == []


def test_a_role_has_a_known_kind_group_type_and_access() -> None:
    known = ("rw", "ro", "wo", "const")
    assert {role.kind for role in ROLES} <= set(KINDS)
    assert {role.group for role in ROLES} <= set(dict(GROUPS))
    assert {role.data_type for role in ROLES} <= set(BY_NAME)
    assert {role.access for role in ROLES} <= set(known)


def test_a_role_has_its_unit_in_the_one_spelling() -> None:
    units = {role.unit for role in ROLES if role.unit is not None}
    assert {unit for unit in units if canonical_unit(unit) != unit} == set()


def test_a_measured_role_has_a_unit_of_its_kind() -> None:
    measured = [role for role in ROLES if role.kind in MEASURED and role.unit is not None]
    assert {role.kind for role in measured} == MEASURED
    assert [r.name for r in measured if unit_named(r.unit or "").kind != r.kind] == []


def test_a_role_of_motion_is_in_user_units() -> None:
    moving = {role.name: (role.kind, role.unit) for role in ROLES if role.kind in USER_UNITS}
    assert set(moving.values()) == set(USER_UNITS.items())


def test_a_role_is_a_choice_or_flag_if_and_only_if_it_has_a_table() -> None:
    chosen = {role.name for role in ROLES if role.kind in ("choice", "flag")}
    assert {role.name for role in ROLES if role.choices is not None} == chosen
    assert {role.name for role in ROLES if choices.table(role.choices or "")} == chosen


def test_the_numbers_of_a_choice_fit_its_data_type() -> None:
    def fits(role: Role) -> bool:
        kind = BY_NAME[role.data_type]
        assert kind.low is not None and kind.high is not None, role.name
        return all(kind.low <= n <= kind.high for n in choices.table(role.choices or ""))

    assert [role.name for role in ROLES if role.choices and not fits(role)] == []


def test_a_choice_of_a_standard_object_has_a_standard_table() -> None:
    tables = {r.choices: choices.is_standard(r.choices) for r in ROLES if r.choices and r.object}
    # A controller asks for homing by the same numbers; it has no object of its own.
    others = {
        r.choices: choices.is_standard(r.choices)
        for r in ROLES
        if r.choices and not r.object and r.name != "controller_homing_method"
    }
    assert set(tables.values()) == {True}
    assert set(others.values()) == {False}


def test_a_standard_object_lies_in_a_standard_area() -> None:
    # From memory: CiA 301, communication profile 1000h to 1FFFh; CiA 402, first axis to 67FFh.
    areas = range(0x1000, 0x2000), range(0x6000, 0x6800)
    objects = [role.object for role in ROLES if role.object]
    assert [o for o in objects if not any(int(o[:6], 16) in area for area in areas)] == []


def test_a_role_is_found_by_its_object_and_by_its_name() -> None:
    assert [role for role in ROLES if roles.find(role.name) is not role] == []
    assert [r for r in ROLES if r.object and roles.for_object(r.object) is not r] == []


def test_every_table_is_used_by_a_role() -> None:
    assert set(choices.tables()) == {role.choices for role in ROLES if role.choices}


def test_no_label_stands_twice_in_a_table() -> None:
    doubled = {
        (name, text)
        for name, table in choices.tables().items()
        for text, n in Counter(table.values()).items()
        if n > 1
    }
    assert doubled == set()


def test_what_a_drive_measures_is_live_and_cannot_be_written() -> None:
    measured = [role for role in ROLES if "actual" in role.name]
    assert len(measured) >= 8
    assert all(role.volatile and role.access == "ro" for role in measured)


def test_roles_of_the_safety_group_are_marked_as_such() -> None:
    assert all(role.safety for role in ROLES if role.group == "safety")


# Numbered roles


def test_a_numbered_role_is_found_under_any_number_of_it() -> None:
    assert roles.find("digital_input_function.3") is named("digital_input_function")


@pytest.mark.parametrize(
    "name",
    [
        "homing_method.2",
        "digital_input_function.0",
        "digital_input_function.03",
        "digital_input_function.",
        "digital_input_function.x",
        "digital_input_function.1.2",
        "no_such_role",
        "",
    ],
)
def test_other_names_are_no_role(name: str) -> None:
    assert roles.find(name) is None


def test_an_array_entry_is_the_numbered_role_of_its_array() -> None:
    # CiA 301 object 1016h, consumer heartbeat time: an array of U32; from memory.
    role = roles.for_object("0x1016:03")
    assert role is not None
    assert (role.name, role.object) == ("consumer_heartbeat_time.3", "0x1016:03")
    assert (role.kind, role.data_type) == ("bits", "UNSIGNED32")
    assert roles.find(role.name) is named("consumer_heartbeat_time")


@pytest.mark.parametrize("code", ["0x1016:00", "0x1016:FF", "0x6098:01", "0x2000:00", "6098", ""])
def test_other_objects_have_no_role(code: str) -> None:
    assert roles.for_object(code) is None


# Against canopen.profiles.p402


def test_every_object_that_the_outside_profile_uses_has_a_role() -> None:
    used = set(re.findall(r"\b0x6[0-9A-F]{3}\b", inspect.getsource(p402)))
    assert len(used) >= 8
    assert [code for code in sorted(used) if roles.for_object(f"{code}:00") is None] == []


@pytest.mark.parametrize(
    ("name", "code"),
    [  # Purpose and index as the comments and docstrings of canopen.profiles.p402 (2.x) give them.
        ("controlword", "0x6040:00"),
        ("statusword", "0x6041:00"),
        ("modes_of_operation", "0x6060:00"),
        ("modes_of_operation_display", "0x6061:00"),
        ("target_torque", "0x6071:00"),
        ("target_position", "0x607A:00"),
        ("target_velocity", "0x60FF:00"),
        ("supported_drive_modes", "0x6502:00"),
    ],
)
def test_a_role_has_the_object_that_the_outside_profile_uses_for_it(name: str, code: str) -> None:
    assert code[:6] in inspect.getsource(p402)
    assert named(name).object == code


@pytest.mark.parametrize(("number", "name"), OPERATION_MODES.items())
def test_an_operating_mode_is_called_as_the_outside_profile_calls_it(
    number: int, name: str
) -> None:
    ours = label("modes_of_operation", number)
    assert ours.upper() == name.replace("PROFILED", "PROFILE")


def test_there_are_no_operating_modes_beside_those_of_the_outside_profile() -> None:
    # Mode 11 is of a later edition of CiA 402-2 than the outside profile (from memory).
    assert set(choices.table("modes_of_operation")) - {11} == set(OPERATION_MODES)


@pytest.mark.parametrize(
    ("name", "number"),
    [(name, n) for name, numbers in HOMING_METHODS.items() for n in numbers if n > 0],
)
def test_a_homing_method_means_what_the_outside_profile_calls_it(name: str, number: int) -> None:
    words = name.removeprefix("HM_ON_").removeprefix("THE_").lower().replace("current", "present")
    ours = label("homing_method", number).lower()
    phrases = ("negative", "positive", "limit_switch", "home_switch", "index_pulse", "present")
    for phrase in phrases:
        assert (phrase.replace("_", " ") in ours) == (phrase in words)


def test_no_homing_is_number_zero_as_in_the_outside_profile() -> None:
    assert HOMING_METHODS["HM_NO_HOMING_OPERATION"] == (0,)
    assert label("homing_method", 0) == "No homing"


def test_homing_methods_of_makers_have_no_label() -> None:
    makers = [n for numbers in HOMING_METHODS.values() for n in numbers if n < 0]
    assert makers
    assert all(choices.label("homing_method", number) is None for number in makers)


# Meaning of the labels: CiA 402-2, from memory


@pytest.mark.parametrize("number", range(1, 15))
def test_homing_methods_17_to_30_are_1_to_14_without_the_index_pulse(number: int) -> None:
    with_pulse, without = label("homing_method", number), label("homing_method", number + 16)
    assert "index pulse" in with_pulse
    assert with_pulse.replace(" and index pulse", "") == without


@pytest.mark.parametrize(("number", "mirrored"), [(7, 11), (8, 12), (9, 13), (10, 14)])
def test_homing_methods_11_to_14_are_7_to_10_mirrored(number: int, mirrored: int) -> None:
    ours = label("homing_method", number)
    swapped = ours.replace("negative", "\0")
    swapped = swapped.replace("positive", "negative").replace("\0", "positive")
    assert swapped == label("homing_method", mirrored)


@pytest.mark.parametrize(
    ("number", "side"), [(3, "outside"), (4, "inside"), (5, "outside"), (6, "inside")]
)
def test_a_home_switch_is_met_on_the_side_that_the_number_says(number: int, side: str) -> None:
    assert side in label("homing_method", number)


@pytest.mark.parametrize("number", [15, 16, 31, 32])
def test_reserved_homing_methods_have_no_label(number: int) -> None:
    assert choices.label("homing_method", number) is None


@pytest.mark.parametrize("number", range(9))
def test_a_quick_stop_above_four_ends_with_power_on_and_below_with_power_off(number: int) -> None:
    text = label("quick_stop_option_code", number)
    assert ("power on" in text) == (number > 4)
    assert ("output off" in text.lower()) == (number <= 4)


@pytest.mark.parametrize("number", range(1, 5))
def test_quick_stop_codes_with_power_on_stop_as_those_with_power_off(number: int) -> None:
    off, on = (label("quick_stop_option_code", n) for n in (number, number + 4))
    assert off.split(",")[0] == on.split(",")[0]


@pytest.mark.parametrize("number", range(5))
def test_a_fault_reaction_ends_with_power_off_however_it_stops(number: int) -> None:
    text = label("fault_reaction_option_code", number)
    assert text == label("quick_stop_option_code", number)


@pytest.mark.parametrize("number", range(1, 5))
def test_a_halt_ends_with_power_on_however_it_stops(number: int) -> None:
    assert label("halt_option_code", number) == label("quick_stop_option_code", number + 4)


@pytest.mark.parametrize(
    ("table", "number"),
    [
        ("quick_stop_option_code", 0),
        ("shutdown_option_code", 0),
        ("disable_operation_option_code", 0),
        ("fault_reaction_option_code", 0),
        ("abort_connection_option_code", 2),
    ],
)
def test_where_power_goes_off_at_once_the_label_says_that_the_motor_coasts(
    table: str, number: int
) -> None:
    assert "coasts" in label(table, number)


@pytest.mark.parametrize(
    ("number", "text"),
    [(0, "No reaction"), (1, "Fault reaction"), (3, "Quick stop")],
)
def test_a_lost_connection_has_the_reactions_of_the_standard(number: int, text: str) -> None:
    assert label("abort_connection_option_code", number) == text


@pytest.mark.parametrize(
    ("number", "word"),
    [(3, "Permanent-magnet synchronous"), (7, "squirrel cage"), (8, "Stepper"), (5, "reluctance")],
)
def test_a_motor_type_has_the_meaning_of_the_standard(number: int, word: str) -> None:
    assert word in label("motor_type", number)


def test_an_unknown_table_or_number_has_no_label() -> None:
    assert choices.label("no_such_table", 0) is None
    assert choices.label("homing_method", 99) is None
    assert choices.table("no_such_table") == {}


def test_tables_cannot_be_altered() -> None:
    with pytest.raises(TypeError):
        choices.table("homing_method")[0] = "x"  # type: ignore[index]
