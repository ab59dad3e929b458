"""Which end a load falls to: by the axis record, else by the torque that holds it. All invented."""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, axis
from tests.meaning.checks.sets import with_mechanics
from vault.behaviour.behave import margins_of
from vault.behaviour.facts import Margin
from vault.behaviour.room import falling_room

# Software limits 0 to 600 mm: 80 mm of room below, 45 mm above.
UNEVEN = with_mechanics(LIFT_RECORD, hard_stop_low="-80 mm")


def margin(name: str, mechanics: dict[str, Any], **settings: Any) -> Margin:
    return margins_of(axis("lift", with_mechanics(UNEVEN, **mechanics), **settings).state)[name]


@pytest.mark.parametrize(
    ("mechanics", "settings", "room", "bound"),
    [
        ({"down": "low"}, {}, 0.080, "exact"),
        ({"down": "high"}, {}, 0.045, "exact"),
        ({"down": "low", "counterbalance": "1.2"}, {}, 0.045, "exact"),
        ({}, {"torque_offset": 200}, 0.080, "exact"),
        ({}, {"torque_offset": -200}, 0.045, "exact"),
        ({}, {"torque_offset": 200, "polarity": 128}, 0.045, "at_least"),
        ({}, {}, 0.045, "at_least"),
        ({"hard_stop_low": "-45 mm"}, {}, 0.045, "exact"),
    ],
)
def test_a_drop_has_the_room_at_the_end_that_it_goes_to(
    mechanics: dict[str, Any], settings: dict[str, Any], room: float, bound: str
) -> None:
    found = axis("lift", with_mechanics(UNEVEN, **mechanics), **settings).state
    told = found.ask(falling_room)
    assert (told.value, told.bound) == (pytest.approx(room), bound)
    assert margins_of(found)["drop_room"].have == pytest.approx(room)


@pytest.mark.parametrize(("down", "limit"), [("low", 3.2), ("high", 4.8)])
def test_the_limit_of_the_way_that_lifts_is_what_holds(down: str, limit: float) -> None:
    # 1,000 and 1,500 permille of 3.2 N*m; positive torque goes to the high end.
    held = margin("hold", {"down": down}, positive_torque_limit=1000, negative_torque_limit=1500)
    assert held.have == pytest.approx(limit)
    assert held.need == pytest.approx(0.9365, rel=1e-3)


def test_a_turned_axis_leaves_open_which_torque_lifts() -> None:
    limits = {"positive_torque_limit": 1000, "negative_torque_limit": 1500, "polarity": 192}
    held = margin("hold", {"down": "high"}, **limits)
    assert (held.have, held.bound) == (pytest.approx(3.2), "at_least")
