"""What the axis record adds to the numbers of a set. Sets and machines are invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from vault.meaning.axis_view import AxisView
from vault.meaning.explainers.following import steady_lag
from vault.meaning.reader import reading_in
from vault.model.hazard_policy import HazardPolicy
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet
from vault.model.quantities import physical
from vault.store.files.edited_files import read_axis
from vault.store.files.parameters_text import parameters_text

DEFINITION = Definition("g", "Gain", None, None, Decimal(1), None, {})


def view(gain_unit: str | None, written: str | None = None) -> AxisView:
    said = "" if gain_unit is None else f"position_gain_unit: {gain_unit}\n"
    return AxisView(
        "x",
        parameters_text(
            ParameterSet(
                [
                    Parameter("g", "Gain", Decimal("1.2"), 120, "position_gain", written),
                    Parameter("v", "Speed", 500, 500, "profile_velocity", "mm/s"),
                ]
            )
        ),
        axis_text=f"schema: axisvault/axis/1\n{said}".encode(),
        read_axis=lambda text: read_axis(text, "axis.yaml"),
    )


def test_a_gain_without_unit_takes_it_from_the_axis_record() -> None:
    # 1.2 (m/min)/mm = 1.2 x 1000 / 60 = 20 1/s (from the units alone): 500 mm/s lag 25 mm.
    found = view("(m/min)/mm").physical("position_gain")
    assert found is not None
    assert found.ratio == Fraction(20)
    lag = steady_lag(view("(m/min)/mm"), "profile_velocity")
    assert lag is not None
    assert lag[2] == pytest.approx(0.025)


def test_the_unit_of_the_family_comes_first() -> None:
    found = view("(m/min)/mm", "1/s").physical("position_gain")
    assert found is not None
    assert found.ratio == Fraction(12, 10)


def test_without_any_unit_no_lag_is_guessed() -> None:
    assert view(None).physical("position_gain") is None
    assert steady_lag(view(None), "profile_velocity") is None


def test_a_view_with_other_parameters_keeps_all_that_is_known_of_the_axis() -> None:
    policy = HazardPolicy(0.02, 2)
    known = AxisView(
        "x", view(None).text, "hazel", lambda: {"g": DEFINITION}, nameplate={"drive": "A-1"},
        axis_text=b"schema: axisvault/axis/1\nposition_gain_unit: 1/s\n",
        read_axis=lambda text: read_axis(text, "axis.yaml"), may_lack=lambda: True,
        defaults=lambda: {"g"}, read_policy=lambda: policy,
    )  # fmt: skip
    speed = Parameter("v", "Speed", 700, 700, "profile_velocity", "mm/s")
    other = known.with_others({"profile_velocity": speed, "position_gain": None})
    assert (other.name, other.family, other.nameplate) == ("x", "hazel", {"drive": "A-1"})
    assert other.definitions == {"g": DEFINITION}
    assert other.may_lack
    assert other.defaults == {"g"}
    assert other.policy is policy
    assert other.axis == known.axis
    assert other.si("profile_velocity") == pytest.approx(0.7)
    assert other.find("position_gain") is None
    assert known.si("profile_velocity") == pytest.approx(0.5)


def test_a_view_on_another_machine_keeps_the_set() -> None:
    known = view("1/s")
    record = read_axis(b"schema: axisvault/axis/1\nbrake: {fitted: false}\n", "axis.yaml")
    other = known.with_record(record)
    assert other.axis is record
    assert other.has_brake is False
    assert known.has_brake is None
    assert other.si("profile_velocity") == known.si("profile_velocity")
    assert (other.name, other.family) == (known.name, known.family)


@pytest.mark.parametrize(
    ("written", "defined", "unit"),
    [("A", "A_rms", "A_rms"), ("A", "A_pk", "A_pk"), ("A", "A", "A"), ("A", "mA", "A"),
     ("A_pk", "A_rms", "A_pk"), ("mA", "A_rms", "mA"), ("A", None, "A")],
)  # fmt: skip
def test_a_current_is_read_in_the_ampere_that_its_dictionary_says(
    written: str, defined: str | None, unit: str
) -> None:
    current = Parameter("g", "Current", 5, 5, "max_current", written)
    known = AxisView(
        "x",
        parameters_text(ParameterSet([current])),
        look_up=lambda: {} if defined is None else {"g": replace(DEFINITION, unit=defined)},
    )
    found = known.find("max_current")
    assert found is not None
    assert found.unit == unit


def test_the_torque_of_a_linear_motor_is_a_force() -> None:
    record = read_axis(
        b"schema: axisvault/axis/1\nmechanics: {kind: linear_motor, pole_pitch: 30 mm}\n",
        "axis.yaml",
    )
    torque, speed = physical(5, "N*m"), physical(5, "mm/s")
    direct = view(None).with_record(record).at_motor(torque)
    assert direct is not None
    assert (direct.kind, direct.unit, direct.ratio) == ("force", "N", 5)
    assert view(None).at_motor(torque) == torque
    assert view(None).with_record(record).at_motor(speed) == speed
    assert view(None).at_motor(None) is None


def test_a_value_of_the_drive_s_own_unit_is_shown_as_it_stands() -> None:
    known = view(None)
    speed = Parameter("v", "Speed", 254, 254, "profile_velocity", "mm/s")
    assert known.shown(speed) == "254 mm/s"
    with reading_in("inch"):
        assert known.shown(speed) == "10 in/s"
        assert known.shown(speed, both=True) == "254 mm/s, 10 in/s,"
        assert known.shown(replace(speed, unit=None)) == "254"
    assert known.shown(None) == "-"
