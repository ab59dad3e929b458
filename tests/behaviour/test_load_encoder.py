"""The encoder at the load: what the drive reckons with, worked out by hand. Axes are invented.

A screw of 16 mm behind 4:1 moves 4 mm in a motor revolution: 4,000 counts of 1 um. A table behind
10:1 with 3,600,000 counts a turn gives 360,000. (60E6h over 60EBh: CiA 402-2, from memory.)
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, complaints, the_complaint, view_of
from vault.behaviour.behave import behave
from vault.behaviour.facts import Fact
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change
from vault.meaning.compare import compare

COUNTS, TURNS = "additional_encoder_increments", "additional_encoder_motor_revolutions"
TABLE = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 10, "output": 1}}}
MICROMETRE = {"step": "1 um"}
RATIO = "ratio of the load encoder"


def axis(
    settings: Settings, fitted: Mapping[str, Any] | None, record: Mapping[str, Any] = SCREW
) -> AxisView:
    return view_of(settings, record if fitted is None else {**record, "load_encoder": fitted})


def ratio(settings: Settings, fitted: Mapping[str, Any] | None, record: Any = SCREW) -> Fact:
    return behave(axis(settings, fitted, record).state).facts[RATIO]


@pytest.mark.parametrize(
    ("settings", "fitted", "record", "expected"),
    [
        ({COUNTS: 4000}, MICROMETRE, SCREW, 1),
        ({COUNTS: 16_000, TURNS: 4}, MICROMETRE, SCREW, 1),
        ({COUNTS: 16_000, TURNS: 1}, MICROMETRE, SCREW, 4),  # as if there were no gear
        ({COUNTS: 4000}, {"step": "0.5 um"}, SCREW, 0.5),
        ({COUNTS: 360_000}, {"counts": 3_600_000}, TABLE, 1),
        ({COUNTS: 360_000}, {"step": "0.001 deg"}, TABLE, 10),  # 36,000 counts
    ],
)
def test_the_ratio_is_of_counts_as_reckoned_and_as_built(
    settings: Settings, fitted: dict[str, Any], record: dict[str, Any], expected: float
) -> None:
    assert ratio(settings, fitted, record).value == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("settings", "fitted", "record", "missing"),
    [
        ({COUNTS: 4000}, None, SCREW, "load_encoder.step"),
        ({COUNTS: 4000}, {"counts": 3_600_000}, SCREW, "load_encoder.step"),
        ({COUNTS: 4000}, {"step": "1 um"}, TABLE, "load_encoder.counts"),
        ({}, MICROMETRE, SCREW, COUNTS),
    ],
)
def test_what_the_ratio_lacks_is_asked_for(
    settings: Settings, fitted: dict[str, Any] | None, record: dict[str, Any], missing: str
) -> None:
    assert ratio(settings, fitted, record).missing == (missing,)


def test_no_counts_and_a_linear_motor_have_no_ratio() -> None:
    motor = {"mechanics": {"kind": "linear_motor", "pole_pitch": "30 mm"}}
    for settings, record in (({COUNTS: 0}, SCREW), ({COUNTS: 4000}, motor)):
        assert RATIO not in behave(axis(settings, MICROMETRE, record).state).facts


@pytest.mark.parametrize(
    ("closes", "consequence", "words"),
    [
        (True, "hazard", "what is positioned by it goes 4 times as far as it is told."),
        (None, "hazard", "if the drive positions by it, the axis goes 4 times as far as told."),
        (False, "travel", "where it watches the axis, a way counts for 0.25 times what it is."),
    ],
)
def test_a_wrong_ratio_is_told_by_what_the_encoder_is_for(
    closes: bool | None, consequence: str, words: str
) -> None:
    told = the_complaint(
        "load_encoder", axis({COUNTS: 16_000}, {"step": "1 um", "closes_position": closes})
    )
    assert told.consequence == consequence
    assert told.sentence == (
        "The drive reckons with 16,000 counts of the load encoder in a motor revolution, the "
        f"machine gives 4,000: {words}"
    )


def test_a_ratio_off_by_less_than_one_in_a_hundred_is_no_hazard_and_a_right_one_is_not_told() -> (
    None
):
    assert the_complaint("load_encoder", axis({COUNTS: 4010}, MICROMETRE)).consequence == "travel"
    assert not complaints("load_encoder", axis({COUNTS: 4000}, MICROMETRE))
    assert not complaints("load_encoder", axis({COUNTS: 4000}, None))


def changed(
    before: int, after: int, fitted: dict[str, Any] | None, sides: tuple[str, str] | None = None
) -> Change:
    views = (axis({**CARRIAGE, COUNTS: counts}, fitted) for counts in (before, after))
    (change,) = compare(*views, sides=sides).changes
    return change


@pytest.mark.parametrize(
    ("before", "after", "fitted", "consequence", "words"),
    [
        (4000, 16_000, MICROMETRE, "hazard", "goes 4 times as far as it is told instead of 1."),
        (16_000, 4000, MICROMETRE, "travel", "is 4,000 counts of the load encoder, as built."),
        (4000, 16_000, {"step": "1 um", "closes_position": False}, "travel", "as built 4,000"),
        (4000, 16_000, None, "hazard", "positioned by the load encoder goes 4 times as far."),
        (4000, 4040, None, "travel", "cannot be told: enter load_encoder.step."),
    ],
)
def test_a_change_of_the_ratio_is_classed_by_what_is_off(
    before: int, after: int, fitted: dict[str, Any] | None, consequence: str, words: str
) -> None:
    change = changed(before, after, fitted)
    assert change.consequence == consequence
    text = f"{change.explanation} {change.more}"
    assert words in text
    assert "see 6064h and 60E4h go the same way" in text


def test_of_two_axes_the_one_whose_ratio_is_off_makes_a_hazard_on_either_side() -> None:
    for before, after in ((4000, 16_000), (16_000, 4000)):
        assert changed(before, after, MICROMETRE, ("m1/x", "m1/y")).consequence == "hazard"


@pytest.mark.parametrize(
    ("fitted", "words"),
    [
        ({"closes_position": True}, "measured at the load, the following error has"),
        ({"step": "1 um"}, "if the drive positions by its load encoder, the following error has"),
        ({"closes_position": False}, None),
        (None, None),
    ],
)
def test_a_following_error_at_the_load_is_hedged(
    fitted: dict[str, Any] | None, words: str | None
) -> None:
    settings = {
        **CARRIAGE, "modes_of_operation": 1, "profile_velocity": "300 mm/s",
        "position_gain": "30 1/s", "following_error_window": "20 mm",
    }  # fmt: skip
    hedge = behave(axis(settings, fitted).state).margins["window_profile"].hedge
    assert (words or "") in hedge
    assert bool(words) == ("what twists and plays" in hedge)


def test_a_mark_may_be_the_one_of_the_load_encoder() -> None:
    for fitted, told in ((MICROMETRE, True), ({"closes_position": False}, False), (None, False)):
        views = (axis({**CARRIAGE, "homing_method": method}, fitted) for method in (1, 17))
        (change,) = compare(*views).changes
        assert (
            "If the mark is one of the load encoder" in change.explanation + change.more
        ) is told
