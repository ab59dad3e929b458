"""Which differences explain a fault.

Standard codes are those of CiA 402-2 / IEC 61800-7-201, from memory; weights are common practice,
no source. Parameters and the family are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from vault.behaviour.behave import load_themes
from vault.behaviour.facts import FACTS, MARGINS
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change
from vault.meaning.compare import compare
from vault.meaning.fault_phrases import PHRASES
from vault.meaning.fault_records import SUBJECTS
from vault.meaning.fault_weights import WEIGHTS, Way, read_weights
from vault.meaning.faults import (
    FaultCode,
    Suspect,
    nearness,
    read_fault,
    suspects,
    weights_for,
)
from vault.meaning.implausible_faults import RULES, brings_about
from vault.model import roles
from vault.model.axis import AxisRecord, Brake, Encoder, Mechanics, Motor, Supply
from vault.model.errors import WrongUsage
from vault.model.families import Family
from vault.model.fault_table import STANDARD_FAULTS
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import read_family
from vault.store.files.parameters_text import parameters_text

FAMILIES = Path(__file__).parents[2] / "example_machines" / "families"


def family(name: str) -> Family:
    path = FAMILIES / f"{name}.yaml"
    return read_family(path.read_bytes(), str(path))


def found(fault: FaultCode, **sides: tuple[int, int, str | None]) -> list[Suspect]:
    """Suspects among changes of roles: before, after, unit."""
    views = [
        AxisView(
            "x",
            parameters_text(
                ParameterSet(
                    Parameter(role, role, values[side], values[side], role, values[2])
                    for role, values in sides.items()
                )
            ),
        )
        for side in (0, 1)
    ]
    changes = compare(*views).changes
    return suspects(changes, fault, *views)


def ranked(code: str, **sides: tuple[int, int, str | None]) -> dict[str, Suspect]:
    told = found(read_fault(code, None), **sides)
    return {suspect.name: suspect for suspect in told}


@pytest.mark.parametrize("text", ["8611", "8611h", "0x8611", " 0X8611 "])
def test_a_standard_code_is_read_in_every_spelling(text: str) -> None:
    assert read_fault(text, None) == FaultCode("8611h", "Following error too large", 0x8611)


@pytest.mark.parametrize("code", ["4310h", "5441h", "5442h", "7112h", "7305h", "8612h"])
def test_a_code_that_drives_use_for_more_than_the_standard_says_is_named_with_both(
    code: str,
) -> None:
    assert "in many drives" in read_fault(code, None).name


def test_the_encoder_fault_is_named_as_the_standard_does() -> None:
    """CiA 402-2, error codes (from memory): 7305h is "incremental sensor 1 fault"."""
    assert read_fault("7305h", None).name.startswith("Incremental sensor 1")


def test_a_code_of_the_family_is_read_first() -> None:
    assert read_fault("f-51", family("larch")) == FaultCode(
        "F-51", "Following error too large", 0x8611
    )
    assert read_fault("73", family("rowan")).standard == 0x5442


def test_a_standard_code_finds_the_family_s_own_name() -> None:
    assert read_fault("3210h", family("larch")).code == "F-11"


def test_an_unknown_code_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(WrongUsage, match="F-51"):
        read_fault("F-99", family("larch"))


@pytest.mark.parametrize("name", ["alder", "larch", "rowan"])
def test_every_fault_of_the_example_families_that_has_a_standard_code_can_be_explained(
    name: str,
) -> None:
    for code, fault in family(name).faults.items():
        found = read_fault(code, family(name))
        assert fault.standard is None or weights_for(found), code


def test_a_code_that_is_not_listed_counts_as_its_group() -> None:
    assert read_fault("2313", None).name == "Continuous over-current"
    assert weights_for(FaultCode("", "", 0x2313)) is WEIGHTS[0x2310]


def is_entry(name: str) -> bool:
    """Whether the axis record has such an entry."""
    section, _, key = name.partition(".")
    if section == "noted":
        return key in SUBJECTS
    field = AxisRecord.model_fields.get(section)
    sections = {"mechanics": Mechanics, "motor": Motor, "encoder": Encoder, "brake": Brake,
                "supply": Supply}  # fmt: skip
    return key in sections[section].model_fields if key else field is not None


def test_every_weight_belongs_to_a_role_or_an_entry_and_a_listed_code() -> None:
    load_themes()
    assert set(WEIGHTS) <= set(STANDARD_FAULTS)
    for weights in WEIGHTS.values():
        for role, weight in weights.items():
            assert roles.find(role) is not None or is_entry(role), role
            assert 0 < weight.weight <= 1
            assert weight.way in get_args(Way), role
            assert set(weight.margins) <= set(MARGINS) & set(PHRASES), role
            assert not weight.fact or weight.fact in FACTS, role


def test_following_error_ranks_a_narrowed_window_before_a_gain() -> None:
    found = ranked(
        "8611", following_error_window=(4, 2, "mm"), position_gain=(30, 15, "1/s"),
        home_offset=(0, 5, "mm"),
    )  # fmt: skip
    assert list(found) == ["following_error_window", "position_gain"]
    assert found["following_error_window"].score == 1
    assert found["position_gain"].score == pytest.approx(0.8)


def test_a_widened_window_makes_the_fault_rarer_and_is_said_to_hide_it() -> None:
    narrowed = ranked("8611", following_error_window=(4, 2, "mm"))["following_error_window"]
    widened = ranked("8611", following_error_window=(2, 4, "mm"))["following_error_window"]
    assert widened.score < narrowed.score
    assert "hide" in widened.why
    assert "hide" not in narrowed.why


def test_a_small_change_counts_less_than_a_large_one() -> None:
    small = ranked("8611", position_gain=(100, 95, "1/s"))["position_gain"]
    large = ranked("8611", position_gain=(100, 50, "1/s"))["position_gain"]
    assert 0 < small.score < large.score


def test_over_voltage_points_to_the_resistor_that_is_out_of_use() -> None:
    found = ranked(
        "3210", braking_resistor_used=(1, 0, None), profile_deceleration=(1000, 1100, "mm/s^2")
    )
    assert list(found) == ["braking_resistor_used", "profile_deceleration"]
    assert found["braking_resistor_used"].score == 1


def test_a_fault_that_no_parameter_explains_has_no_suspects() -> None:
    assert not ranked("8130", following_error_window=(4, 2, "mm"))


def test_a_shifted_value_is_a_suspect() -> None:
    # Half the rated torque: the same permille limit is half the torque.
    found = ranked(
        "8611", max_torque=(1000, 1000, "permille_rated_torque"),
        motor_rated_torque=(2000, 1000, "mN*m"),
    )  # fmt: skip
    change = found["max_torque"].change
    assert isinstance(change, Change) and change.kind == "shifted"
    # Weight 0.9, halved; told after the rating that is behind it, at half.
    assert found["motor_rated_torque"].score == pytest.approx(0.9)
    assert found["max_torque"].score == pytest.approx(0.45)
    assert found["max_torque"].why.endswith("behind it is rated torque")


@pytest.mark.parametrize(
    ("days", "counts"), [(-5, 1), (0, 1), (180, 0.5), (360, 0.25), (720, 0.1), (10_000, 0.1)]
)
def test_a_change_counts_half_after_half_a_year_and_a_tenth_at_least(
    days: float, counts: float
) -> None:
    assert nearness(days) == pytest.approx(counts)


def test_a_fault_without_a_standard_code_weighs_nothing() -> None:
    assert weights_for(FaultCode("E7", "Own", None)) == {}
    assert brings_about("doubled_address", FaultCode("E7", "Own", None)) is None


@pytest.mark.parametrize(
    ("rule", "code", "weight"),
    [
        ("doubled_address", "7500", 0.8),
        ("doubled_address", "8611", None),  # a lag comes from no address
        ("descent", "8611", 0.5),
        ("no_such_rule", "7500", None),
    ],
)
def test_what_a_check_finds_can_bring_about_a_fault(
    rule: str, code: str, weight: float | None
) -> None:
    found = brings_about(rule, read_fault(code, None))
    assert (found[0] if found is not None else None) == weight


def test_a_row_of_weights_is_read_with_its_margins_its_fact_and_its_functions() -> None:
    rows = """
        less 0.7 max_torque max_current @ load inertia : lift descent | less torque
        on 0.5 digital_input_function=1,2 | an input does it
        either 0.4 polarity | the other way round
    """
    found = read_weights({(0x8611, 0x8612): rows})
    assert found[0x8611] == found[0x8612]
    weights = found[0x8611]
    assert set(weights) == {"max_torque", "max_current", "digital_input_function", "polarity"}
    assert weights["max_torque"] == weights["max_current"]
    assert (weights["max_torque"].weight, weights["max_torque"].way) == (0.7, "less")
    assert (weights["max_torque"].fact, weights["max_torque"].margins) == (
        "load inertia", ("lift", "descent"),
    )  # fmt: skip
    assert (weights["polarity"].fact, weights["polarity"].margins) == ("", ())
    assert weights["digital_input_function"].functions == {1, 2}
    assert weights["digital_input_function"].reason == "an input does it"


@pytest.mark.parametrize("rule", RULES)
def test_what_a_check_finds_is_weighed_for_standard_codes(rule: str) -> None:
    codes, weight, reason = RULES[rule]
    assert set(codes) <= set(STANDARD_FAULTS)
    assert 0 < weight <= 1
    assert brings_about(rule, FaultCode("", "", codes[0])) == (weight, reason)
