"""All explainers together: every row of the design's table is served, and none of them breaks.

Axes and values are invented.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.meaning.explainers.sides_of_travel import (
    ENDLESS_TABLE,
    LIFT,
    PUMP,
    SLIDE,
    TABLE,
    Entry,
    change_of,
    view,
)
from tests.sweeps import part_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change
from vault.meaning.compare import compare
from vault.meaning.consequences import CONSEQUENCES
from vault.meaning.explainers import OF_ONE_AXIS, explains, registered
from vault.meaning.reader import SYSTEMS, reading_in
from vault.model import choices, roles

# The table of consequences of the design, row by row, with the roles of `vault.model.role_table*`.
TABLE_OF_CONSEQUENCES: dict[str, str] = {
    "gear, feed, encoder resolution": """
        gear_ratio_motor_revolutions gear_ratio_shaft_revolutions feed_constant_feed
        feed_constant_shaft_revolutions position_encoder_increments
        position_encoder_motor_revolutions encoder_single_turn_bits si_unit_position""",
    "polarity": "polarity encoder_direction",
    "following error window, time-out": """
        following_error_window following_error_time_out following_error_warning""",
    "gains, feed-forward, filters, notch": """
        position_gain velocity_gain current_gain velocity_integral_time current_integral_time
        velocity_feed_forward position_filter_time velocity_filter_time torque_filter_time
        notch_filter_frequency""",
    "torque and current limits": """
        max_torque max_current positive_torque_limit negative_torque_limit""",
    "speeds": """
        max_profile_velocity profile_velocity max_motor_speed vl_velocity_max_amount
        vl_velocity_min_amount jog_velocity max_frequency min_frequency rated_frequency
        boost_voltage""",
    "ramps, jerk, quick-stop": """
        profile_acceleration profile_deceleration quick_stop_deceleration max_acceleration
        max_deceleration profile_jerk acceleration_time deceleration_time
        vl_acceleration_delta_speed vl_acceleration_delta_time vl_deceleration_delta_speed
        vl_deceleration_delta_time vl_quick_stop_delta_speed vl_quick_stop_delta_time""",
    "motion profile type": "motion_profile_type",
    "software limits, over-travel inputs": """
        min_software_position_limit max_software_position_limit min_position_range_limit
        max_position_range_limit software_position_limits_used digital_input_function
        digital_input_inverted overtravel_reaction""",
    "home offset, method, speeds, absolute offset": """
        home_offset homing_method homing_switch_search_speed homing_zero_search_speed
        homing_acceleration homing_time_out homing_torque_limit encoder_absolute_offset""",
    "encoder range": "encoder_multi_turn_bits encoder_type",
    "brake": "brake_used brake_release_delay brake_apply_delay",
    "resistor, phases, DC link": """
        braking_resistor_used braking_resistor_resistance braking_resistor_power
        braking_resistor_energy braking_resistor_threshold dc_link_overvoltage_threshold
        supply_phases""",
    "option codes": """
        abort_connection_option_code quick_stop_option_code shutdown_option_code
        disable_operation_option_code halt_option_code fault_reaction_option_code
        stop_time_limit""",
    "interval, period, addresses, sizes": """
        update_interval task_period communication_cycle_period node_address station_alias
        process_data_in_size process_data_out_size fieldbus_timeout missed_update_limit
        guard_time life_time_factor consumer_heartbeat_time""",
    "operating mode": "modes_of_operation",
}


@pytest.mark.parametrize("row", TABLE_OF_CONSEQUENCES)
def test_every_role_of_a_row_is_explained(row: str) -> None:
    assert set(TABLE_OF_CONSEQUENCES[row].split()) <= registered().keys()


def test_no_explainer_is_for_a_role_that_does_not_exist() -> None:
    assert {role for role in registered() if roles.find(role) is None} == set()


def test_no_explainer_is_for_a_live_value() -> None:
    live = {role.name for role in roles.all_roles() if role.volatile}
    assert not live & registered().keys()


RICH: dict[str, Entry] = {
    "max_motor_speed": (2400, "r/min"),
    "position_encoder_increments": (2**20, "increments"),
    "gear_ratio_motor_revolutions": (2, "rev"),
    "feed_constant_feed": (20, "mm"),
    "max_profile_velocity": (400, "mm/s"),
    "profile_velocity": (200, "mm/s"),
    "profile_acceleration": (1000, "mm/s^2"),
    "profile_deceleration": (1000, "mm/s^2"),
    "quick_stop_deceleration": (4000, "mm/s^2"),
    "min_software_position_limit": (0, "mm"),
    "max_software_position_limit": (600, "mm"),
    "following_error_window": (2, "mm"),
    "position_gain": (40, "1/s"),
    "motor_rated_torque": (3200, "mN*m"),
    "motor_rated_current": (3100, "mA"),
    "motor_pole_pairs": 2,
    "homing_acceleration": (500, "mm/s^2"),
    "max_torque": (1500, "permille_rated_torque"),
}
"""Enough for explainers to reach their longest sentences."""

# Kinds of sides: a value that fits, or does not, or is not there; rich and poor surroundings.

EXPLAINED = sorted(registered())
AXES = (LIFT, SLIDE, TABLE, ENDLESS_TABLE, PUMP, None)
_WRONG_UNITS = ("mm", "deg", "mm/s", "r/min", "deg/s^2", "mm/s^3", "ms", "Hz", "V", "N*m", "bit",
                "user_position", "permille_rated_torque", None)  # fmt: skip
_NUMBERS = st.one_of(
    st.sampled_from([0, 1, -1, 2, 8, 37, 255, 2**20, 2**31 - 1, -(2**31), 2**63]),
    st.integers(-200, 5000),
    st.decimals(-1000, 1000, allow_nan=False, places=3),
)


@st.composite
def entries(draw: st.DrawFn, name: str) -> Entry | None:
    """A value of a role as an export may have it, or none."""
    role = roles.find(name)
    assert role is not None
    kind = draw(st.sampled_from(["fits", "fits", "fits", "missing", "text", "wrong unit"]))
    if kind == "missing":
        return None
    if kind == "text":
        return draw(st.sampled_from(["", "off", "12", "mm"]))
    labels = choices.table(role.choices) if role.choices else {}
    if labels:
        number = draw(st.sampled_from([*labels, -1, 99]))
        label = labels.get(number) if draw(st.booleans()) else None
        return (number, None, label)
    number = draw(_NUMBERS)
    if kind == "wrong unit":
        return (number, draw(st.sampled_from(_WRONG_UNITS)))
    return (number, role.unit)


@st.composite
def sides(draw: st.DrawFn) -> tuple[str, AxisView, AxisView]:
    """A role that is explained, and two states in which it may differ."""
    name = draw(st.sampled_from(EXPLAINED))
    near = draw(st.lists(st.sampled_from(_surroundings()), unique=True, max_size=25))
    views = []
    for _ in range(2):
        found = {role: draw(entries(role)) for role in (name, *near)}
        known = {role: entry for role, entry in found.items() if entry is not None}
        plain = {k: v for k, v in RICH.items() if k not in found} if draw(st.booleans()) else {}
        views.append(view({**plain, **known}, draw(st.sampled_from(AXES))))
    return name, views[0], views[1]


@cache
def _surroundings() -> tuple[str, ...]:
    """Roles that explainers read beside their own: all explained ones, and ratings."""
    more = (
        "motor_rated_torque", "motor_rated_current", "motor_pole_pairs", "motor_rated_voltage",
        "velocity_feed_forward", "digital_input_function.2",
    )  # fmt: skip
    return (*EXPLAINED, *(role for role in more if role not in EXPLAINED))


_NO_WORDS = re.compile(r"\b(nan|inf|None|now|no longer|became|again)\b")


@settings(deadline=None, max_examples=part_of(250, 2), suppress_health_check=list(HealthCheck))
@given(sides(), st.sampled_from(SYSTEMS))
def test_no_explainer_breaks_whatever_the_sides_are(
    case: tuple[str, AxisView, AxisView], system: str
) -> None:
    name, left, right = case
    change = change_of(name, left, right)
    if change.left is None and change.right is None:
        return
    with reading_in(system):
        found = registered()[name](change, left, right)
    if found is None:
        return
    assert not _NO_WORDS.search(found.effect), found.effect
    assert found.effect == "" or found.effect.endswith("."), found.effect
    assert not re.search(r"\.\.|  |\b\d+(\.\d+)?[eE][+-]?\d+\b", found.effect), found.effect
    assert found.consequence is None or found.consequence in CONSEQUENCES
    for finding in found.findings:
        assert "nan" not in finding.value
        assert finding.basis


@pytest.mark.parametrize("axis", [LIFT, SLIDE, None])
@pytest.mark.parametrize("name", EXPLAINED)
def test_sentences_speak_of_the_right_side_without_saying_when(name: str, axis: str | None) -> None:
    """They must read right for one axis over time and for two axes."""
    role = roles.find(name)
    assert role is not None
    labels = choices.table(role.choices) if role.choices else {}
    pairs: list[tuple[Entry | None, Entry | None]] = []
    if labels:
        every = [(number, None, label) for number, label in labels.items()]
        pairs = [(one, other) for one in every[:4] for other in every if one != other]
    else:
        unit = RICH[name][1] if isinstance(RICH.get(name), tuple) else role.unit  # type: ignore[index]
        known: list[Entry] = [(0, unit), (1, unit), (3, unit), (Decimal("500"), unit)]
        pairs = [(one, other) for one in known for other in known if one != other]
    pairs += [(pairs[0][0], None), (None, pairs[0][0])]
    for before, after in pairs:
        both = [{k: v for k, v in RICH.items() if k != name} for _ in range(2)]
        for entries_of, entry in zip(both, (before, after), strict=True):
            if entry is not None:
                entries_of[name] = entry
        left, right = view(both[0], axis), view(both[1], axis)
        found = registered()[name](change_of(name, left, right), left, right)
        if found is not None:
            assert not _NO_WORDS.search(found.effect), found.effect


def test_an_effect_follows_the_plain_sentence_of_a_comparison() -> None:
    found = compare(view(RICH), view({**RICH, "quick_stop_deceleration": (2000, "mm/s^2")}))
    (change,) = found.changes
    assert change.explanation.startswith("quick stop deceleration: ")
    assert "a quick stop takes 200 ms and 40 mm instead of 20 mm" in change.more
    assert change.consequence == "hazard"


def test_a_role_has_one_explainer() -> None:
    def nothing(change: Change, left: AxisView, right: AxisView) -> None:
        return None

    known = dict(registered())
    with pytest.raises(ValueError, match="two explainers for polarity"):
        explains("polarity")(nothing)
    assert explains("of_this_test", "of_this_test.2")(nothing) is nothing
    assert registered().keys() - known.keys() == {"of_this_test", "of_this_test.2"}
    for role in ("of_this_test", "of_this_test.2"):
        assert registered().pop(role) is nothing


@pytest.mark.parametrize("feed", [40, 10])
def test_a_shifted_value_is_of_travel_at_least(feed: int) -> None:
    before = {**RICH, "quick_stop_deceleration": (4000, "user_acceleration")}
    before["si_unit_position"] = 0xFD010000  # mm, CiA 303-2, from memory
    after = {**before, "feed_constant_feed": (feed, "mm")}
    (change,) = (
        c
        for c in compare(view(before), view(after)).changes
        if c.shown.role == "quick_stop_deceleration"
    )
    assert change.kind == "shifted"
    assert change.consequence == "travel"
    assert "really" in change.explanation


SIDES = ("press/lift", "press/feed")


@pytest.mark.parametrize(
    "role", sorted(OF_ONE_AXIS - {"home_offset", "encoder_absolute_offset", "encoder_direction"})
)
def test_what_belongs_to_one_axis_is_not_to_be_carried_to_another(role: str) -> None:
    unit = getattr(roles.find(role), "unit", None)
    left, right = (view({**RICH, role: (n, unit)}) for n in (1, 2))
    (two,) = compare(left, right, sides=SIDES).changes
    alike = role in ("motor_pole_pairs", "polarity")
    said = "Axes that are built alike have it alike" if alike else "Each axis has its own"
    assert said in f"{two.explanation} {two.more}"
    (over_time,) = (c for c in compare(left, right).changes if c.shown.role == role)
    assert "Each axis has its own" not in f"{over_time.explanation} {over_time.more}"


def test_of_two_axes_nothing_became_of_one_what_it_is_on_the_other() -> None:
    left, right = view(RICH), view({**RICH, "quick_stop_deceleration": (2000, "mm/s^2")})
    (two,) = compare(left, right, sides=SIDES).changes
    text = f"{two.explanation} {two.more}"
    assert "instead of" not in text
    assert "20 mm" in text
    assert "on press/lift" in text
