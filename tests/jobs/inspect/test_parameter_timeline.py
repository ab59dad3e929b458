"""A parameter over time in one unit, beside golden value, waiver and what the drive takes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.baseline import golden
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.inspect.history import parameter_history
from vault.jobs.inspect.parameter_timeline import Timeline, parameter_timeline
from vault.jobs.records.edit import set_axis
from vault.meaning.reader import reading_in
from vault.model.names import Address
from vault.store.vault import Vault

Export = Callable[..., str]
LIFT = Address("m1", "lift")


def course_of(vault: Vault, code: str, address: Address = LIFT) -> Timeline | None:
    return parameter_timeline(vault, address, list(parameter_history(vault, address, code)))


def values(course: Timeline | None) -> list[float | None]:
    assert course is not None
    return [point.value for point in course.points]


@pytest.fixture
def visited(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Three visits: the window went from 2.5 mm to 9 mm and back to 3 mm."""
    for day, lag in ((1, "2,5"), (2, "9"), (3, "3")):
        take(export_text(lag), f"2026-03-0{day}T08:00:00+00:00")
    return vault


def test_values_are_in_the_unit_that_the_reader_wants(visited: Vault) -> None:
    course = course_of(visited, "lim/lag")
    assert values(course) == [2.5, 9, 3]
    assert course is not None
    assert (course.unit, course.golden, course.allowed) == ("mm", None, None)
    with reading_in("inch"):
        course = course_of(visited, "lim/lag")
        assert values(course) == pytest.approx([2.5 / 25.4, 9 / 25.4, 3 / 25.4])  # 1 in = 25.4 mm
        assert course is not None
        assert course.unit == "in"


def test_the_golden_value_and_what_a_waiver_allows(visited: Vault) -> None:
    golden.approve(visited, f"{LIFT}@first", BY, "as delivered")
    golden.waive(
        visited,
        LIFT,
        parse_waiver_request(
            "lim/lag", allow="0.2..0.4 cm", until="2099-01-01", reason="until the new belt"
        ),
        BY,
    )
    course = course_of(visited, "lim/lag")
    assert course is not None
    assert course.golden is not None
    assert (course.golden.value, course.golden.text) == (2.5, "2.5 mm")
    assert course.allowed is not None
    low, high = course.allowed
    assert low is not None
    assert high is not None
    assert (low.value, high.value) == pytest.approx((2, 4))


def test_a_waiver_that_has_ended_allows_nothing(visited: Vault) -> None:
    golden.approve(visited, f"{LIFT}@first", BY, "as delivered")
    golden.waive(
        visited,
        LIFT,
        parse_waiver_request(
            "lim/lag", allow="..4 mm", until="2099-01-01", reason="until the new belt"
        ),
        BY,
    )
    course = course_of(visited, "lim/lag")
    assert course is not None
    assert course.allowed is not None
    assert course.allowed[0] is None
    golden.waive(
        visited,
        LIFT,
        parse_waiver_request("lim/lag", allow="any", until="2099-01-01", reason="anything goes"),
        BY,
    )
    course = course_of(visited, "lim/lag")
    assert course is not None
    assert course.allowed is None  # there are no bounds to draw


def test_a_twin_shows_whose_golden_value_it_is(
    visited: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    record = tmp_path / "axis.yaml"
    record.write_text("schema: axisvault/axis/1\nfollows: m1/lift\n")
    for day, lag in ((1, "4"), (2, "5")):
        take(export_text(lag), f"2026-04-0{day}", to="m2/lift", name=f"{day}.csv")
    set_axis(visited, Address("m2", "lift"), record, BY)
    golden.approve(visited, f"{LIFT}@first", BY, "as delivered")
    course = course_of(visited, "lim/lag", Address("m2", "lift"))
    assert course is not None
    assert course.golden is not None
    assert (course.golden.value, course.golden_of) == (2.5, "m1/lift")


def test_choices_texts_and_single_values_have_no_course(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01")
    assert course_of(vault, "lim/lag") is None
    take(export_text("2,5"), "2026-03-02")
    assert values(course_of(vault, "lim/lag")) == [2.5, 2.5]
    assert course_of(vault, "ref/way") is None


def test_a_snapshot_without_it_is_a_gap(vault: Vault, take: Take, export_text: Export) -> None:
    without = export_text("2,5").replace("set/3;Setting 3;10;\r\n", "")
    for day, text in ((1, export_text("2,5")), (2, without), (3, export_text("2,5"))):
        take(text, f"2026-03-0{day}", override_reason="a line is missing")
    assert values(course_of(vault, "set/3")) == [10, None, 10]


def test_steps_are_as_the_machine_makes_them(plant: Vault) -> None:
    """The lift's window: 4 mm in the drive all the time, but a sixteenth of it for one night.

    The spray carriage: other numbers in other units, and the same motion.
    """
    lift = course_of(plant, "0x6065:00", Address("glaze-line-1", "lift"))
    assert values(lift)[-3:] == [4, 0.25, 4]
    carriage = course_of(plant, "0x6065:00", Address("glaze-line-1", "spray-carriage"))
    assert set(values(carriage)) == {2}


def test_what_the_drive_takes_is_in_the_same_unit(plant: Vault) -> None:
    course = course_of(plant, "0x6072:00", Address("glaze-line-1", "belt-feed"))
    assert course is not None
    assert course.unit == "N*m"
    assert course.low is not None
    assert course.high is not None
    # 4 times the rated torque of 4.77 N*m, and 1.8 and 2.8 times it for the values.
    assert (course.low.value, course.high.value) == pytest.approx((0, 4 * 4.77))
    assert (values(course)[0], values(course)[-1]) == pytest.approx((1.8 * 4.77, 2.8 * 4.77))
