"""What of a dictionary is valid and still wrong; and which roles protect. Family is invented."""

from __future__ import annotations

import pytest

from vault.behaviour.scaling import SCALING_ROLES
from vault.model import roles
from vault.model.errors import Unreadable
from vault.model.family_doubts import doubts
from vault.model.protecting_roles import protects
from vault.store.files.edited_files import read_family

FAMILY = """\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented)
export: {format: delimited, columns: {code: Code, value: Value}}
groups: {cooling: Cooling water}
always: [A1]
parameters:
  A1: {name: Homing method, role: homing_method, type: INTEGER8, group: homing}
  A2: {name: Flow, group: cooling}
"""


def reasons(text: str) -> list[tuple[str, tuple[str | int, ...]]]:
    return [(d.reason, d.path) for d in doubts(read_family(text.encode(), "hazel.yaml"))]


def test_known_and_declared_groups_raise_no_doubt() -> None:
    assert reasons(FAMILY) == []


def test_an_unknown_group_names_the_one_that_was_meant() -> None:
    ((reason, path),) = reasons(FAMILY.replace("group: cooling}", "group: colling}"))
    assert reason.startswith("unknown group 'colling'; did you mean cooling? A group of your own")
    assert path == ("parameters", "A2", "group")


def test_a_group_like_no_other_is_told_how_to_be_declared() -> None:
    ((reason, _),) = reasons(FAMILY.replace("group: cooling}", "group: xyz}"))
    assert reason == (
        "unknown group 'xyz'; a group of your own is declared under groups: {NAME: Title}"
    )


@pytest.mark.parametrize("role", ["homing_method", "brake_used", "polarity"])
def test_a_choice_or_flag_takes_no_text_type(role: str) -> None:
    text = FAMILY.replace("homing_method", role).replace("INTEGER8", "VISIBLE_STRING")
    ((reason, path),) = reasons(text)
    assert "cannot be of the text type VISIBLE_STRING; did you mean" in reason
    assert path == ("parameters", "A1", "type")


def test_a_text_role_may_have_a_text_type() -> None:
    assert (
        reasons(
            FAMILY.replace("homing_method, type: INTEGER8", "device_name, type: VISIBLE_STRING")
        )
        == []
    )


def test_what_must_always_be_there_must_be_a_parameter() -> None:
    ((reason, path),) = reasons(FAMILY.replace("always: [A1]", "always: [A9]"))
    assert reason.startswith("A9 must always be there, and is no parameter")
    assert path == ("always", 0)


def test_what_a_firmware_changes_is_looked_at_too() -> None:
    variant = 'variants: [{firmware: ">=2", parameters: {A1: {type: VISIBLE_STRING}}}]\n'
    ((reason, path),) = reasons(FAMILY + variant)
    assert reason.startswith("a choice (homing_method) cannot be of the text type")
    assert path == ("variants", 0, "parameters", "A1", "type")


@pytest.mark.parametrize("key", ["role", "suggest"])
def test_a_misspelt_role_names_the_one_that_was_meant(key: str) -> None:
    text = FAMILY.replace("role: homing_method", f"{key}: homing_metod")
    with pytest.raises(Unreadable, match="did you mean homing_method"):
        read_family(text.encode(), "hazel.yaml")


@pytest.mark.parametrize(
    ("role", "is_protecting"),
    [
        ("following_error_window", True),
        ("safe_limited_speed", True),
        ("digital_input_function.3", True),
        ("position_gain", False),
        ("profile_velocity", False),
        (None, False),
    ],
)
def test_what_protects_is_known_by_its_role(role: str | None, is_protecting: bool) -> None:
    assert protects(role) == is_protecting


@pytest.mark.parametrize(
    ("old", "new", "line", "key"),
    [
        ("parameters:", "open: perhaps\nparameters:", 7, "open"),
        ("always: [A1]", "always: A1", 6, "always"),
        ("always: [A1]", "always: {A1: true}", 6, "always"),
        ("groups: {cooling: Cooling water}", "groups: [cooling]", 5, "groups"),
        ("cooling: Cooling water", "Cooling water: Cooling", 5, "groups.Cooling water"),
        ("cooling: Cooling water", "cooling: [Water]", 5, "groups.cooling"),
        ("name: Flow,", "name: Flow, suggest: [jog],", 9, "parameters.A2.suggest"),
        ("name: Flow,", "name: Flow, suggest: jogging_speed_x,", 9, "parameters.A2.suggest"),
    ],
)
def test_a_key_of_another_shape_is_named_with_its_line(
    old: str, new: str, line: int, key: str
) -> None:
    with pytest.raises(Unreadable) as it:
        read_family(FAMILY.replace(old, new, 1).encode(), "hazel.yaml")
    assert (it.value.file, it.value.line) == ("hazel.yaml", line)
    assert it.value.message.startswith(f"{key}")


def test_an_open_dictionary_and_a_suggestion_are_kept_as_they_are_written() -> None:
    text = FAMILY.replace("parameters:", "open: true\nparameters:", 1)
    family = read_family(
        text.replace("name: Flow,", "name: Flow, suggest: jog_velocity,").encode(), ""
    )
    written = family.model_dump(mode="json", by_alias=True, exclude_unset=True)
    assert (written["open"], written["always"]) == (True, ["A1"])
    assert written["groups"] == {"cooling": "Cooling water"}
    assert written["parameters"]["A2"]["suggest"] == "jog_velocity"
    assert family.parameters["A2"].role is None


def test_what_scales_protects_too() -> None:
    lacking = [role for role in SCALING_ROLES if not protects(role)]
    assert lacking == []
    assert all(protects(role) for role in ("velocity_factor_divisor", "encoder_multi_turn_bits"))


@pytest.mark.parametrize(
    ("role", "unit", "meant"),
    [
        ("following_error_window", "kW", "mm, deg or user_position"),
        ("motor_temperature_limit", "C", "degC"),
        ("max_profile_velocity", "mm", "mm/s, r/min or user_velocity"),
        ("motor_rated_current", "V", "A, A_rms or A_pk"),
        ("following_error_time_out", "Hz", "ms or s"),
    ],
)
def test_a_unit_that_a_role_cannot_be_in_is_doubted(role: str, unit: str, meant: str) -> None:
    text = FAMILY.replace("homing_method, type: INTEGER8, group: homing", f"{role}, unit: {unit}")
    assert reasons(text) == [
        (f"{role} cannot be in {unit}; did you mean {meant}?", ("parameters", "A1", "unit"))
    ]


@pytest.mark.parametrize(
    ("role", "unit"),
    [
        ("following_error_window", "mm"), ("following_error_window", "increments"),
        ("max_current", "A_pk"), ("max_torque", "percent"), ("motor_rated_power", "kW"),
        ("max_motor_speed", "Hz"), ("position_gain", "1/s"),
    ],
)  # fmt: skip
def test_a_unit_that_fits_is_not_doubted(role: str, unit: str) -> None:
    text = FAMILY.replace("homing_method, type: INTEGER8, group: homing", f"{role}, unit: {unit}")
    assert reasons(text) == []


@pytest.mark.parametrize("role", [r for r in roles.all_roles() if r.unit], ids=lambda r: r.name)
def test_the_unit_of_every_role_fits_it(role: roles.Role) -> None:
    name = f"{role.name}, unit: {role.unit}"
    text = FAMILY.replace("homing_method, type: INTEGER8, group: homing", name)
    assert reasons(text) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("{format: delimited,", "{format: delimited, delimeter: ';',", "did you mean delimiter?"),
        ("name: Flow,", "name: Flow, scal: 2,", "did you mean scale?"),
        ("name: Flow,", "name: Flow, unit: KW,", "unknown unit 'KW'; did you mean kW?"),
        ("name: Flow,", "name: Flow, unit: A_peak,", "unknown unit 'A_peak'; did you mean A_pk?"),
        ("title:", "titel:", "did you mean title?"),
    ],
)
def test_what_is_misspelled_gets_a_suggestion(old: str, new: str, said: str) -> None:
    with pytest.raises(Unreadable) as caught:
        read_family(FAMILY.replace(old, new, 1).encode(), "hazel.yaml")
    assert said in str(caught.value)
