"""The recorded duty against its cycle, the stroke and the speeds of the set."""

from __future__ import annotations

from typing import Any

import pytest

from tests.meaning.checks.sets import (
    LIFT,
    SCREW,
    Settings,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)
from vault.meaning.axis_view import AxisView

SLIDE = {
    **with_mechanics(SCREW, stroke="500 mm", moving_mass="40 kg"),
    "motor": {"inertia": "1e-4 kg*m^2"},
}
RAMPS = {"speed": "0.2 m/s", "acceleration": "1 m/s^2", "deceleration": "1 m/s^2"}
OUT, BACK = {"distance": "200 mm", **RAMPS}, {"distance": "-200 mm", **RAMPS}


def working(
    *moves: dict[str, Any],
    cycle: str = "4 s",
    record: Any = SLIDE,
    settings: Settings | None = None,
) -> AxisView:
    return view_of(settings or {}, {**record, "duty": {"cycle": cycle, "moves": [*moves]}})


# s / v + v / a = 0.2 / 0.2 + 0.2 / 1 = 1.2 s a move, 2.4 s out and back.
@pytest.mark.parametrize(("cycle", "count"), [("2.4 s", 0), ("2.3 s", 1)])
def test_the_moves_of_a_duty_fit_in_its_cycle(cycle: str, count: int) -> None:
    assert len(complaints("duty_cycle", working(OUT, BACK, cycle=cycle))) == count


def test_a_cycle_too_short_is_told_with_both_times() -> None:
    settings: Settings = {"profile_velocity": "100 mm/s"}
    found = the_complaint("duty_cycle", working(OUT, BACK, cycle="2 s", settings=settings))
    assert "take 2.4 s, its cycle is 2 s" in found.sentence
    assert found.consequence == "dynamics"
    assert found.look_at == ("axis.yaml: duty", "p/profile_velocity")
    assert [(one.quantity, one.value, one.unit) for one in found.findings] == [
        ("time of the moves", "2.4", "s"),
        ("cycle", "2", "s"),
    ]


def test_moves_without_a_way_back_are_told_with_where_they_end() -> None:
    assert not complaints("duty_way_back", working(OUT, BACK))
    found = the_complaint("duty_way_back", working(BACK))
    assert "end 200 mm from where they began" in found.sentence
    assert (found.consequence, found.look_at) == ("dynamics", ("axis.yaml: duty",))
    assert (found.findings[0].value, found.findings[0].unit) == ("-0.2", "m")


def test_an_axis_without_ends_may_go_on_for_ever_unless_its_load_hangs() -> None:
    assert not complaints("duty_way_back", working(OUT, record=SCREW))
    assert complaints("duty_way_back", working(OUT, record=LIFT))


@pytest.mark.parametrize(("far", "count"), [("500 mm", 0), ("501 mm", 1)])
def test_the_moves_of_a_duty_fit_in_the_stroke(far: str, count: int) -> None:
    there, back = {**OUT, "distance": far}, {**OUT, "distance": f"-{far}"}
    assert len(complaints("duty_stroke", working(there, back, cycle="20 s"))) == count


def test_moves_beyond_the_stroke_are_told_by_their_outermost_places() -> None:
    # 300 mm one way of the start and 400 mm the other: 700 mm in all.
    ways = [{**OUT, "distance": f"{way} mm"} for way in (300, -700, 400)]
    found = the_complaint("duty_stroke", working(*ways, cycle="20 s"))
    assert "go over 700 mm, the stroke is 500 mm" in found.sentence
    assert found.consequence == "travel"
    assert found.look_at == ("axis.yaml: duty", "axis.yaml: mechanics")
    assert [(one.value, one.unit) for one in found.findings] == [("0.7", "m"), ("0.5", "m")]


def test_without_a_stroke_no_move_is_too_far() -> None:
    assert not complaints("duty_stroke", working({**OUT, "distance": "9 m"}, record=SCREW))


@pytest.mark.parametrize(("most", "count"), [("200 mm/s", 0), ("199 mm/s", 1)])
def test_no_move_is_faster_than_the_set_lets_the_axis_go(most: str, count: int) -> None:
    view = working(OUT, BACK, settings={"max_profile_velocity": most, "profile_velocity": most})
    assert len(complaints("duty_speed", view)) == count


def test_the_fastest_move_of_several_is_the_one_that_is_told() -> None:
    settings: Settings = {"max_profile_velocity": "150 mm/s", "profile_velocity": "100 mm/s"}
    slow = {k: v for k, v in BACK.items() if k != "speed"}
    found = the_complaint("duty_speed", working(slow, OUT, settings=settings))
    assert "moves at 200 mm/s, the set lets the axis go 150 mm/s" in found.sentence
    assert found.consequence == "dynamics"
    assert found.look_at == ("axis.yaml: duty", "p/max_profile_velocity", "p/profile_velocity")
    assert [one.unit for one in found.findings] == ["m/s", "m/s"]
    assert [float(one.value) for one in found.findings] == pytest.approx([0.2, 0.15])


@pytest.mark.parametrize("rule", ["duty_cycle", "duty_way_back", "duty_stroke", "duty_speed"])
def test_without_a_duty_nothing_is_said_of_one(rule: str) -> None:
    assert not complaints(rule, view_of({"max_profile_velocity": "100 mm/s"}, SLIDE))
