"""Which floors of an axis record are not shown to be kept, and what is said of each."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from vault.behaviour.facts import Bound, Margin
from vault.meaning.floors import counted, no_margins, unkept

ROOM = Margin("stop_room", "stop", "protects", 0.025, 0.02, "m", 1.25, "exact", "a against b")
FLOOR = Decimal("1.2")


@pytest.mark.parametrize(
    ("ratio", "bound", "why"),
    [
        (1.25, "exact", None),
        (1.2, "exact", None),
        (1.2 - 1e-12, "exact", None),
        (1.19, "exact", "below"),
        (1.19, "up_to", "below"),
        (1.19, "at_least", "below"),
        (1.25, "at_least", None),
        (1.25, "up_to", "untold"),
        (1.25, "unknown", "untold"),
        (float("inf"), "exact", None),
        (-0.3, "exact", "below"),
        (None, "unknown", "untold"),
    ],
)
def test_a_floor_is_kept_where_the_ratio_is_shown_to_be_no_less(
    ratio: float | None, bound: Bound, why: str | None
) -> None:
    margin = replace(ROOM, ratio=ratio, bound=bound)
    found = unkept({"stop_room": FLOOR}, {"stop_room": margin})
    assert [one.why for one in found] == ([] if why is None else [why])


@pytest.mark.parametrize(
    ("ratio", "bound", "said"),
    [
        (1.1, "exact", "1.1, and the floor is 1.2."),
        (1.1, "at_least", "at least 1.1, and the floor is 1.2."),
        (1.9, "up_to", "up to 1.9, so that nobody can tell whether it is kept; the floor is 1.2."),
    ],
)
def test_a_sentence_says_what_there_is_and_what_is_asked_for(
    ratio: float, bound: Bound, said: str
) -> None:
    margin = replace(ROOM, ratio=ratio, bound=bound)
    (found,) = unkept({"stop_room": FLOOR}, {"stop_room": margin})
    assert found.sentence == f"Room behind the software limits against a quick stop: {said}"


def test_a_margin_that_the_axis_has_no_more_keeps_no_floor() -> None:
    """Software limits that are switched off take the room away, and no ratio falls."""
    (found,) = unkept({"stop_room": FLOOR}, {})
    assert (found.why, found.consequence) == ("senseless", "hazard")
    assert (found.ratio, found.bound, found.missing) == (None, "unknown", ())
    assert "the axis as it is set has no such margin, and the floor is 1.2" in found.sentence


def test_what_is_missing_is_said() -> None:
    margin = replace(ROOM, ratio=None, bound="unknown", missing=("mechanics.moving_mass",))
    (found,) = unkept({"stop_room": FLOOR}, {"stop_room": margin})
    assert found.missing == ("mechanics.moving_mass",)
    assert found.sentence == (
        "Room behind the software limits against a quick stop: cannot be told, and the floor is "
        "1.2. Missing: mechanics.moving_mass (what moves along the axis, in kg)."
    )


def test_the_consequence_is_that_of_the_margin() -> None:
    low = replace(ROOM, ratio=0.5)
    floors = {"stop_room": FLOOR, "rms_torque": FLOOR, "window": FLOOR, "no_such": FLOOR}
    margins = {
        "stop_room": low,
        "rms_torque": replace(low, name="rms_torque", theme="heat", kind="availability"),
        "window": replace(low, name="window", theme="following", kind="availability"),
    }
    found = {one.name: one.consequence for one in unkept(floors, margins)}
    assert found == {
        "stop_room": "hazard", "rms_torque": "electrical", "window": "dynamics",
        "no_such": "record",
    }  # fmt: skip


def test_a_name_that_is_no_margin_is_told_with_a_near_one() -> None:
    assert no_margins({"stop_rom": FLOOR, "stop_room": FLOOR}) == ["stop_rom"]
    (found,) = unkept({"stop_rom": FLOOR}, {})
    assert found.sentence.endswith("'stop_rom', which is no margin; did you mean stop_room?")


def test_they_are_counted_apart() -> None:
    low = unkept({"stop_room": FLOOR}, {"stop_room": replace(ROOM, ratio=0.5)})
    gone = unkept({"stop_room": FLOOR}, {})
    assert counted(()) == ""
    assert counted((*low, *low)) == "2 margins below their floors"
    assert counted((*low, *gone)) == "1 margin below its floor, 1 floor not known to be kept"
