"""Objects that are several things at once: what differs within them.

Fields of 1016h after CiA 301, of 607Eh, 60FEh and 60C2h after CiA 402-2, from memory. Values are
invented.
"""

from __future__ import annotations

import pytest

from tests.meaning.test_fault_rankings import view
from vault.behaviour.state import State
from vault.meaning.composed_objects import differing, watched

HEARTBEAT = "consumer_heartbeat_time"


def state(**written: object) -> State:
    return view({"record": {}}, {r.replace("__", "."): v for r, v in written.items()}).state


def entry(node: int, milliseconds: int) -> int:
    return node * 0x10000 + milliseconds


def said(role: str, left: State, right: State) -> list[str] | None:
    parts = differing(role, left, right)
    return None if parts is None else [part.words for part in parts]


def test_a_heartbeat_entry_is_a_node_and_a_time() -> None:
    both = state(
        consumer_heartbeat_time=entry(5, 100),
        consumer_heartbeat_time__2=entry(6, 0),  # no time: not watched
        consumer_heartbeat_time__3=entry(0, 200),  # no node: not watched
        consumer_heartbeat_time__4=entry(127, 65535),
    )
    assert watched(both) == {5: 100, 127: 65535}


def test_nodes_in_another_order_are_the_same_list() -> None:
    left = state(consumer_heartbeat_time=entry(1, 100), consumer_heartbeat_time__2=entry(2, 50))
    right = state(consumer_heartbeat_time=entry(2, 50), consumer_heartbeat_time__2=entry(1, 100))
    assert said(HEARTBEAT, left, right) == []
    assert said(f"{HEARTBEAT}.2", left, right) == []


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (entry(1, 500), entry(1, 100), ["node 1 is watched within 100 ms instead of 500 ms"]),
        (entry(1, 500), 0, ["node 1 is not watched any more"]),
        (0, entry(1, 500), ["node 1 is watched within 500 ms, and was not"]),
        (entry(1, 500), entry(2, 500), [
            "node 1 is not watched any more", "node 2 is watched within 500 ms, and was not",
        ]),
    ],
)  # fmt: skip
def test_what_differs_is_told_by_node(before: int, after: int, told: list[str]) -> None:
    left, right = state(consumer_heartbeat_time=before), state(consumer_heartbeat_time=after)
    assert said(HEARTBEAT, left, right) == told


@pytest.mark.parametrize(
    ("before", "after", "mode", "told"),
    [
        (0, 0x80, "Profile position (1)", ["the sign of positions is turned"]),
        (0, 0x80, "Profile velocity (3)", []),
        (0x40, 0, "Profile velocity (3)", ["the sign of velocities is turned"]),
        (0x40, 0, "Cyclic synchronous position (8)", []),
        (0, 0xC0, None, ["the sign of positions is turned", "the sign of velocities is turned"]),
        (0, 0x3F, None, []),
    ],
)
def test_a_polarity_bit_turns_what_the_mode_uses(
    before: int, after: int, mode: str | None, told: list[str]
) -> None:
    known = {} if mode is None else {"modes_of_operation": mode}
    left, right = state(polarity=before, **known), state(polarity=after, **known)
    assert said("polarity", left, right) == told


def test_of_the_outputs_only_the_brake_has_a_meaning_of_its_own() -> None:
    role = "digital_outputs_mask"
    assert said(role, state(digital_outputs_mask=1), state(digital_outputs_mask=0x10001)) == []
    assert said(role, state(digital_outputs_mask=0), state(digital_outputs_mask=1)) == [
        "the controller may command the brake (bit 0)"
    ]


def test_a_time_of_two_entries_is_compared_as_one() -> None:
    left = state(guard_time="100 ms", life_time_factor=3, interpolation_time_period=2,
                 interpolation_time_index=-3)  # fmt: skip
    same = state(guard_time="150 ms", life_time_factor=2, interpolation_time_period=20,
                 interpolation_time_index=-4)  # fmt: skip
    other = state(guard_time="100 ms", life_time_factor=2, interpolation_time_period=4,
                  interpolation_time_index=-3)  # fmt: skip
    for role in ("guard_time", "life_time_factor", "interpolation_time_period"):
        assert said(role, left, same) == []
    assert said("guard_time", left, other) == ["guarding waits 200 ms instead of 300 ms"]
    assert said("interpolation_time_index", left, other) == [
        "set points come every 0.004 s instead of 0.002 s"
    ]


def test_a_ramp_of_the_velocity_mode_is_speed_over_time() -> None:
    role = "vl_deceleration_delta_time"
    left = state(vl_deceleration_delta_speed="1000 r/min", vl_deceleration_delta_time="2 s")
    same = state(vl_deceleration_delta_speed="1500 r/min", vl_deceleration_delta_time="3 s")
    steep = state(vl_deceleration_delta_speed="1500 r/min", vl_deceleration_delta_time="1 s")
    assert said(role, left, same) == []
    assert said(role, left, steep) == ["the ramp is 1,500 r/min a second instead of 500"]


def test_what_is_one_thing_or_not_whole_is_left_to_its_size() -> None:
    assert differing("position_gain", state(), state()) is None
    assert differing("guard_time", state(guard_time="1 ms"), state(guard_time="2 ms")) is None


@pytest.mark.parametrize("role", ["polarity", "digital_outputs_mask"])
def test_what_one_side_does_not_state_is_told_so(role: str) -> None:
    for left, right in ((state(), state(**{role: 1})), (state(**{role: 1}), state())):
        (text,) = said(role, left, right) or []
        assert "stated on one side only" in text


def test_guarding_that_is_off_on_a_side_is_told_so() -> None:
    on, off = (state(guard_time="100 ms", life_time_factor=n) for n in (3, 0))
    assert said("guard_time", off, on) == ["guarding waits 300 ms, and was off"]
    assert said("guard_time", on, off) == ["guarding is off"]
    assert said("life_time_factor", off, off) == []


def test_a_node_that_is_watched_twice_is_watched_by_the_shorter_time() -> None:
    twice = state(consumer_heartbeat_time=entry(5, 100), consumer_heartbeat_time__2=entry(5, 40))
    assert watched(twice) == {5: 40}
    last = state(consumer_heartbeat_time__127=entry(3, 7), consumer_heartbeat_time__126=-5)
    assert watched(last) == {3: 7}
    (part,) = differing(HEARTBEAT, state(consumer_heartbeat_time=entry(5, 100)), twice) or []
    assert (part.before, part.after) == (100, 40)


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [(0, 1, "may command"), (1, 0, "may not command"), (2, 3, "may command"), (2, 4, None)],
)
def test_bit_0_of_the_mask_lets_the_controller_command_the_brake(
    before: int, after: int, told: str | None
) -> None:
    sides = (state(digital_outputs_mask=n) for n in (before, after))
    found = said("digital_outputs_mask", *sides)
    assert found == [] if told is None else told in str(found)
