"""What a margin says: each has a sentence and places to look at, whatever is added."""

from __future__ import annotations

from math import inf
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import with_mechanics
from vault.behaviour.behave import load_themes, margins_of
from vault.behaviour.facts import MARGINS, Margin
from vault.meaning.checks import margins as checks
from vault.meaning.margin_sentences import BELOW, amount, below

load_themes()


@pytest.mark.parametrize("name", MARGINS)
def test_every_margin_has_a_sentence_and_a_place(name: str) -> None:
    assert BELOW[name].endswith(".")
    assert name in checks.LOOK_AT or name in checks._ELSEWHERE


def test_what_may_be_less_is_told_as_up_to() -> None:
    # The torque limit decides the way, and friction may help.
    limits = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    weak = axis("lift", **dict.fromkeys(limits, 340))
    margin = margins_of(weak.state)["stop_room"]
    assert margin.bound == "at_least"
    assert "a quick stop takes up to" in below(margin, weak.state)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.045, "m", "45 mm"), (0.5, "s", "500 ms"), (58.63, "deg", "58.63 deg"),
     (2.0, "N*m", "2 N*m"),
     (inf, "m", "a way without end"), (inf, "N*m", "without end"),
     (None, "m", "unknown"), (3.14159265, "rad", "180 deg")],
)  # fmt: skip
def test_a_figure_is_told_in_the_reader_s_unit(value: float | None, unit: str, text: str) -> None:
    assert amount(value, unit) == text


def short(name: str, have: float | None, need: float | None, **more: Any) -> Margin:
    unit = more.pop("unit", "m")
    usual: dict[str, Any] = {"bound": "exact", "basis": "a against b", **more}
    return Margin(name, "stop", "protects", have, need, unit, 0.5, **usual)


@pytest.mark.parametrize(
    ("margin", "says", "not_said"),
    [
        (short("stop_room", 0.020, 0.025), ("25 mm", "20 mm"), "up to"),
        (short("stop_room", 0.020, 0.025, bound="at_least"), ("up to 25 mm", "20 mm"), "beyond"),
        (short("stop_room", 0.020, 0.025, bound="up_to"), ("25 mm", "20 mm"), "up to"),
        (short("stop_room", -0.020, 0.025), ("lies 20 mm beyond the hard stop",), "-20"),
        (short("stop_room", -0.020, 0.025, bound="up_to"), ("up to 25 mm",), "-20"),
        (short("stop_room", -0.020, 0.025, bound="at_least"), ("25 mm",), "up to"),
        (short("stop_room", 0.020, inf), ("nothing brakes the axis", "20 mm"), "25 mm"),
        (short("fault_room", 0.020, inf), ("At a fault nothing brakes",), "quick stop"),
        (short("stop_time", 0.5, inf, unit="s"), ("does not come to an end",), "500 ms"),
        (short("brake_apply", 0.030, 0.040, unit="s"), ("40 ms", "for 30 ms", "10 ms"), "sinks"),
        (short("stop_energy", 80, 100, unit="J"), ("up to 100 J", "80 J"), "shares"),
        (short("phase", 15, 20, unit="deg", bound="at_least"), ("15 deg", "20 deg"), "up to"),
    ],
)  # fmt: skip
def test_a_margin_below_1_is_told_with_what_there_is_and_what_it_takes(
    margin: Margin, says: tuple[str, ...], not_said: str
) -> None:
    text = below(margin, axis("lift").state)
    assert all(part in text for part in says)
    assert not_said not in text
    assert "None" not in text
    assert "{" not in text


def test_a_load_that_is_more_than_balanced_rises() -> None:
    margin = short("brake_apply", 0.030, 0.040, unit="s")
    balanced = with_mechanics(LIFT_RECORD, counterbalance="1.2")
    assert "which rises" in below(margin, axis("lift", balanced).state)
    assert "which drops" in below(margin, axis("lift").state)


def test_a_shared_dc_link_is_told_with_the_other_axes() -> None:
    shared = {**LIFT_RECORD, "supply": {**LIFT_RECORD["supply"], "shared_with": ["press/feed"]}}
    energy, room = short("stop_energy", 80, 100, unit="J"), short("stop_room", 0.020, 0.025)
    state = axis("lift", shared).state
    assert "shares its DC link with press/feed" in below(energy, state)
    assert "shares" not in below(room, state)


def test_what_a_duty_does_not_say_is_told_as_taken() -> None:
    duty = {"cycle": "4 s", "moves": [{"distance": "300 mm"}, {"distance": "-300 mm"}]}
    margin = short("rms_torque", 2, 3, unit="N*m")
    state = axis("lift", {**LIFT_RECORD, "duty": duty}).state
    assert "does not act in this mode" in below(margin, state)
    profile = axis("lift", {**LIFT_RECORD, "duty": duty}, modes_of_operation=1).state
    assert "does not act in this mode" not in below(margin, profile)
    assert "does not act" not in below(short("stop_room", 0.020, 0.025), state)


def test_places_to_look_at_are_those_of_margins() -> None:
    assert set(checks.LOOK_AT) <= set(MARGINS)
