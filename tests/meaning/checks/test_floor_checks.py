"""Floors that an axis record puts under margins, as `check` tells of them."""

from __future__ import annotations

from tests.meaning.checks.sets import LIFT, Settings, complaints, the_complaint, view_of

HELD = {**LIFT, "brake": {"fitted": True, "holding_torque": "2 N*m"}}
SET: Settings = {"velocity_gain": "100 1/s", "position_gain": "20 1/s"}


def test_a_floor_that_is_kept_is_no_complaint() -> None:
    # 100 / (4 x 20) = 1.25
    record = {**LIFT, "margins": {"loops_apart": "1.2"}}
    assert not complaints("margin_floor", view_of(SET, record))
    assert not complaints("margin_floor", view_of(SET, LIFT))


def test_a_margin_below_its_floor_is_told_with_its_figures() -> None:
    record = {**LIFT, "margins": {"loops_apart": "1.5"}}
    found = the_complaint("margin_floor", view_of(SET, record))
    assert "1.25, and the floor is 1.5." in found.sentence
    assert found.consequence == "dynamics"
    assert found.look_at[0] == "axis.yaml: margins.loops_apart"
    assert set(found.look_at[1:]) == {"p/position_gain", "p/velocity_gain"}
    assert [(one.quantity, one.value, one.unit) for one in found.findings] == [
        ("have", "100", "1/s"),
        ("need", "80", "1/s"),
        ("floor", "1.5", None),
    ]


def test_a_floor_under_a_margin_that_cannot_be_told_says_what_is_missing() -> None:
    record = {**LIFT, "margins": {"loops_apart": "1.5"}}
    found = the_complaint("margin_floor", view_of({"position_gain": "20 1/s"}, record))
    assert "cannot be told, and the floor is 1.5. Missing:" in found.sentence
    assert [one.quantity for one in found.findings] == ["floor"]


def test_a_floor_under_no_margin_is_told_with_the_name_that_is_near() -> None:
    record = {**LIFT, "margins": {"loops_apar": "1.5"}}
    found = the_complaint("margin_floor", view_of(SET, record))
    assert "'loops_apar', which is no margin" in found.sentence
    assert "loops_apart" in found.sentence
    assert found.look_at == ("axis.yaml: margins.loops_apar",)
